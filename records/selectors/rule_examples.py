"""An example of each rule, as `fixtures.rule_examples.build` has written it."""

import json
from functools import cache
from pathlib import Path
from typing import Any

FILE = Path(__file__).parents[1] / "rule_examples.json"


@cache
def examples() -> dict[str, dict[str, Any]]:
    """Every example by its rule: what was entered, and what the rule says of it."""
    found: dict[str, dict[str, Any]] = json.loads(FILE.read_text(encoding="utf-8"))
    return found
