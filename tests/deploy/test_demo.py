"""The demo's way out; tests/faults/test_demo.py ends whole demos."""

import subprocess
import sys

from tests.database import PROJECT

# At a fork the interpreter calls what was registered, and only prints what that raises.
ASKED_AT_A_FORK = """
import os, signal
from deploy import demo

signal.signal(signal.SIGTERM, demo.stop)
os.register_at_fork(after_in_parent=lambda: signal.raise_signal(signal.SIGTERM))
if child := os.fork():
    os.waitpid(child, 0)
    print("lost")
    try:
        demo.leave_if_asked()
    except demo.Stopped:
        print("left")
"""


def test_a_wish_to_end_that_gets_lost_is_remembered():
    ran = subprocess.run(
        [sys.executable, "-c", ASKED_AT_A_FORK], cwd=PROJECT, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    assert ran.stdout.split() == ["lost", "left"]
    assert "Exception ignored" in ran.stderr
