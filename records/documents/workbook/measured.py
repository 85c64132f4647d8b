"""Sheets of what was installed, set, tested and measured."""

from collections.abc import Mapping, Sequence
from typing import Any

from calculations.inputs.readings import DutyPoint, ProtectionTest, VerificationPoint
from records.documents import labels
from records.documents.contents.cautions import SHORT
from records.documents.contents.expected import expected, sensor_named
from records.documents.contents.settings import group_of, ordered
from records.documents.contents.source import Source
from records.documents.contents.verifications import indication_error, signal_error
from records.documents.readings import STATES, Entered, Leaf
from records.documents.shown import order
from records.documents.workbook.sheets import (
    LISTED_HEADS,
    Digits,
    Flat,
    Path,
    Row,
    Sheet,
    Value,
    cell,
    flat,
    listed,
    path_label,
    tidy,
    valued,
)

Leaves = Sequence[Leaf]

NOTHING = "Nothing was recorded."
_ELECTRICAL = ("supply", "motor_tests", "identification_run", "earth_tests")
_OWN_SHEETS = (*_ELECTRICAL, "settings", "duty_points", "sensor_verifications", "protection_tests")


def nameplates(source: Source, leaves: Leaves) -> Sheet:
    """Station, pump set, pieces, instruments and neighbours, as the event was judged by them."""
    words = "Station and nameplates as they stood when the event was first signed."
    found = [leaf for leaf in leaves if leaf.place.startswith("/snapshot/")]
    return _listed(source, "Nameplates", found, words)


def electrical(source: Source, leaves: Leaves) -> Sheet:
    """Supply, winding, insulation, earth; the place of measuring stands beside each value."""
    words = "Electrical values hold for the place where they were measured, and for no other."
    found = [leaf for leaf in leaves if _part(leaf) in _ELECTRICAL]
    return _listed(source, "Electrical", found, words)


def visit(source: Source, leaves: Leaves) -> Sheet:
    """Whatever of the event has no sheet of its own."""
    own = [leaf for leaf in leaves if leaf.place.startswith("/event/")]
    found = [leaf for leaf in own if _part(leaf) not in _OWN_SHEETS]
    return _listed(source, "Visit and checks", found, "The visit, and what was checked besides.")


def _part(leaf: Leaf) -> str:
    steps = leaf.place.split("/")
    return steps[2] if steps[1] == "event" else ""


def _listed(source: Source, name: str, found: Leaves, words: str) -> Sheet:
    rows = listed(source, found)
    return Sheet(name, LISTED_HEADS, rows, (words if rows else NOTHING,))


def settings(source: Source) -> Sheet:
    """Settings as found and as left side by side, with what they are held against."""
    pair = source.event.see("settings") or {}
    found, left = (flat(pair.get(state) or {}) for state in STATES)
    beside = expected(source)
    rows = [_setting(source, path, found, left, beside) for path in ordered({**found, **left})]
    heads = ("Group", "Setting", "As found", "Unit", "As left", "Unit", "Changed",
             "SI value as left", "SI unit", "To compare", "Unit", "which is")  # fmt: skip
    return Sheet("Settings", heads, rows, (SHORT, *(() if rows else (NOTHING,))))


def _setting(source: Source, path: Path, found: Flat, left: Flat, beside: Mapping[str, Any]) -> Row:
    name = str(path[0])
    both = path in found and path in left
    held, origin = beside.get(name, (None, "")) if len(path) == 1 else (None, "")
    after = _cells(source, path, left.get(path))
    return (
        group_of(name),
        path_label(path),
        *_cells(source, path, found.get(path))[:2],
        *after[:2],
        ("yes" if found[path] != left[path] else "no") if both else None,
        *after[2:],
        *_cells(source, path, held)[:2],
        origin,
    )


def _cells(source: Source, path: Path, value: Any) -> tuple[Value, ...]:
    if value is None:
        return (None, None, None, None)
    found = cell(source, path, value)
    return valued(found) if isinstance(found, Entered) else valued(None, found)


def duty_points(source: Source) -> Sheet:
    """A row for each point; the head of a column says where electrical values were taken."""
    points = source.event.see("duty_points") or []
    elements: list[tuple[Row, Flat]] = [((n + 1,), flat(each)) for n, each in enumerate(points)]
    heads, rows = tidy(source, ("Point",), elements, order(DutyPoint))
    words = "A motor has other currents and voltages at the drive's input than at its output."
    return Sheet("Duty points", heads, rows, (words if rows else NOTHING,))


def transmitter_points(source: Source) -> Sheet:
    """A row for each applied value, as found and as left, with its errors in % of span."""
    elements: list[tuple[Row, Flat]] = []
    for check in source.event.see("sensor_verifications") or []:
        sensor = sensor_named(source.snapshot.value, check.get("sensor")) or {}
        name = source.shown.words("sensor", check.get("sensor"))
        told = flat({n: v for n, v in check.items() if n not in (*STATES, "sensor")})
        for state in STATES:
            for index, point in enumerate(check.get(state) or ()):
                errors = (_percent(signal_error(point, sensor)),
                          _percent(indication_error(point, sensor)))  # fmt: skip
                first = (name, sensor.get("serial"), labels.word(state), index + 1, *errors)
                elements.append((first, flat(point) | told))
    heads, rows = tidy(source, _POINT_HEADS, elements, order(VerificationPoint))
    words = (
        "Errors are of the values as applied, not corrected for the height of the reference. What "
        "was said of a whole verification stands in each of its rows."
    )
    return Sheet("Transmitter points", heads, rows, (words if rows else NOTHING,))


_POINT_HEADS = ("Sensor", "Serial", "State", "Point", "Signal error [% of span]",
                "Indication error [% of span]")  # fmt: skip


def _percent(share: float | None) -> Value:
    """With two decimals, as on paper."""
    digits = "" if share is None else f"{100 * share:.2f}"
    return Digits("0.00" if digits == "-0.00" else digits) if digits else None


def protections(source: Source) -> Sheet:
    """A row for each protection that was provoked."""
    tests = source.event.see("protection_tests") or []
    elements: list[tuple[Row, Flat]] = [((n + 1,), flat(each)) for n, each in enumerate(tests)]
    heads, rows = tidy(source, ("Test",), elements, order(ProtectionTest))
    return Sheet("Protections", heads, rows, () if rows else (NOTHING,))
