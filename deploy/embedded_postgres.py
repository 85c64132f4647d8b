"""A PostgreSQL of our own for trying and testing: it lives as long as the process that started it.

Killed anywhere, even while its data directory is being made, the next start works.
"""

import contextlib
import fcntl
import hashlib
import os
import re
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path
from types import TracebackType
from typing import Self
from urllib.parse import quote

from deploy.children import start_child, stop_child
from deploy.postgres_programs import RunAs, as_ordinary_user, find_programs, major_version
from records.whole_files import synchronize_folder

SUPERUSER = "postgres"
PORT = 5432  # only part of the socket's name: no TCP port is opened
LONGEST_SOCKET_PATH = 107  # bytes: sun_path of sockaddr_un, less its closing zero
PLAIN_PATH = re.compile(r"/[A-Za-z0-9/._-]+")  # no quoting needed in a DSN or in the settings

DURABLE = {"fsync": "on", "synchronous_commit": "on", "full_page_writes": "on"}
FAST = {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}

LEFT_BEHIND = ("lock file", "shared memory block")  # what a killed server leaves for a moment
LEFT_BEHIND_SECONDS = 30


class EmbeddedPostgresError(Exception):
    """The embedded PostgreSQL could not be started."""


class EmbeddedPostgres:
    """One server on one data directory, reached through a socket that only this user can open."""

    def __init__(
        self,
        data: Path,
        *,
        durable: bool = True,
        start_seconds: float = 120,
        run_as: RunAs | None = None,
    ) -> None:
        self.data = data.absolute()
        self.log = self.data.with_name(self.data.name + ".log")
        self.socket_directory = _socket_directory(self.data)
        self.process: subprocess.Popen[bytes] | None = None
        self._durability = DURABLE if durable else FAST
        self._sync = durable
        self._start_seconds = start_seconds
        self._run_as = run_as or as_ordinary_user()
        self._programs = find_programs()
        self._lock: int | None = None
        self._log_start = 0

    def start(self) -> Self:
        """Make the data directory if it is missing, start the server and wait until it answers."""
        self.data.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._run_as.open_way(self.data.parent)
        self._lock = _hold_lock(self.data.with_name(self.data.name + ".lock"))
        try:
            self._make_cluster_if_missing()
            self._make_socket_directory()
            self._start_server()
        except BaseException:
            self.stop()
            raise
        return self

    def stop(self) -> None:
        """Disconnect everybody, write everything down and end the server."""
        if self.process is not None:
            stop_child(self.process, first=signal.SIGINT)
            self.process = None
            with contextlib.suppress(OSError):
                self.socket_directory.rmdir()
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None

    def __enter__(self) -> Self:
        return self.start()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.stop()

    def dsn(self, *, user: str = SUPERUSER, database: str = "postgres") -> str:
        """Answer the key=value form of a connection."""
        return f"host={self.socket_directory} port={PORT} dbname={database} user={user}"

    def url(self, *, user: str, database: str, scheme: str = "postgresql") -> str:
        """Answer the URL form of a connection."""
        host = quote(str(self.socket_directory), safe="")
        return f"{scheme}://{user}@{host}:{PORT}/{database}"

    def _make_cluster_if_missing(self) -> None:
        if (self.data / "PG_VERSION").exists():
            self._refuse_other_version()
            return
        if self.data.exists() and any(self.data.iterdir()):
            raise EmbeddedPostgresError(f"{self.data} is neither empty nor a database directory.")
        self._remove_half_made()
        self._make_cluster()

    def _refuse_other_version(self) -> None:
        made_with = (self.data / "PG_VERSION").read_text().strip()
        if made_with != str(major_version(self._programs)):
            raise EmbeddedPostgresError(
                f"{self.data} was made by PostgreSQL {made_with}; "
                f"{self._programs} is {major_version(self._programs)}. Use its programs (PG_BIN) "
                "or another data directory."
            )

    def _half_made_prefix(self) -> str:
        return f".{self.data.name}.half-made-"

    def _remove_half_made(self) -> None:
        for leftover in self.data.parent.iterdir():
            if leftover.name.startswith(self._half_made_prefix()):
                shutil.rmtree(leftover, ignore_errors=True)

    def _make_cluster(self) -> None:
        """Make the cluster beside its place and rename it: there is a whole one or none."""
        place = Path(tempfile.mkdtemp(prefix=self._half_made_prefix(), dir=self.data.parent))
        self._run_as.own(place)
        status = self._run(self._initdb(place)).wait()
        if status != 0:
            shutil.rmtree(place, ignore_errors=True)
            raise EmbeddedPostgresError(f"initdb ended with status {status}.\n{self._log_end()}")
        place.rename(self.data)
        synchronize_folder(self.data.parent)

    def _initdb(self, place: Path) -> list[str]:
        command = [f"{self._programs}/initdb", "--pgdata", str(place), "--encoding=UTF8"]
        command += [f"--username={SUPERUSER}", "--auth-local=trust", "--auth-host=reject"]
        command += ["--no-instructions"] + ([] if self._sync else ["--no-sync"])
        if major_version(self._programs) >= 17:
            locale = ["--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--locale=C"]
        else:
            locale = ["--locale=C.UTF-8"]
        return command + locale

    def _surroundings(self, log: int) -> dict[str, object]:
        """Options of a child: nothing of the caller's locale or PG* variables reaches it."""
        return {
            "stdin": subprocess.DEVNULL,
            "stdout": log,
            "stderr": log,
            "cwd": "/",
            "env": {"PATH": os.environ.get("PATH", os.defpath), "LC_ALL": "C", "TZ": "UTC"},
            **self._run_as.options,
        }

    def _make_socket_directory(self) -> None:
        self.socket_directory.mkdir(mode=0o700, parents=True, exist_ok=True)
        if self.socket_directory.lstat().st_uid not in {os.geteuid(), self._run_as.owner}:
            raise EmbeddedPostgresError(f"{self.socket_directory} belongs to somebody else.")
        self._run_as.own(self.socket_directory)
        self.socket_directory.chmod(0o700)

    def _start_server(self) -> None:
        """Start the server; again for a while, where a killed one has not quite gone."""
        patience = time.monotonic() + LEFT_BEHIND_SECONDS
        while True:
            _remove_strangers_pid_file(self.data)
            self.process = self._launch()
            if self._wait_until_ready(self.process):
                return
            said = self._log_end()
            if time.monotonic() > patience or not any(words in said for words in LEFT_BEHIND):
                raise EmbeddedPostgresError(f"PostgreSQL did not start.\n{said}")
            time.sleep(0.2)

    def _launch(self) -> subprocess.Popen[bytes]:
        settings = {
            **self._durability,
            "listen_addresses": "",
            "unix_socket_directories": str(self.socket_directory),
            "unix_socket_permissions": "0700",
            "port": str(PORT),
            "timezone": "UTC",
            "log_timezone": "UTC",
            "logging_collector": "off",
        }
        words = [word for name, value in settings.items() for word in ("-c", f"{name}={value}")]
        return self._run([f"{self._programs}/postgres", "-D", str(self.data), *words])

    def _run(self, command: list[str]) -> subprocess.Popen[bytes]:
        with self.log.open("ab") as log:
            self._log_start = log.tell()
            return start_child([*self._run_as.prefix, *command], **self._surroundings(log.fileno()))

    def _wait_until_ready(self, process: subprocess.Popen[bytes]) -> bool:
        """Answer whether the server came up; False where it ended instead."""
        deadline = time.monotonic() + self._start_seconds
        while process.poll() is None:
            if _says_ready(self.data, process.pid):
                return True
            if time.monotonic() > deadline:
                raise EmbeddedPostgresError(f"PostgreSQL is not ready yet.\n{self._log_end()}")
            time.sleep(0.02)
        return False

    def _log_end(self) -> str:
        """Answer what the last program said, at most fifteen lines."""
        said = self.log.read_bytes()[self._log_start :].decode(errors="replace")
        return f"Its log {self.log} ends:\n" + "\n".join(said.splitlines()[-15:])


