"""Becomes one of the service's processes: `python -m deploy.serve web|worker|relay`.

Containers and system services start the same commands as demo and tests.
"""

import os
import socket
import sys
import tempfile
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

from deploy.broker import BrokerError
from deploy.environment import BadVariableError, whole_number
from deploy.processes import RELAY, WORKER, web

PROJECT = Path(__file__).resolve().parent.parent
KINDS = ("web", "worker", "relay")
WEB_ADDRESS = "127.0.0.1:8000"


def command(kind: str) -> tuple[str, ...]:
    """The command of one kind of process, as the environment says."""
    if kind == "web":
        return web(
            web_address(),
            workers=whole_number("WEB_PROCESSES", 2, least=1),
            threads=whole_number("WEB_THREADS", 8, least=1),
        )
    if kind == "worker":
        return (*WORKER, f"--concurrency={whole_number('WORKER_PROCESSES', 1, least=1)}")
    return RELAY


def empty_numbers() -> None:
    """What killed web processes added up is not of those that start now."""
    folder = os.environ.get("PROMETHEUS_MULTIPROC_DIR")
    if not folder:
        return
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        for left in Path(folder).glob("*.db"):
            left.unlink(missing_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
    except OSError as error:
        words = f"a folder in which this process may write ({error.strerror}: {folder})"
        raise BadVariableError("PROMETHEUS_MULTIPROC_DIR", words) from error


def web_address() -> str:
    """Where the web process listens, as the environment says."""
    return os.environ.get("WEB_ADDRESS", "").strip() or WEB_ADDRESS


def refuse_bad_address() -> None:
    """Listen for a moment where the web server will: it would say no more than what failed.

    Not where systemd listens: that address stands in stationbook-web.socket, and counts alone.
    """
    handed_over = os.environ.get("LISTEN_PID") == str(os.getpid())
    if handed_over or web_address().startswith(("unix:", "fd://")):
        return
    host, port = _host_and_port(web_address())
    try:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        socket.create_server((host, port), family=family).close()
    except (OSError, OverflowError, UnicodeError) as error:
        why = (getattr(error, "strerror", "") or str(error)).partition(" (")[0]
        words = f"an address of this machine, such as {WEB_ADDRESS}, whose port nobody else has"
        raise BadVariableError("WEB_ADDRESS", f"{words} ({why}: {web_address()})") from error


def _host_and_port(address: str) -> tuple[str, int]:
    """Those of HOST:PORT; of IPv6 the host stands in brackets."""
    host, colon, port = address.rpartition(":")
    if not colon or not port.isdecimal() or "/" in host:
        words = f"HOST:PORT and nothing before it, such as {WEB_ADDRESS} or [::1]:8000"
        raise BadVariableError("WEB_ADDRESS", f"{words} (got {address})")
    bare = host.removeprefix("[").removesuffix("]")
    if (":" in bare) != (host == f"[{bare}]"):
        words = f"an IPv6 address, and no other, in brackets, such as [::1]:8000 (got {address})"
        raise BadVariableError("WEB_ADDRESS", words)
    return bare, int(port)


def refuse_bad_configuration(kind: str) -> None:
    """Say what is wrong in one sentence, where a library would print how it came upon it."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    try:
        from deploy.production import refuse_defaults, refuse_without_static_files

        refuse_defaults()
        if kind == "web":
            refuse_without_static_files()
    except (BadVariableError, BrokerError) as error:
        sys.exit(f"Not started: {error}")
    except ImproperlyConfigured as error:
        sys.exit(str(error))


def main() -> None:
    """Take the place of this process."""
    if len(sys.argv) != 2 or sys.argv[1] not in KINDS:
        sys.exit(f"expected one of: {', '.join(KINDS)}")
    try:
        words = command(sys.argv[1])
        refuse_bad_configuration(sys.argv[1])
        if sys.argv[1] == "web":
            refuse_bad_address()
            empty_numbers()
    except BadVariableError as error:
        sys.exit(f"Not started: {error}")
    os.chdir(PROJECT)
    os.execvp(words[0], words)  # noqa: S606  # no shell is wanted


if __name__ == "__main__":
    main()
