"""A share of what a technician may leave open, left open."""

from random import Random
from typing import Any

from .stand import Entered

KEPT = {"unit", "value", "kind", "purpose", "function", "tag", "serial", "rating_in_use",
        "sensor", "instrument", "item", "name", "group", "task", "reason", "direction", "id",
        "drive", "event", "settings", "as_left", "inverter_suitability",
        "extended_constant_torque", "relief_valve_setting", "first_ramp_time",
        "first_ramp_to_frequency",
        "last_ramp_time", "last_ramp_from_frequency"}  # fmt: skip
"""Names and what gives the rest its place, and what a silent plate says by its silence."""


def blanked(entered: Entered, seed: int, share: float) -> Entered:
    """A copy in which a random share of the fields is not filled in."""
    copy, chance = entered.copy(), Random(seed * 7919 + 13)
    document = copy.document
    pumps = [each["pump"] for each in (document, *document.get("neighbours", ()))]
    curves = [pump.pop("curve_points", None) for pump in pumps]
    _blank(document, chance, share)
    for pump, rows in zip(pumps, curves, strict=True):
        if rows is not None:
            pump["curve_points"] = _without_columns(rows, chance, share)
    return copy


def _without_columns(rows: list[Any], chance: Random, share: float) -> list[Any]:
    """A curve is typed in by columns: efficiency and suction head as a whole, or not at all."""
    gone = {name for name in ("efficiency", "npsh_required") if chance.random() < share}
    return [{name: value for name, value in row.items() if name not in gone} for row in rows]


def _blank(part: Any, chance: Random, share: float) -> None:
    if isinstance(part, list):
        for each in part:
            _blank(each, chance, share)
    elif isinstance(part, dict) and not _is_quantity(part):
        for name in list(part):
            if name in KEPT or _has_parts(part[name]):
                _blank(part[name], chance, share)
            elif chance.random() < share:
                del part[name]


def _is_quantity(value: Any) -> bool:
    return isinstance(value, dict) and set(value) == {"value", "unit"}


def _has_parts(value: Any) -> bool:
    """Whether a value has fields of its own that may be open singly."""
    if isinstance(value, list):
        return bool(value) and isinstance(value[0], dict) and not _is_quantity(value[0])
    return isinstance(value, dict) and not _is_quantity(value)
