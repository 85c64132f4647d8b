"""The values of a record that trends, due dates and intervals need.

They follow from the record's text alone, so that the table can be rebuilt from it.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from calculations.inputs.base import Moment
from calculations.inputs.reading import InvalidDocument
from calculations.units import Quantity, kinds_of
from records.models import Record, RecordedValue

Content = Mapping[str, Any]


def keep(record: Record, content: Content) -> None:
    """Write the values of a record that was just sealed."""
    RecordedValue.objects.bulk_create(values(record, content))


def values(record: Record, content: Content) -> list[RecordedValue]:
    """The values that a record's text holds: derived values and work performed."""
    common = {
        "record": record,
        "contractor_id": record.contractor_id,
        "client_id": record.client_id,
        "site_id": record.site_id,
        "at": Moment(content["event"]["performed_at"]).at,
    }
    return [RecordedValue(**common, **found) for found in _found(content)]


def _found(content: Content) -> Iterator[dict[str, Any]]:
    for derived in content["judgement"]["derived"]:
        piece = _piece(content["snapshot"], content["event"], derived["subject"])
        si = _si(derived["value"], derived["unit"])
        yield {**piece, "name": derived["id"], "subject": derived["subject"], "si": si}
    for index, test in enumerate(content["event"].get("protection_tests") or ()):
        if test.get("passed") is not None:
            piece = _piece(content["snapshot"], content["event"], "")
            yield {
                **piece,
                "name": f"protection.{test['function']}",
                "subject": f"/event/protection_tests/{index}",
                "word": "passed" if test["passed"] else "failed",
            }


def _si(value: str, unit: str) -> float | None:
    kinds = kinds_of(unit)
    try:
        return Quantity.of(value, unit, *kinds).si if kinds else None
    except (ValueError, InvalidDocument):
        return None


def _piece(snapshot: Content, event: Content, subject: str) -> dict[str, str]:
    """Tag and serial number of the piece of equipment that a subject is about."""
    steps = subject.split("/")[1:]
    if steps[:1] == ["sensors"] and len(steps) > 1:
        return _plate(snapshot["sensors"][int(steps[1])])
    if steps[:2] == ["event", "sensor_verifications"] and len(steps) > 2:
        named = event["sensor_verifications"][int(steps[2])].get("sensor")
        return _plate(_sensor(snapshot, named))
    if steps[:1] and steps[0] in ("pump", "motor", "drive"):
        return _plate(snapshot.get(steps[0], {}))
    return _plate(snapshot.get("pump_set", snapshot["site"]))


def _sensor(snapshot: Content, named: str | None) -> Content:
    sensors = snapshot["sensors"]
    found = (s for s in sensors if named in (s["id"], s.get("tag"), s.get("serial")))
    return next(found, sensors[0] if len(sensors) == 1 else {})


def _plate(document: Content) -> dict[str, str]:
    return {
        "tag": document.get("tag") or document.get("code") or "",
        "serial": document.get("serial") or "",
    }
