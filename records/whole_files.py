"""Files that are there completely or not at all, whenever the process or the machine stops."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def write_whole(file: Path, content: bytes) -> None:
    """Write a file that its owner alone reads."""
    unfinished = file.with_name(f".{file.name}.{os.getpid()}")
    handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(handle)
    unfinished.replace(file)
    synchronize_folder(file.parent)


def synchronize_folder(folder: Path) -> None:
    """A new name is on the disk only when its folder is."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Nobody else who asks for it works in the folder meanwhile; `BlockingIOError` if one does.

    The system lets go of it with the process, however that ends; nothing is left behind.
    """
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    finally:
        os.close(handle)


def may_write(folder: Path) -> bool:
    """Whether this process may make files in a folder, or the folder where it is not there yet."""
    there = next(each for each in (folder, *folder.parents) if os.path.exists(each))
    return os.path.isdir(there) and os.access(there, os.W_OK | os.X_OK)
