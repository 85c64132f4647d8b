"""Runs the whole service on this machine over an embedded database; sh deploy/demo calls it."""

import argparse
import json
import os
import shlex
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from threading import Event
from types import FrameType
from typing import Any

PROJECT = Path(__file__).resolve().parent.parent
sys.path[0] = str(PROJECT)  # this file's own folder, which Python put there, is no place of modules

from deploy.children import start_child, stop_child, stop_together  # noqa: E402
from deploy.commands import BETWEEN  # noqa: E402
from deploy.embedded_postgres import EmbeddedPostgres, EmbeddedPostgresError  # noqa: E402
from deploy.keys import DOCUMENT_KEY, MFA_KEY, SECRET_KEY, SIGNING_KEY, make_missing_keys  # noqa: E402
from deploy.postgres_programs import PostgresProgramsError  # noqa: E402
from deploy.processes import PYTHON, RELAY, WORKER, web  # noqa: E402
from deploy.roles import DATABASE, prepare_server  # noqa: E402
from records import roles  # noqa: E402
from records.whole_files import write_whole  # noqa: E402

HOST = "127.0.0.1"
VISIT = PROJECT / "deploy" / "demo_visit.py"
START_SECONDS = 60
# Whatever an installation on this machine says of its own: the demo keeps off its book and files.
OF_AN_INSTALLATION = (
    *("PG", "DATABASE_", "OWNER_DATABASE_", "QUEUE_", "FILES_", "MAIL_"),
    *("METRICS_", "PROMETHEUS_", "BACKUP_"),
    *("STATIC_ROOT", "BEHIND_PROXY", "TRUSTED_ORIGINS"),  # nothing was gathered, no proxy is here
)


class Stopped(Exception):
    """Somebody asked the demo to end."""


_asked = Event()


class DemoError(Exception):
    """The demo cannot go on; the message says why."""


def arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="sh deploy/demo", description=__doc__)
    parser.add_argument("--once", action="store_true", help="end after the demonstration")
    parser.add_argument("--port", type=int, default=8000, help="0 takes a free one")
    parser.add_argument("--data", type=Path, default=PROJECT / ".data" / "demo")
    parser.add_argument("--json", type=Path, help="file for address, tokens and people")
    return parser.parse_args()


class Demo:
    """The service's processes and the directory that they keep everything in."""

    def __init__(self, data: Path) -> None:
        self.data = data.absolute()
        self.logs = self.data / "logs"
        self.watched: dict[str, tuple[subprocess.Popen[bytes], Path]] = {}
        self.environment: dict[str, str] = {}

    def make_directories(self) -> None:
        """Make directories that only this user reads: keys and tokens lie in there."""
        self.data.parent.mkdir(parents=True, exist_ok=True)
        for directory in (self.data, self.logs):
            directory.mkdir(mode=0o700, exist_ok=True)

    def prepare(self, postgres: EmbeddedPostgres) -> None:
        """Make keys, roles, database and queue, migrate, and load the invented utility."""
        assert postgres.process is not None  # noqa: S101
        self.watched["database"] = postgres.process, postgres.log
        make_missing_keys(self.data)
        prepare_server(postgres.dsn())
        self.environment = self._environment(postgres)
        owner = {"OWNER_DATABASE_URL": postgres.url(user=roles.OWNER, database=DATABASE)}
        self._leave_for_commands(self._own_environment(postgres) | owner)
        self._run_commands(
            ["migrate", "--database=owner", "--verbosity=0"],
            ["register_signing_key"],
            ["load_demo", "--json", str(self.data / "people.json")],
            **owner,
        )

    def _leave_for_commands(self, environment: dict[str, str]) -> None:
        """A file for a shell that runs commands of the operator beside the demo."""
        lines = (f"export {name}={shlex.quote(value)}\n" for name, value in environment.items())
        write_whole(self.data / "environment.sh", "".join(lines).encode())

    def _environment(self, postgres: EmbeddedPostgres) -> dict[str, str]:
        kept = (name for name in os.environ if not name.startswith(OF_AN_INSTALLATION))
        return {name: os.environ[name] for name in kept} | self._own_environment(postgres)

    def _own_environment(self, postgres: EmbeddedPostgres) -> dict[str, str]:
        return {
            "DJANGO_SETTINGS_MODULE": "deploy.settings",
            "DATABASE_URL": postgres.url(user=roles.LOGIN, database=DATABASE),
            "QUEUE_URL": postgres.url(user=roles.QUEUE, database=DATABASE),
            "SECRET_KEY_FILE": str(self.data / SECRET_KEY),
            "SIGNING_KEY_FILE": str(self.data / SIGNING_KEY),
            "DOCUMENT_KEY_FILE": str(self.data / DOCUMENT_KEY),
            "MFA_KEY_FILE": str(self.data / MFA_KEY),
            "SECOND_FACTOR": os.environ.get("SECOND_FACTOR", "offered"),
            "MAIL_FOLDER": str(self.data / "mail"),
            "FILES_ROOT": str(self.data / "files"),
            "ALLOWED_HOSTS": f"{HOST},localhost",
            "PLAIN_HTTP": "1",
            "DEBUG": "0",
        }

    def _run_commands(self, *commands: list[str], **environment: str) -> None:
        words = [word for command in commands for word in (BETWEEN, *command)][1:]
        ran = subprocess.run(
            [PYTHON, "-m", "deploy.commands", *words],
            cwd=PROJECT,
            env={**self.environment, **environment},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            check=False,
        )
        if ran.returncode != 0:
            said = (ran.stdout + ran.stderr).decode(errors="replace")
            raise DemoError(f"The book could not be prepared.\n{said}")

    @contextmanager
    def running(self, listener: socket.socket) -> Iterator[None]:
        """Run web, worker and relay."""
        door = listener.fileno()
        commands: dict[str, tuple[str, ...]] = {
            "web": web(f"fd://{door}", workers=2, threads=4),
            "worker": (*WORKER, "--concurrency=1"),
            "relay": RELAY,
        }
        started: list[subprocess.Popen[bytes]] = []
        try:
            for name, command in commands.items():
                started.append(self._start(name, command, [door] if name == "web" else []))
            yield
        finally:
            stop_together(started, patience=15)

    def _start(
        self, name: str, command: tuple[str, ...], pass_fds: list[int]
    ) -> subprocess.Popen[bytes]:
        file = self.logs / f"{name}.log"
        with file.open("ab") as log:
            child = start_child(
                command,
                cwd=PROJECT,
                env=self.environment,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                pass_fds=pass_fds,
            )
        self.watched[name] = child, file
        return child

    def refuse_dead_children(self) -> None:
        """Raise when a process that should run has ended."""
        for name, (process, log) in self.watched.items():
            if process.poll() is not None:
                said = "\n".join(log.read_text(errors="replace").splitlines()[-15:])
                raise DemoError(f"{name} ended with status {process.returncode}; {log}:\n{said}")

    def wait_until_healthy(self, address: str) -> None:
        """Wait until the service says that it is well."""
        deadline = time.monotonic() + START_SECONDS
        while not _answers(f"{address}/healthz"):
            leave_if_asked()
            self.refuse_dead_children()
            if time.monotonic() > deadline:
                raise DemoError(f"{address}/healthz does not answer; see {self.logs}.")
            time.sleep(0.05)


