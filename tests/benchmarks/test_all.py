"""All benchmarks by one command: a table and a file of all, and one that fails is named in both."""

import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from tests.benchmarks import __main__ as every

pytestmark = pytest.mark.slow


def test_the_table_has_the_ratios_and_names_what_failed(tmp_path, monkeypatch, capsys):
    def fails(words):
        raise RuntimeError("no | disk")

    broken = (SimpleNamespace(main=fails), every.BENCHMARKS["bundle"][1])
    monkeypatch.setitem(every.BENCHMARKS, "bundle", broken)
    words = ["--only", "bundle", "judging", "--small", "--folder", str(tmp_path)]
    assert every.main(words) == 1
    told = json.loads((tmp_path / "all.json").read_text())
    text = (tmp_path / "all.md").read_text()
    assert "| bundle | failed | RuntimeError: no / disk |" in text
    line = f"| judge() ÷ the same formulas as bare floats | {told['judging']['ratio']:.2f} |  |"
    assert line in text
    assert text in capsys.readouterr().out


def test_each_has_its_small_run():
    assert every.SMALL.keys() == every.BENCHMARKS.keys()


def test_every_benchmark_is_run():
    folder = Path(every.__file__).parent
    files = [file for file in folder.glob("*.py") if "def arguments(" in file.read_text()]
    assert {file.stem for file in files} - {Path(__file__).stem} == every.BENCHMARKS.keys()
