"""Which piece of equipment a place in a record is about."""

from collections.abc import Mapping, Sequence
from typing import Any

Document = Mapping[str, Any]
Named = tuple[str, str]

NOTHING: Named = ("", "")
_LISTS = ("sensors", "vessels", "instruments")
_JUDGED = ("derived", "findings", "not_evaluated")
_OF_THE_MOTOR = ("motor_tests", "identification_run")
# Lists of an event whose elements name the piece they are about, and where that stands.
_NAMING = {"sensor_verifications": ("sensor", "sensors"), "vessel_checks": ("vessel", "vessels")}


class Pieces:
    """Tags and serial numbers of what one record is about."""

    def __init__(self, record: Document) -> None:
        self.snapshot: Document = record.get("snapshot") or {}
        self.event: Document = record.get("event") or {}
        self.judgement: Document = record.get("judgement") or {}

    def of(self, at: str) -> Named:
        """Tag and serial number of what stands at a JSON Pointer; two empty texts for no piece."""
        root, *steps = at.split("/")[1:] or [""]
        if root == "event":
            return self._of_event(steps)
        if root == "judgement":
            return self._of_judgement(steps)
        return self._of_plate(self.snapshot, steps if root == "snapshot" else [root, *steps])

    def _of_event(self, steps: list[str]) -> Named:
        part = steps[0] if steps else ""
        if part in _NAMING and len(steps) > 1:
            return self._named(part, steps)
        kind = "drive" if part == "settings" else "motor" if part in _OF_THE_MOTOR else "pump_set"
        return _plate(self.snapshot.get(kind) or self.snapshot.get("pump_set"))

    def _named(self, part: str, steps: list[str]) -> Named:
        field, listed = _NAMING[part]
        name = (_element(self.event.get(part), steps) or {}).get(field)
        pieces: Sequence[Document] = self.snapshot.get(listed) or ()
        for piece in pieces:
            if name and name in (piece.get("id"), piece.get("tag"), piece.get("serial")):
                return _plate(piece)
        return _plate(pieces[0] if len(pieces) == 1 and not name else {"tag": name})

    def _of_judgement(self, steps: list[str]) -> Named:
        if not steps or steps[0] not in _JUDGED:
            return NOTHING
        subject = (_element(self.judgement.get(steps[0]), steps) or {}).get("subject") or ""
        return self.of(subject) if not subject.startswith("/judgement") else NOTHING

    def _of_plate(self, plates: Document, steps: list[str]) -> Named:
        part = steps[0] if steps else ""
        if part in _LISTS:
            return _plate(_element(plates.get(part), steps))
        if part == "neighbours":
            near = _element(plates.get(part), steps) or {}
            return self._of_plate(near, steps[2:]) if len(steps) > 2 else _plate(None)
        if part in ("settings", "duty_points"):  # a neighbour's
            kind = "drive" if part == "settings" else "pump_set"
            return _plate(plates.get(kind) or plates.get("pump_set"))
        return _plate(plates.get(part)) if part != "site" else NOTHING


def _element(listed: Any, steps: list[str]) -> Any:
    index = int(steps[1]) if len(steps) > 1 and steps[1].isdigit() else None
    return listed[index] if listed and index is not None and index < len(listed) else None


def _plate(document: Any) -> Named:
    if not isinstance(document, Mapping):
        return NOTHING
    return str(document.get("tag") or ""), str(document.get("serial") or "")