def _answers(url: str) -> bool:
    try:
        with urllib.request.urlopen(url, timeout=5) as answer:  # noqa: S310  # our own address
            return bool(answer.status == 200)
    except (urllib.error.URLError, OSError):
        return False


def listen(port: int) -> socket.socket:
    """Take the port now, so that a taken one is known before anything starts."""
    listener = socket.socket()
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((HOST, port))
        listener.listen(128)
    except (OSError, OverflowError) as error:
        raise DemoError(f"Port {port} cannot be used ({error}). Choose another: --port N") from None
    return listener


def say_where(address: str, loaded: dict[str, Any]) -> None:
    """Print the addresses and who may sign in."""
    print(f"\n  Pages       {address}/\n  API         {address}/api/v1/\n")
    for name, person in loaded["people"].items():
        print(f"  {name}: {_in_words(person)}")
    for name, token in loaded["tokens"].items():
        print(f"  token of {name}: {token}")
    print(flush=True)


def _in_words(person: Any) -> str:
    if not isinstance(person, dict):
        return str(person)
    return ", ".join(f"{name} {value}" for name, value in person.items())


def visit(address: str, file: Path, folder: Path) -> int:
    """Run the field-app demonstration as a stranger: it knows the address and that file.

    What it downloads goes into `folder`.
    """
    command: list[str | Path] = [PYTHON, "-I", VISIT, address, "--json", file, "--folder", folder]
    surroundings = {"PATH": os.environ.get("PATH", os.defpath), "LC_ALL": "C.UTF-8"}
    child = start_child(command, cwd="/", env=surroundings)
    try:
        return child.wait()
    finally:
        stop_child(child, patience=5)


def serve(options: argparse.Namespace, stack: ExitStack) -> int:
    """Start everything, run the demonstration, and stay until somebody stops it."""
    begun = time.monotonic()
    listener = stack.enter_context(listen(options.port))
    demo = Demo(options.data)
    demo.make_directories()
    print(f"Starting on {demo.data} …", flush=True)
    postgres = stack.enter_context(EmbeddedPostgres(demo.data / "postgres"))
    demo.prepare(postgres)
    stack.enter_context(demo.running(listener))
    address = f"http://{HOST}:{listener.getsockname()[1]}"
    demo.wait_until_healthy(address)
    loaded = json.loads((demo.data / "people.json").read_text(encoding="utf-8"))
    file = (options.json or demo.data / "demo.json").absolute()
    told = json.dumps({"address": address, **loaded}, indent=2, ensure_ascii=False)
    write_whole(file, told.encode())
    print(f"Serving after {time.monotonic() - begun:.1f} s.", flush=True)
    say_where(address, loaded)
    status = visit(address, file, demo.data)
    leave_if_asked()
    demo.refuse_dead_children()
    if options.once:
        return status
    if status != 0:
        print(f"The demonstration ended with status {status}.", file=sys.stderr)
    print(f"Serving on {address}/ until Ctrl-C.", flush=True)
    while True:
        time.sleep(0.5)
        leave_if_asked()
        demo.refuse_dead_children()


def stop(number: int, frame: FrameType | None) -> None:
    """Leave by the front door: everything that was started is ended on the way.

    It is noted as well: what is raised while the interpreter does things of its own, as at a
    fork, gets lost.
    """
    _asked.set()
    for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(name, signal.SIG_IGN)
    raise Stopped


def leave_if_asked() -> None:
    """Raise `Stopped` where that was lost before."""
    if _asked.is_set():
        raise Stopped


def main() -> int:
    """Run the demo and answer its exit status."""
    options = arguments()
    for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(name, stop)
    try:
        with ExitStack() as stack:
            return serve(options, stack)
    except Stopped:
        return 1 if options.once else 0
    except (DemoError, EmbeddedPostgresError, PostgresProgramsError, OSError) as error:
        print(f"The demo ended: {error}", file=sys.stderr)
        return 1


if __name__ == "__main__":
    sys.exit(main())
