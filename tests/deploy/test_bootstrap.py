"""The virtual environment of demo and check comes about whole, whoever interrupts or competes.

The locks are empty here, so that nothing is fetched.
"""

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.database import PROJECT

pytestmark = pytest.mark.slow


@pytest.fixture
def project(tmp_path: Path) -> Path:
    project = tmp_path / "a project"
    (project / "deploy").mkdir(parents=True)
    shutil.copy(PROJECT / "deploy" / "bootstrap.py", project / "deploy")
    for name in ("requirements.lock", "requirements-s3.lock", "requirements-check.lock"):
        (project / "deploy" / name).write_text(f"# {name}\n")
    return project


def start(project: Path, lock: str = "requirements.lock") -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-I", project / "deploy" / "bootstrap.py", lock],
        stdin=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )


def finish(process: subprocess.Popen[str]) -> str:
    said = process.communicate(timeout=120)[1]
    assert process.returncode == 0, said
    return said


def test_it_installs_once_and_again_when_the_lock_changes(project: Path) -> None:
    assert "Installing" in finish(start(project))
    assert finish(start(project)) == ""
    (project / "deploy" / "requirements.lock").write_text("# another\n")
    assert "Installing" in finish(start(project))


def test_the_larger_lock_holds_the_smaller(project: Path) -> None:
    finish(start(project, "requirements-check.lock"))
    for smaller in ("requirements.lock", "requirements-s3.lock"):
        assert finish(start(project, smaller)) == ""


def test_of_two_at_once_one_installs(project: Path) -> None:
    both = [start(project), start(project)]
    assert [finish(one) for one in both].count("") == 1


def test_a_half_made_one_is_made_anew(project: Path) -> None:
    first = start(project)
    while not (project / ".venv" / "bin" / "python").exists():
        assert first.poll() is None
        time.sleep(0.005)
    first.kill()
    first.communicate()
    (project / ".venv" / "left behind").touch()

    assert "Installing" in finish(start(project))
    assert not (project / ".venv" / "left behind").exists()
    assert (project / ".venv" / "bin" / "pip").exists()


def test_one_made_by_hand_is_kept(project: Path) -> None:
    subprocess.run([sys.executable, "-m", "venv", project / ".venv"], check=True)
    (project / ".venv" / "made by hand").touch()
    finish(start(project))
    assert (project / ".venv" / "made by hand").exists()


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_that_may_not_be_written_is_named(project: Path) -> None:
    project.chmod(0o555)
    process = start(project)
    said = process.communicate(timeout=120)[1]
    project.chmod(0o755)
    assert process.returncode == 1
    assert f"may not write {project}" in said
    assert "Copy the project" in said
