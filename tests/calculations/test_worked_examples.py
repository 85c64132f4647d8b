"""No published example lies unused."""

import importlib
from pathlib import Path

from tests.calculations.worked_examples import FOLDER, TESTED, cases


def test_every_published_example_is_computed_by_a_test():
    for module in Path(__file__).parent.glob("test_*.py"):
        if "worked_examples import" in module.read_text(encoding="utf-8"):
            importlib.import_module(f"{__package__}.{module.stem}")
    subjects = [file.stem for file in FOLDER.glob("*.json")]
    published = {(subject, case["topic"]) for subject in subjects for case in cases(subject)}
    assert published == TESTED
