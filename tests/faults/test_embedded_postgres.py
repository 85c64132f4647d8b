"""Killed anywhere, the embedded database starts again and has lost nothing it acknowledged."""

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from deploy.embedded_postgres import EmbeddedPostgres, EmbeddedPostgresError
from tests.database import PROJECT

pytestmark = pytest.mark.fault

PATIENCE = 300  # seconds until a wait gives up; on a busy machine a start takes long


class Holder:
    """A process of its own that holds the database, and the server it started."""

    def __init__(self, data: Path, durability: str = "durable") -> None:
        self.data = data
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.postgres_holder", str(data), durability],
            cwd=PROJECT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.server = 0
        self.dsn = ""

    def wait_until_ready(self) -> "Holder":
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        assert line, "the holder ended before its database was ready"
        server, self.dsn = line.strip().split(" ", 1)
        self.server = int(server)
        return self

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()

    def stop(self) -> int:
        self.process.communicate(timeout=PATIENCE)
        return self.process.returncode


@contextmanager
def held(data: Path, durability: str = "durable") -> Iterator[Holder]:
    holder = Holder(data, durability)
    try:
        yield holder.wait_until_ready()
    finally:
        holder.kill()
        wait_for(lambda: not alive(holder.server))


def wait_for(condition: Callable[[], bool]) -> None:
    deadline = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.005)


def alive(pid: int) -> bool:
    try:
        return b"State:\tZ" not in Path(f"/proc/{pid}/status").read_bytes()
    except OSError:
        return False


def descendants(pid: int) -> list[int]:
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return []
    return [found for child in map(int, children) for found in (child, *descendants(child))]


def kill_all(pids: list[int]) -> None:
    for pid in pids:
        try:
            os.kill(pid, signal.SIGKILL)
        except ProcessLookupError:
            continue


def kill_whole(process: subprocess.Popen[bytes]) -> None:
    """With whatever it has started."""
    kill_all([process.pid, *descendants(process.pid)])
    process.wait()


def kill_and_start(database: EmbeddedPostgres) -> None:
    """A crash of the server, and its next start."""
    assert database.process is not None
    kill_whole(database.process)
    database.stop()
    database.start()


class Writer(threading.Thread):
    """Commits numbers one by one and remembers which the server has acknowledged."""

    def __init__(self, dsn: str, first: int = 0) -> None:
        super().__init__(daemon=True)
        self.dsn = dsn
        self.next = first
        self.acknowledged: list[int] = []

    def run(self) -> None:
        try:
            with psycopg.connect(self.dsn, autocommit=True) as connection:
                while True:
                    connection.execute("INSERT INTO written VALUES (%s)", [self.next])
                    self.acknowledged.append(self.next)
                    self.next += 1
        except psycopg.OperationalError:
            return


def make_table(dsn: str) -> None:
    with psycopg.connect(dsn, autocommit=True) as connection:
        connection.execute("CREATE TABLE IF NOT EXISTS written (number int)")


def rows(dsn: str) -> set[int]:
    with psycopg.connect(dsn) as connection:
        return {number for (number,) in connection.execute("SELECT number FROM written")}


def kill_holder(holder: Holder) -> None:
    holder.kill()


def kill_server(holder: Holder) -> None:
    os.kill(holder.server, signal.SIGKILL)


def kill_everything(holder: Holder) -> None:
    kill_all([*descendants(holder.server), holder.server, holder.process.pid])


@pytest.mark.parametrize("kill", [kill_holder, kill_server, kill_everything])
def test_nothing_acknowledged_is_lost(tmp_path: Path, kill: Callable[[Holder], None]) -> None:
    data = tmp_path / "postgres"
    acknowledged: list[int] = []
    for _ in range(4):
        with held(data) as holder:
            make_table(holder.dsn)
            writer = Writer(holder.dsn, first=len(acknowledged))
            writer.start()
            wait_for(lambda writer=writer: len(writer.acknowledged) >= 200)
            kill(holder)
            writer.join(PATIENCE)
            acknowledged += writer.acknowledged
    with held(data) as holder:
        assert set(acknowledged) - rows(holder.dsn) == set()
    assert len(acknowledged) >= 800


