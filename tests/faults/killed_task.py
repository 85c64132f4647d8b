"""A task to be killed: its first run never ends, its second does at once."""

import os
import signal
import time
from pathlib import Path

from celery import shared_task


@shared_task
def note_start(file: str) -> None:
    """Add this process to the file's lines; stay for ever where it is the first."""
    runs = Path(file)
    first = not runs.exists()
    with runs.open("a") as lines:
        lines.write(f"{os.getpid()}\n")
    if first:
        time.sleep(3600)
    runs.with_suffix(".done").touch()


@shared_task
def note_start_and_die(file: str) -> None:
    """Add this process to the file's lines, and die as one that needs more memory than there is."""
    with Path(file).open("a") as lines:
        lines.write(f"{os.getpid()}\n")
    os.kill(os.getpid(), signal.SIGKILL)
