"""Processes that are started: what killed ones left is put away, or it is said why not."""

import pytest

from deploy.environment import BadVariableError
from deploy.serve import empty_numbers

NAME = "PROMETHEUS_MULTIPROC_DIR"


def test_numbers_of_killed_processes_are_put_away_and_nothing_else(tmp_path, monkeypatch):
    folder = tmp_path / "run" / "numbers"
    monkeypatch.setenv(NAME, str(folder))
    empty_numbers()
    (folder / "counter_7.db").write_bytes(b"7")
    (folder / "note").write_text("stays")
    empty_numbers()
    assert [each.name for each in folder.iterdir()] == ["note"]


def test_a_folder_of_numbers_that_is_none_is_told_by_its_variable(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("no folder")
    for folder in (tmp_path / "file", tmp_path / "file" / "in it"):
        monkeypatch.setenv(NAME, str(folder))
        with pytest.raises(BadVariableError, match=f"{NAME}: expected a folder in which .*file"):
            empty_numbers()