def test_the_trial_sees_loss_where_durability_is_off(tmp_path: Path) -> None:
    assert any(loses_something(tmp_path / "postgres") for _ in range(20))


def loses_something(data: Path) -> bool:
    """Whether a server that waits for no disk has lost what it acknowledged, killed once."""
    with held(data, "fast") as holder:
        make_table(holder.dsn)
        writer = Writer(holder.dsn)
        writer.start()
        wait_for(lambda: len(writer.acknowledged) >= 200)
        kill_everything(holder)
        writer.join(PATIENCE)
    with held(data, "durable") as holder:
        make_table(holder.dsn)  # even that may be lost
        lost = set(writer.acknowledged) - rows(holder.dsn)
    shutil.rmtree(data)
    return bool(lost)


def test_a_killed_parent_leaves_no_server(tmp_path: Path) -> None:
    with held(tmp_path / "postgres") as holder:
        everything = [holder.server, *descendants(holder.server)]
        assert len(everything) > 3
        holder.kill()
        wait_for(lambda: not any(map(alive, everything)))


def test_a_killed_backend_is_survived_without_a_new_start(tmp_path: Path) -> None:
    with held(tmp_path / "postgres") as holder:
        make_table(holder.dsn)
        with psycopg.connect(holder.dsn, autocommit=True) as connection:
            connection.execute("INSERT INTO written VALUES (1)")
            os.kill(connection.info.backend_pid, signal.SIGKILL)
            with pytest.raises(psycopg.OperationalError):
                connection.execute("SELECT 1")
        wait_for(lambda: _answers(holder.dsn))
        assert rows(holder.dsn) == {1}
        assert alive(holder.server)


def _answers(dsn: str) -> bool:
    try:
        psycopg.connect(dsn).close()
    except psycopg.OperationalError:
        return False
    return True


def half_made(data: Path) -> list[Path]:
    return list(data.parent.glob(f".{data.name}.half-made-*"))


def has_made(data: Path, part: str) -> Callable[[], bool]:
    return lambda: any((place / part).exists() for place in half_made(data))


MOMENTS = [".", "postgresql.conf", "global/pg_control", "PG_VERSION", "base/4", "base/5"]


@pytest.mark.parametrize("part", MOMENTS)
def test_killed_while_the_cluster_is_made_it_is_made_anew(tmp_path: Path, part: str) -> None:
    data = tmp_path / "postgres"
    holder = Holder(data)
    wait_for(has_made(data, part))
    remains = descendants(holder.process.pid)
    holder.kill()
    assert not data.exists()
    wait_for(lambda: not any(map(alive, remains)))

    with held(data) as holder:
        make_table(holder.dsn)
        assert half_made(data) == []


def test_a_killed_initdb_leaves_no_cluster_behind(tmp_path: Path) -> None:
    data = tmp_path / "postgres"
    holder = Holder(data)
    wait_for(has_made(data, "global/pg_control"))
    kill_all(descendants(holder.process.pid))
    assert holder.stop() != 0
    assert not data.exists()
    assert half_made(data) == []

    with held(data) as holder:
        make_table(holder.dsn)


def test_a_pid_file_that_names_another_living_program_is_no_hindrance(tmp_path: Path) -> None:
    data = tmp_path / "postgres"
    with held(data) as holder:
        kill_everything(holder)
    lines = (data / "postmaster.pid").read_text().splitlines()
    (data / "postmaster.pid").write_text("\n".join([str(os.getpid()), *lines[1:]]) + "\n")

    with held(data) as holder:
        make_table(holder.dsn)
        assert rows(holder.dsn) == set()


def test_a_second_start_on_the_same_data_is_refused(tmp_path: Path) -> None:
    data = tmp_path / "postgres"
    with held(data) as holder:
        with pytest.raises(EmbeddedPostgresError, match="Another process"):
            EmbeddedPostgres(data).start()
        make_table(holder.dsn)


def test_a_clean_stop_leaves_nothing_running(tmp_path: Path) -> None:
    data = tmp_path / "postgres"
    holder = Holder(data).wait_until_ready()
    everything = [holder.server, *descendants(holder.server)]
    assert holder.stop() == 0
    assert not any(map(alive, everything))
    assert not (data / "postmaster.pid").exists()
