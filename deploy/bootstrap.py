"""Makes .venv and installs one of the locks into it; quick where that is done already.

    python3 deploy/bootstrap.py requirements.lock

Runs on a bare Python, before anything is installed. Two may run at once, and one that is
interrupted is made anew by the next.
"""

import fcntl
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
VENV = PROJECT / ".venv"
PYTHON = VENV / "bin" / "python"
UNFINISHED = VENV / "unfinished"
PIP = (
    *("install", "--quiet", "--quiet", "--no-input", "--disable-pip-version-check"),
    *("--require-hashes", "--no-deps"),
)
# A larger lock holds everything of the smaller one, in the same versions.
HOLDS = {
    "requirements-s3.lock": ("requirements.lock",),
    "requirements-check.lock": ("requirements.lock", "requirements-s3.lock"),
}


def main(lock: Path) -> None:
    """Install the lock, unless it is installed."""
    if is_installed(lock):
        return
    try:
        with one_at_a_time():
            if not is_installed(lock):
                install(lock)
    except PermissionError as error:
        sys.exit(
            f"This user may not write {error.filename}.\nCopy the project to a folder of yours."
        )
    except subprocess.CalledProcessError:
        sys.exit("The installation failed; what is printed above says why. Start again to retry.")


def is_installed(lock: Path) -> bool:
    """Answer whether exactly this lock was installed to the end."""
    try:
        return PYTHON.exists() and stamp(lock.name).read_bytes() == lock.read_bytes()
    except FileNotFoundError:
        return False


def stamp(name: str) -> Path:
    """Answer the file that holds a copy of the lock that was installed."""
    return VENV / f"installed-{name}"


@contextmanager
def one_at_a_time() -> Iterator[None]:
    """Wait for another bootstrap of this project; the lock ends with the process."""
    handle = os.open(PROJECT, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def install(lock: Path) -> None:
    """Make the environment where there is no whole one, and bring it to the lock."""
    print("Installing into .venv, once; this takes a minute …", file=sys.stderr, flush=True)
    if VENV.exists() and (UNFINISHED.exists() or not has_pip()):
        shutil.rmtree(VENV)
    VENV.mkdir(exist_ok=True)
    UNFINISHED.touch()
    for old in VENV.glob("installed-*"):
        old.unlink()
    if not has_pip():
        run(sys.executable, "-m", "venv", VENV)
    run(PYTHON, "-m", "pip", *PIP, "--requirement", lock)
    for name in (*HOLDS.get(lock.name, ()), lock.name):
        shutil.copyfile(lock.with_name(name), stamp(name))
    UNFINISHED.unlink()


def has_pip() -> bool:
    """Answer whether there is an environment that can install into itself."""
    if not PYTHON.exists():
        return False
    trial = subprocess.run([PYTHON, "-m", "pip", "--version"], capture_output=True, check=False)
    return trial.returncode == 0


def run(*command: str | Path) -> None:
    """Run a command that has to succeed; what it says belongs on standard error."""
    subprocess.run(command, check=True, stdin=subprocess.DEVNULL, stdout=sys.stderr)


if __name__ == "__main__":
    main(PROJECT / "deploy" / sys.argv[1])
