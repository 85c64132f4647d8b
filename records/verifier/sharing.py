"""The members of a bundle are looked at by several processes where there are many."""

import gc
import multiprocessing
import os
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from pickle import PicklingError

from records.verifier.keys import Keys
from records.verifier.looking import Checked
from records.verifier.zips import Member, Zip

MANY, AT_ONCE, MOST_PROCESSES = 1000, 100, 16
# A RuntimeError is a pool that broke, one that a system does not know, or a thread too many.
UNABLE = (ImportError, OSError, PicklingError, RuntimeError)


def looked_at(archive: Zip, names: list[str], keys: Keys) -> Iterator[Member]:
    """Each member by itself, in their order.

    A system that gives no processes, or ends one, costs time alone: this one does the rest. So it
    does where no list of keys is given: a key then comes from the first record that has it.
    """
    parts = [names[at : at + AT_ONCE] for at in range(0, len(names), AT_ONCE)]
    done, helpers = 0, min(os.cpu_count() or 1, MOST_PROCESSES)
    if len(names) >= MANY and helpers > 1 and keys.given:
        try:
            for found in _by_several(helpers, archive, parts, keys):
                done += 1
                yield from found
        except UNABLE:
            pass
    checked: Checked = {}
    for name in (name for part in parts[done:] for name in part):
        yield archive.look(name, keys, checked)


def _by_several(
    helpers: int, archive: Zip, parts: list[list[str]], keys: Keys
) -> Iterator[list[Member]]:
    alike = multiprocessing.get_context("spawn")  # the same on every system
    pool = ProcessPoolExecutor(helpers, alike, _begin, (archive.path, keys))
    try:
        yield from pool.map(_look_at, parts)
    finally:
        try:
            pool.shutdown(cancel_futures=True)
        finally:  # a pool that got no thread ends no process, and the program would wait for it
            for each in multiprocessing.active_children():
                each.terminate()
                each.join()


_own = list[tuple[Zip, Keys]]()  # what a process that helps works with


def _begin(path: Path, keys: Keys) -> None:
    gc.set_threshold(100_000)
    _own.append((Zip(path), keys))


def _look_at(names: list[str]) -> list[Member]:
    archive, keys = _own[0]
    checked: Checked = {}
    return [archive.look(name, keys, checked) for name in names]
