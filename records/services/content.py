"""Documents as bytes: what makes two of them the same."""

import hashlib
from typing import Any

import rfc8785

from calculations.inputs.reading import Problem, pointer
from records.json_text import text_of


def canonical(document: Any) -> bytes:
    """Canonical JSON (RFC 8785)."""
    return rfc8785.dumps(document)


def quick_digest(document: Any) -> bytes:
    """SHA-256 that tells equal documents from different ones within this service."""
    return hashlib.sha256(text_of(document, sorted_names=True)).digest()


def units_alone(target: Any, patch: Any, *steps: str) -> list[Problem]:
    """Quantities of which a merge patch names the unit alone: 9 bar would become 9 psi."""
    if not isinstance(patch, dict) or not isinstance(target, dict):
        return []
    if set(target) == {"value", "unit"} and set(patch) == {"unit"} and patch != {"unit": None}:
        words = f"expected the value with its unit: it stands in {target['unit']}"
        return [Problem(pointer(*steps, "unit"), "unit_alone", words)] * (
            patch["unit"] != target["unit"]
        )
    return [
        problem
        for name, value in patch.items()
        for problem in units_alone(target.get(name), value, *steps, name)
    ]


def merge_patch(target: Any, patch: Any) -> Any:
    """RFC 7396: objects are merged, null removes, everything else replaces."""
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = merge_patch(merged.get(name), value)
    return merged
