"""A task to be killed: its first run never ends, its second does at once."""

import os
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
