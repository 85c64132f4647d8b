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


def test_those_of_an_image_stay_as_they_came(ran, settings, tmp_path, monkeypatch):
    settings.STATIC_ROOT = str(tmp_path)
    monkeypatch.setattr(static_files.os, "access", lambda path, mode: path != tmp_path)
    (tmp_path / static_files.LIST).write_text("{}")
    assert static_files.gather() == f"in {tmp_path}, as they came with this version"
    assert ran == []


def test_an_empty_place_where_nobody_writes_is_no_image(ran, settings, tmp_path, monkeypatch):
    settings.STATIC_ROOT = str(tmp_path)
    monkeypatch.setattr(static_files.os, "access", lambda path, mode: False)
    static_files.gather()
    assert ran == ["collectstatic"]


def test_without_a_place_nothing_is_gathered(ran, settings):
    settings.STATIC_ROOT = None
    assert static_files.gather() == ""
    assert ran == []