def _socket_directory(data: Path) -> Path:
    """Answer a directory beside the data, or a short one in the system's temporary directory."""
    beside = data.with_name(data.name + ".socket")
    if _fits(beside):
        return beside
    name = hashlib.sha256(os.fsencode(data)).hexdigest()[:16]
    short = Path(tempfile.gettempdir()) / f"stationbook-{os.geteuid()}-{name}"
    return short if _fits(short) else Path("/tmp") / short.name  # noqa: S108


def _fits(directory: Path) -> bool:
    path = f"{directory}/.s.PGSQL.{PORT}"
    return len(os.fsencode(path)) <= LONGEST_SOCKET_PATH and bool(PLAIN_PATH.fullmatch(path))


def _hold_lock(path: Path) -> int:
    """Answer a lock that ends with this process; one supervisor per data directory."""
    lock = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    deadline = time.monotonic() + 5
    while True:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return lock
        except BlockingIOError:
            if time.monotonic() > deadline:
                os.close(lock)
                raise EmbeddedPostgresError(
                    f"Another process runs a database on this directory (it holds {path})."
                ) from None
            time.sleep(0.1)


def _remove_strangers_pid_file(data: Path) -> None:
    """Remove the pid file of a killed server whose process number has passed to another program.

    PostgreSQL itself removes one that names no process; one that names a living process it
    believes. Backends that outlived their server it still finds, by its shared memory.
    """
    file = data / "postmaster.pid"
    try:
        pid = int(file.read_text().splitlines()[0])
        command = Path(f"/proc/{pid}/cmdline").read_bytes()
    except (OSError, ValueError, IndexError):
        return
    if os.fsencode(data) not in command:
        file.unlink()


def _says_ready(data: Path, pid: int) -> bool:
    """Read the server's state where pg_ctl reads it: the eighth line of its pid file."""
    try:
        lines = (data / "postmaster.pid").read_text().splitlines()
    except OSError:
        return False
    return len(lines) >= 8 and lines[0] == str(pid) and lines[7].strip() == "ready"
