"""Static files are gathered, unless an image brought them to where nobody writes."""

import django.core.management
import pytest

from deploy import static_files


@pytest.fixture
def ran(monkeypatch) -> list[str]:
    """The commands that were called."""
    commands: list[str] = []
    monkeypatch.setattr(
        django.core.management, "call_command", lambda name, **options: commands.append(name)
    )
    return commands


def test_they_are_gathered_anew_where_they_may_be_of_another_version(ran, settings, tmp_path):
    settings.STATIC_ROOT = str(tmp_path)
    (tmp_path / static_files.LIST).write_text("{}")
    assert static_files.gather() == f"in {tmp_path}"
    assert ran == ["collectstatic"]


@pytest.fixture
def closed(settings, tmp_path, monkeypatch):
    """A project's folder, in which nobody writes."""
    settings.BASE_DIR = tmp_path / "project"
    (settings.BASE_DIR / "static").mkdir(parents=True)
    monkeypatch.setattr(static_files, "may_write", lambda folder: False)
    return settings.BASE_DIR


def test_those_of_an_image_stay_as_they_came(ran, settings, closed):
    settings.STATIC_ROOT = str(closed / "static")
    (closed / "static" / static_files.LIST).write_text("{}")
    said = static_files.gather()
    assert said == f"in {closed / 'static'}, as they came with this version"
    assert ran == []


@pytest.mark.parametrize("place", ["static", "static/new", "../elsewhere", "../elsewhere/static"])
def test_a_folder_that_is_closed_by_mistake_is_named(ran, settings, closed, place):
    """Elsewhere even with static files in it: they may be those of the version before."""
    elsewhere = closed.parent / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / static_files.LIST).write_text("{}")
    root = (closed / place).resolve()
    settings.STATIC_ROOT = str(root)
    with pytest.raises(PermissionError, match=f"STATIC_ROOT: .* cannot be written to {root}: let"):
        static_files.gather()
    assert ran == []


def test_without_a_place_nothing_is_gathered(ran, settings):
    settings.STATIC_ROOT = None
    assert static_files.gather() == ""
    assert ran == []
