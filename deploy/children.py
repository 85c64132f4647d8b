"""Child processes that end with the process that started them, even when that is killed."""

import ctypes
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

PR_SET_PDEATHSIG = 1

# At SIGQUIT PostgreSQL, gunicorn and Celery all end at once instead of waiting for their work:
# whoever would have waited for them is dead.
PARENT_DIED = signal.SIGQUIT


def start_child(command: Sequence[str | Path], **options: Any) -> subprocess.Popen[bytes]:
    """Start a program that gets SIGQUIT when this process dies; call it from the main thread.

    The kernel ties the signal to the thread that started the child, not to its process.
    A session of its own keeps the terminal's Ctrl-C for the parent, who ends its children in order.
    """
    if threading.current_thread() is not threading.main_thread():
        raise RuntimeError("A child that dies with its parent must start from the main thread.")
    return subprocess.Popen(
        [str(word) for word in command],
        preexec_fn=_from_new_child(),
        start_new_session=True,
        **options,
    )


def _from_new_child() -> Callable[[], None]:
    prctl, parent = _prctl(), os.getpid()  # looked up before the fork, not in the child

    def ask_kernel() -> None:
        # A shell that starts something in the background has it ignore this signal.
        signal.signal(PARENT_DIED, signal.SIG_DFL)
        _die_with(parent, PARENT_DIED, prctl)

    return ask_kernel


def die_with(parent: int) -> None:
    """Be killed when the process that has just forked this one dies."""
    _die_with(parent, signal.SIGKILL, _prctl())


def _die_with(parent: int, by: signal.Signals, prctl: Callable[[int, int], Any]) -> None:
    prctl(PR_SET_PDEATHSIG, int(by))
    if os.getppid() != parent:  # it died before the kernel was asked
        os._exit(1)


def _prctl() -> Callable[[int, int], Any]:
    if not sys.platform.startswith("linux"):
        return lambda option, signal: None
    found: Callable[[int, int], Any] = ctypes.CDLL(None).prctl
    return found


def stop_child(
    process: subprocess.Popen[bytes],
    *,
    first: signal.Signals = signal.SIGTERM,
    patience: float = 30,
) -> None:
    """End a child: ask it, then insist, then kill it."""
    if process.poll() is None:
        process.send_signal(first)
        _outlast(process, patience)


def stop_together(processes: Iterable[subprocess.Popen[bytes]], *, patience: float) -> None:
    """End several children, asking all of them before waiting for the first."""
    asked = [process for process in processes if process.poll() is None]
    for process in asked:
        process.terminate()
    for process in asked:
        _outlast(process, patience)


def _outlast(process: subprocess.Popen[bytes], patience: float) -> None:
    for insistence, seconds in ((signal.SIGQUIT, patience), (signal.SIGKILL, 10)):
        try:
            process.wait(seconds)
        except subprocess.TimeoutExpired:
            process.send_signal(insistence)
    process.wait()
