"""Visit packs as the service makes them, out of the subjects that tests have."""

from copy import deepcopy
from typing import Any

from calculations.catalogue import VERSION

Document = dict[str, Any]


def pack_of(subject: Document) -> tuple[Document, str, Document]:
    """A pack that holds a subject's pieces, the id of its pump set, and its event."""
    given = _Numbered(deepcopy(subject))
    neighbours = [_neighbour(given, each) for each in given.listed("neighbours")]
    own = _set(given, given.subject) if given.subject.get("pump_set") else None
    if own:
        own["neighbours"] = [each["pump_set"]["id"] for each in neighbours]
    pack = {
        "catalogue": VERSION,
        "site": given.subject.get("site"),
        "pump_sets": [*([own] if own else []), *neighbours],
        "sensors": given.listed("sensors"),
        "vessels": given.listed("vessels"),
        "instruments": given.listed("instruments"),
        "limits_changed": [],
    }
    return pack, own["pump_set"]["id"] if own else "", given.subject["event"]


class _Numbered:
    """A subject whose pieces all have ids, as those of the register do."""

    def __init__(self, subject: Document) -> None:
        self.subject = subject
        self._last = 0

    def listed(self, name: str) -> list[Document]:
        return [self.named(each) for each in self.subject.get(name) or ()]

    def named(self, piece: Document) -> Document:
        self._last += 1
        piece.setdefault("id", f"00000000-0000-4000-8000-{self._last:012d}")
        return piece


def _set(given: _Numbered, held: Document) -> Document:
    given.named(held["pump_set"])
    parts = {name: held.get(name) for name in ("pump_set", "pump", "motor", "drive")}
    sensors = [each["id"] for each in given.listed("sensors")]
    return {**parts, "sensors": sensors, "neighbours": [], "last_settings": None,
            "first_record": None}  # fmt: skip


def _neighbour(given: _Numbered, held: Document) -> Document:
    left = None
    if held.get("settings"):
        left = {"as_left": held["settings"], "duty_points": held.get("duty_points") or []}
    return _set(given, held) | {"sensors": [], "last_settings": left}
