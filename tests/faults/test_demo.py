"""The demo ends everything that it started, however it is ended, and starts again on its data."""

import json
import signal
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.database import PROJECT
from tests.faults.test_embedded_postgres import alive, descendants, kill_all, wait_for

pytestmark = pytest.mark.fault


@pytest.fixture(scope="module")
def directory(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One directory for all: loading the invented utility takes longer than everything else."""
    return tmp_path_factory.mktemp("a demo")


def in_the_background() -> None:
    """What a shell does to the commands that it puts in the background."""
    signal.signal(signal.SIGQUIT, signal.SIG_IGN)


@contextmanager
def demo(directory: Path, *words: str) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, PROJECT / "deploy" / "demo.py", "--data", directory / "the data"]
    process = subprocess.Popen(
        [*command, *(words or ("--port", "0", "--json", directory / "demo.json"))],
        cwd="/",
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=in_the_background,
    )
    everything = []
    try:
        yield process
        everything = descendants(process.pid)
    finally:
        kill_all([process.pid])
        process.communicate()
        wait_for(lambda: not any(map(alive, everything)))


def serving(process: subprocess.Popen[str], directory: Path) -> list[int]:
    """Wait until the demo serves, and answer the processes it started."""
    file = directory / "demo.json"
    wait_for(lambda: file.exists() or process.poll() is not None)
    assert process.poll() is None
    address = json.loads(file.read_text())["address"]
    with urllib.request.urlopen(f"{address}/healthz") as answer:  # noqa: S310  # our own
        assert answer.status == 200
    file.unlink()
    return descendants(process.pid)


def named(pids: list[int], word: bytes) -> int:
    return next(pid for pid in pids if word in Path(f"/proc/{pid}/cmdline").read_bytes())


def test_killed_it_leaves_nothing_running_and_starts_again(directory: Path) -> None:
    with demo(directory) as process:
        everything = serving(process, directory)
        for word in (b"gunicorn", b"celery", b"relay", b"postgres"):
            assert named(everything, word)
        process.kill()
        wait_for(lambda: not any(map(alive, everything)))
    with demo(directory) as process:
        serving(process, directory)


@pytest.mark.parametrize("wish", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_asked_to_stop_it_stops_everything(directory: Path, wish: signal.Signals) -> None:
    with demo(directory) as process:
        everything = serving(process, directory)
        process.send_signal(wish)
        assert process.wait(300) == 0
        assert not any(map(alive, everything))


@pytest.mark.parametrize("word", [b"gunicorn", b"celery", b"relay", b"postgres"])
def test_it_ends_with_an_error_that_names_the_process_that_died(
    directory: Path, word: bytes
) -> None:
    names = {b"gunicorn": "web", b"celery": "worker", b"relay": "relay", b"postgres": "database"}
    with demo(directory) as process:
        everything = serving(process, directory)
        kill_all([named(everything, word)])
        said = process.communicate(timeout=300)[1]
        assert process.returncode == 1
        assert f"{names[word]} ended" in said
        wait_for(lambda: not any(map(alive, everything)))


def test_a_taken_port_is_named_before_anything_starts(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        with demo(tmp_path, "--port", port) as process:
            said = process.communicate(timeout=300)[1]
    assert process.returncode == 1
    assert f"Port {port} cannot be used" in said
    assert not (tmp_path / "the data" / "postgres").exists()


def test_its_files_are_this_users_only(directory: Path) -> None:
    with demo(directory) as process:
        serving(process, directory)
    assert (directory / "the data").stat().st_mode & 0o077 in {0, 0o011}
    assert (directory / "the data" / "secret_key").stat().st_mode & 0o077 == 0
