"""For a worker: a report waits while it is made, for as long as a file is there."""

import os
import time
from pathlib import Path
from typing import Any

from records.documents.report import paper

_HOLD = Path(os.environ["HOLD_REPORTS"])
_render = paper.render


def _held(*given: Any) -> bytes:
    with _HOLD.with_suffix(".pids").open("a") as file:
        file.write(f"{os.getpid()}\n")
    while _HOLD.exists():
        time.sleep(0.05)
    return _render(*given)


paper.render = _held
