"""What an event's document needs as a whole before it is kept, beside what its fields allow."""

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from django.utils import timezone

from calculations.inputs.base import Moment
from calculations.inputs.reading import Problem, pointer

REQUIRED = ("kind", "site", "performed_at")
FIXED = ("id", "site", "pump_set", "kind")

# Nobody has worked yet at a time to come; clocks differ a little.
CLOCK_TOLERANCE = timedelta(minutes=10)
# A device's own clock may be a day off, and is kept as it is.
DEVICE_TOLERANCE = timedelta(days=2)
EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)


def problems(given: Any) -> list[Problem]:
    """Everything that stands against the document as a whole."""
    if not isinstance(given, Mapping):
        return []
    return [*_missing(given), *_times(given), *_doubled(given)]


def fixed(held: Mapping[str, Any], patch: Mapping[str, Any]) -> list[Problem]:
    """What a patch would change of what an event is for ever."""
    return [
        Problem(f"/{name}", "fixed", "this does not change: post another event")
        for name in FIXED
        if name in patch and patch[name] != held.get(name)
    ]


def _missing(given: Mapping[str, Any]) -> Iterator[Problem]:
    for name in REQUIRED:
        if given.get(name) is None:
            yield Problem(f"/{name}", "required", "this field is required")
    if given.get("pump_set") is None and not given.get("sensors"):
        words = "expected the pump set, or the sensors that the visit was for"
        yield Problem("/pump_set", "required", words)
    if given.get("corrects") and not given.get("correction_reason"):
        words = "a record that replaces another says why"
        yield Problem("/correction_reason", "required", words)


def _times(given: Mapping[str, Any]) -> Iterator[Problem]:
    now = timezone.now()
    for name, tolerance in (
        ("performed_at", CLOCK_TOLERANCE),
        ("performed_until", CLOCK_TOLERANCE),
        ("device_time", DEVICE_TOLERANCE),
    ):
        at = _moment(given.get(name))
        if at is not None and not EARLIEST <= at <= now + tolerance:
            words = f"expected a time from {EARLIEST.year} on that has come, got {given[name]}"
            yield Problem(f"/{name}", "out_of_range", words)
    began, ended = _moment(given.get("performed_at")), _moment(given.get("performed_until"))
    if began is not None and ended is not None and ended < began:
        words = f"expected a time after performed_at, {given['performed_at']}"
        yield Problem("/performed_until", "order", words)


def _moment(given: Any) -> datetime | None:
    """The instant; None for what reading the field refuses."""
    try:
        return Moment.read(given).at
    except ValueError:
        return None


def _doubled(given: Mapping[str, Any]) -> Iterator[Problem]:
    """Elements of one list with the same id: nobody could say which of them is meant."""
    for name, value in given.items():
        if isinstance(value, list):
            seen: set[Any] = set()
            for index, each in enumerate(value):
                identity = each.get("id") if isinstance(each, Mapping) else None
                if isinstance(identity, str) and identity in seen:
                    words = (
                        f"expected an id of its own: {identity[:80]} stands in this list already"
                    )
                    yield Problem(pointer(name, index, "id"), "doubled", words)
                seen.add(identity if isinstance(identity, str) else None)
