"""Many members are looked at by several processes: what is said is the same, in the same order."""

import multiprocessing
import os
import zipfile
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool

import pytest

from records.verifier import sharing
from records.verifier.keys import Keys
from records.verifier.sharing import AT_ONCE, MANY, looked_at
from records.verifier.telling import Told
from records.verifier.zips import Zip
from tests.records.verifier.making import SealingKey, bundle, chain, members, package, published
from tests.records.verifier.test_joined import run

COUNT = MANY + AT_ONCE // 2


@pytest.fixture(scope="module")
def bent(sealing_key, tmp_path_factory):
    """A bundle of many, with some that are changed, exchanged, damaged in the ZIP, or missing."""
    records = chain(sealing_key, range(1, COUNT + 1))
    whole = members(records, sealing_key)
    listed = package(whole)
    changed = whole | {
        "records/B-01/7.json": whole["records/B-01/7.json"].replace(b"Tresk", b"Fresk"),
        "records/B-01/450.json": whole["records/B-01/451.json"],
        f"records/B-01/{COUNT - 1}.json": b"{}",
    }
    del changed["records/B-01/300.json"]
    file = tmp_path_factory.mktemp("many") / "bundle.zip"
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
        for name, data in {**changed, "datapackage.json": listed}.items():
            archive.writestr(name, data)
    data, last = file.read_bytes(), whole["records/B-01/800.json"]
    file.write_bytes(data.replace(last[:-5], last[:-6] + b"\0", 1))
    return file


@pytest.fixture(scope="module")
def sealing_key():
    return SealingKey()


@pytest.fixture
def keys(sealing_key):
    keys = Keys(Told())
    keys.trust(keys.take(published(sealing_key), "keys.json"))
    return keys


@pytest.fixture
def alone(bent, keys, monkeypatch):
    """What one process finds."""
    with monkeypatch.context() as changed:
        changed.setattr(os, "cpu_count", lambda: 1)
        return list(looked_at(Zip(bent), names(bent), keys))


def names(file):
    return [name for name in Zip(file).members if name != "datapackage.json"]


def test_several_find_the_same_in_the_same_order(bent, keys, alone, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    archive = Zip(bent)
    monkeypatch.setattr(archive, "look", None)  # those who help have a view of their own
    assert list(looked_at(archive, names(bent), keys)) == alone
    assert [each.name for each in alone if each.wrong] == ["records/B-01/800.json"]
    refused = [each.name for each in alone if each.found and each.found.wrong]
    assert refused == ["records/B-01/7.json", f"records/B-01/{COUNT - 1}.json"]


@pytest.mark.parametrize("error", [OSError, NotImplementedError, ImportError, RuntimeError])
def test_without_processes_one_does_it(bent, keys, alone, monkeypatch, error):
    def refuse(*_):
        raise error

    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(sharing, "ProcessPoolExecutor", refuse)
    assert list(looked_at(Zip(bent), names(bent), keys)) == alone


def test_without_threads_one_does_it_and_no_process_is_left(bent, keys, alone, monkeypatch):
    def refuse(_):
        raise RuntimeError("can't start new thread")

    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr("concurrent.futures.process._ExecutorManagerThread.start", refuse)
    assert list(looked_at(Zip(bent), names(bent), keys)) == alone
    assert multiprocessing.active_children() == []


def test_what_is_left_when_a_process_is_killed_is_done_by_the_first(bent, keys, alone, monkeypatch):
    class Killed(ProcessPoolExecutor):
        def map(self, function, parts):
            for number, found in enumerate(super().map(function, parts)):
                if number == 3:
                    raise BrokenProcessPool
                yield found

    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(sharing, "ProcessPoolExecutor", Killed)
    assert list(looked_at(Zip(bent), names(bent), keys)) == alone


def test_the_program_says_the_same_by_one_and_by_several(bent, sealing_key, program_file, verify):
    words = ("--fingerprint", sealing_key.kid, str(bent))
    ran = run(program_file, *words, folder=bent.parent)
    said = verify(*words)  # a module that no other process can load
    assert (ran.returncode, ran.stdout, ran.stderr) == (said.status, said.words, "")
    assert said.status == 1
    missing = "datapackage.json lists it, and it is not there: cut short or taken out"
    assert f"bundle.zip/records/B-01/300.json: {missing}" in said.failed
    told = dict.fromkeys(line.split(":")[0].split("/")[-1] for line in said.failed)
    assert list(told)[:5] == ["7.json", "450.json", "800.json", f"{COUNT - 1}.json", "300.json"]


def test_few_are_not_worth_it(key, keys, tmp_path, monkeypatch):
    monkeypatch.setattr(sharing, "ProcessPoolExecutor", None)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    file = bundle(tmp_path / "bundle.zip", members(chain(key, range(1, 4)), key))
    assert len(list(looked_at(Zip(file), names(file), keys))) == len(names(file))
