"""Which pieces a comparison from visit to visit rests on, and whether they are still the same."""

from collections.abc import Callable, Mapping
from math import isclose
from typing import Any

from calculations import without_drive
from calculations.inputs.subject import Subject
from calculations.units import to_si

Reading = Callable[[str, str], Any]
"""Value of a piece's field as text or [SI]; None where it is not known."""

RESTS_ON: Mapping[str, tuple[str, ...]] = {
    "head": ("pump",),
    "efficiency_drive_input": ("pump", "motor", "drive"),
    "efficiency_drive_output": ("pump", "motor"),
    "insulation": ("motor",),
    "winding": ("motor",),
    "vibration": ("pump", "motor"),
}
"""Pieces that each comparison rests on."""

COUNTED = "counters"
"""Of the records beside a visit: the last that read a counter, where the last one read none."""

OF_THE_WINDING = ("insulation", "winding")
"""Comparisons that begin anew with another winding: of what it is made, and how it is insulated."""

SAME_DIAMETER = 0.001
"""How near two diameters of one impeller are [1]: digits of two units; no source."""


FITTED = "fitted"
"""Of a piece: whether there is one; None where nothing is said."""


def of_subject(subject: Subject) -> Reading:
    """What a subject says of its pieces."""

    def read(piece: str, name: str) -> Any:
        there = getattr(subject, piece)
        if name == FITTED:
            none = piece == "drive" and without_drive.is_said(subject)
            return True if there is not None else False if none else None
        found = getattr(there, name, None)
        return getattr(found, "si", found)

    return read


def of_document(document: Mapping[str, Any]) -> Reading:
    """The same of one that nobody has read yet."""

    def read(piece: str, name: str) -> Any:
        there, pump_set = document.get(piece), document.get("pump_set") or {}
        if name == FITTED:
            none = piece == "drive" and pump_set.get(piece, "") is None
            return True if there is not None else False if none else None
        found = (there or {}).get(name)
        return to_si(float(found["value"]), found["unit"]) if isinstance(found, dict) else found

    return read


def changed(kind: str, before: Reading, now: Reading) -> str | None:
    """What of the pieces is another one than before, in words; None where all are the same."""
    for piece in RESTS_ON[kind]:
        if not is_same(before, now, piece):
            return f"the {piece} is another one"
        if piece == "pump" and is_trimmed(before, now):
            return "the impeller has another diameter"
        if piece == "motor" and kind in OF_THE_WINDING and is_rewound(before, now):
            return "the motor was rewound"
    return None


def is_same(before: Reading, now: Reading, piece: str) -> bool:
    """Whether a piece is the same: serial numbers tell where both are known, else ids do.

    One that was not there before is another one.
    """
    for name in ("serial", "id"):
        one, other = before(piece, name), now(piece, name)
        if one and other:
            return bool(one == other)
    return None in (fitted := (before(piece, FITTED), now(piece, FITTED))) or len(set(fitted)) == 1


def is_trimmed(before: Reading, now: Reading) -> bool:
    """Whether the impeller is known to have had another diameter."""
    one, other = (read("pump", "impeller_diameter") for read in (before, now))
    return bool(one and other) and not isclose(one, other, rel_tol=SAME_DIAMETER)


def is_rewound(before: Reading, now: Reading) -> bool:
    """Whether the motor's winding is newer than the visit before, or perhaps is.

    The day of a rewinding may be entered years after it: a visit since then read that winding.
    """
    rewound, visited = now("motor", "rewound_on"), before("event", "performed_at")
    if not rewound or rewound == before("motor", "rewound_on"):
        return False
    return visited is None or bool(rewound >= visited[: len(rewound)])
