"""Published worked examples, each with its source, for the tests of the formulas."""

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "worked_examples"

Case = dict[str, Any]


def cases(subject: str, prefix: str = "") -> list[Case]:
    """Every example of one subject whose id begins with `prefix`; none at all is an error."""
    listed: list[Case] = json.loads((FOLDER / f"{subject}.json").read_text(encoding="utf-8"))
    found = [case for case in listed if str(case["id"]).startswith(prefix)]
    if not found:
        raise LookupError(f"no worked example {prefix}* in {subject}.json")
    return found
