"""Rules of the record itself: dates, serial numbers, adjustments, readings too good to be true."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from calculations.aspects import history, verifying
from calculations.aspects.verifying import VERIFICATIONS, Check, points_of
from calculations.case import Case, Waits
from calculations.findings import Finding, Shown
from calculations.inputs.base import Moment
from calculations.inputs.event import Event
from calculations.inputs.sensor import Instrument
from calculations.rule import Limit, Rule, about, show
from calculations.rules.closeness import above
from calculations.rules.sensor_readings import has_verifications, name

LEAST_POINTS = 4


# -- dates --------------------------------------------------------------------------------------


def _dates(case: Case, place: str) -> Iterator[Finding]:
    begun = case.require("/event/performed_at")[0]
    ended = case.find("/event/performed_until")
    if ended is not None and ended.at < begun.at:
        yield DATES.finding(
            "ends_first", "review", "/event/performed_until",
            compared={"begun": Shown(begun, ""), "ended": Shown(ended, "")},
        )  # fmt: skip
        return
    yield from _too_long(case, begun, ended)
    yield from _steps_outside(case, begun.at, ended.at if ended is not None else None)
    yield from _built_later(case, begun.at)
    yield from _device_clock(case, begun)


def _too_long(case: Case, begun: Moment, ended: Moment | None) -> Iterator[Finding]:
    longest = case.limit("record.dates.longest")
    lasted = (ended.at - begun.at).total_seconds() if ended is not None else 0.0
    if ended is not None and above(lasted, longest):
        yield DATES.finding(
            "too_long", "review", "/event/performed_until",
            compared={"begun": Shown(begun, ""), "ended": Shown(ended, "")},
            limit=f"at most {show(longest, 'd')}", lasted=about(lasted, "d"),
        )  # fmt: skip


def _device_clock(case: Case, begun: Moment) -> Iterator[Finding]:
    sent = case.find("/event/device_time")
    slack = case.limit("record.dates.clock")
    if sent is not None and above((begun.at - sent.at).total_seconds(), slack):
        yield DATES.finding(
            "sent_first", "review", "/event/device_time",
            compared={"sent": Shown(sent, ""), "begun": Shown(begun, "")},
            limit=f"at most {show(slack, 'h')} before",
        )  # fmt: skip


def _steps_outside(case: Case, begun: datetime, ended: datetime | None) -> Iterator[Finding]:
    for index, step in enumerate(case.find("/event/step_tests") or ()):
        if step.time is None:
            continue
        if step.time.at < begun or (ended is not None and step.time.at > ended):
            yield DATES.finding(
                "step_outside", "review", f"/event/step_tests/{index}",
                compared={"time": Shown(step.time, "")},
            )  # fmt: skip


def _built_later(case: Case, begun: datetime) -> Iterator[Finding]:
    built = case.find("/motor/year_built")
    if built is not None and built > begun.year:
        yield DATES.finding(
            "built_later", "review", "/motor/year_built",
            compared={"built": Shown(str(built), ""), "visit": Shown(str(begun.year), "")},
        )  # fmt: skip


DATES = Rule(
    id="record.dates",
    title="Dates and times in order",
    severities=("review",),
    condition="The visit ends after it begins, within 14 days; step tests lie within it, the motor "
    "was built before it, and the device did not send it before it began.",
    source="logic; 14 days: common practice, no source",
    subject="/event/performed_at",
    needs=("/event/performed_at",),
    applies=lambda case: case.event is not None,
    check=_dates,
    limits={
        "longest": Limit(14, "d", "of one visit", "lower", "common practice"),
        "clock": Limit(1, "h", "of the device's clock", "lower", "common practice"),
    },
    sentences={
        "too_long": "The visit lasts {lasted}, from {begun} to {ended}: several visits, or a slip "
        "in a date.",
        "sent_first": "The device sent this at {sent} by its own clock, before the visit began "
        "({begun}): its clock is wrong, and with it perhaps the times of the visit.",
        "ends_first": "The visit ends ({ended}) before it begins ({begun}).",
        "step_outside": "The step test at {time} lies outside the visit.",
        "built_later": "The motor's year {built} lies after the visit ({visit}).",
    },
    remedies=dict.fromkeys(("ends_first", "step_outside", "built_later"), "Correct the date.")
    | {
        "too_long": "Correct the date, or enter each visit by itself.",
        "sent_first": "Set the device's clock, and check the times of the visit.",
    },
)


# -- in service -----------------------------------------------------------------------------------

PIECES = ("/site", "/pump_set", "/pump", "/motor", "/drive", "/regulating_sensor",
          "/suction_sensor", "/flow_meter", "/level_sensor")  # fmt: skip


def _pieces(case: Case) -> Iterator[str]:
    """Places of what the visit was about: the set with its sensors, what was checked and used."""
    yield from PIECES
    for each in case.find(VERIFICATIONS) or ():
        found = case.sensor(each.sensor)
        if found is not None:
            yield found[0]
    for named in case.find("/event/instruments") or ():
        used = case.instrument(named)
        if used is not None:
            yield used[0]


def _in_service(case: Case, place: str) -> Iterator[Finding]:
    begun = case.require("/event/performed_at")[0]
    ended = case.find("/event/performed_until") or begun
    first, last = begun[:10], ended[:10]  # the days where the visit was
    if last < first:
        raise Waits("record.dates")
    off: dict[str, str] = {}
    for pointer in _pieces(case):
        told = _when(case.find(pointer), first, last)
        if told:
            off.setdefault(case.place(pointer), told)
    if off:
        yield IN_SERVICE.finding(
            "off", "review", next(iter(off)) if len(off) == 1 else place,
            compared={"day": Shown(first, "")}, pieces="; ".join(off.values()),
        )  # fmt: skip


def _when(piece: Any, first: str, last: str) -> str:
    """What a piece is called and when it is in service, if that is not on the day."""
    if piece is None:
        return ""
    since = None if isinstance(piece, Instrument) else piece.in_service_from
    until = piece.out_of_service_on
    if since is not None and since > last:
        return f"{_called(piece)} (from {since})"
    return f"{_called(piece)} (to {until})" if until is not None and until < first else ""


def _called(piece: Any) -> str:
    return next((getattr(piece, each) for each in NAMES if getattr(piece, each, None)), "one piece")


NAMES = ("tag", "code", "serial")

IN_SERVICE = Rule(
    id="record.in-service",
    title="Pieces in service on the day of the visit",
    severities=("review",),
    condition="Site, pump set, its parts and sensors, what was verified and the instruments used "
    "were in service on the day of the visit; the first and the last day count.",
    source="logic",
    subject="/event/performed_at",
    needs=("/event/performed_at",),
    applies=lambda case: case.event is not None,
    check=_in_service,
    sentences={"off": "On the day of the visit ({day}) these were not in service: {pieces}."},
    remedies={"off": "Correct the date of the visit, or the days in service in the register."},
)


# -- isolation ------------------------------------------------------------------------------------


def _isolation(case: Case, place: str) -> Iterator[Finding]:
    yield ISOLATION.finding("no", "stop", place, compared={})


ISOLATION = Rule(
    id="record.isolation",
    title="Machine isolated before it was worked on",
    severities=("stop",),
    condition="The question whether isolation was confirmed is not answered with no. Left open, it "
    "is missing.",
    source="29 CFR 1910.147(d), 1910.333(b): isolated, locked and proved before work",
    subject="/event/isolation_confirmed",
    applies=lambda case: case.find("/event/isolation_confirmed") is False,
    check=_isolation,
    sentences={
        "no": "Isolation was answered with no: the machine was not shown to be locked out and dead "
        "before it was worked on.",
    },
    remedies={
        "no": "Isolate, lock, prove dead, and answer again; where nothing was opened or touched, "
        "say who decided so and why.",
    },
)


# -- too perfect ----------------------------------------------------------------------------------


EXACT = 1e-9
"""Error [1, of span] that conversion of units alone leaves of none."""


def _too_perfect(case: Case, place: str) -> Iterator[Finding]:
    found = verifying.check(case, place, "as_found")
    before = _before(case, found)
    if before is not None and len(found.readable) >= LEAST_POINTS:
        yield TOO_PERFECT.finding(
            "copied", "note", place,
            compared={"day": Shown(before, "")}, sensor=name(case, found), count=len(found.points),
        )  # fmt: skip
        return
    exact = all(abs(error) < EXACT for error in found.errors)
    if len(found.readable) >= LEAST_POINTS and _fine(case, found) and exact:
        yield TOO_PERFECT.finding(
            "zero", "note", place,
            compared={}, sensor=name(case, found), count=len(found.readable),
        )  # fmt: skip


def _before(case: Case, found: Check) -> str | None:
    """The day of the first or last record, if the sensor was found the same then, to the digit."""
    others = (case.earlier, history.sealed(case, case.beside.last))
    return next((day for other in others if other and (day := _day_of(case, other, found))), None)


def _day_of(case: Case, earlier: Case, found: Check) -> str | None:
    """The day of a record whose readings of the same sensor are these."""
    event, read = earlier.event, case.find(f"{found.place}/as_found")
    if event is None or event.performed_at is None:
        return None
    names = {getattr(case.require(found.sensor)[0], each) for each in ("id", "tag", "serial")}
    for each in event.sensor_verifications or ():
        known = earlier.sensor(each.sensor)
        ours = known is not None and names & {known[1].id, known[1].tag, known[1].serial} - {None}
        states = ("as_left", "as_found")
        same = any(points_of(getattr(each, state) or []) == points_of(read) for state in states)
        if ours and same and _is_another_visit(case, event):
            return event.performed_at[:10]
    return None


def _is_another_visit(case: Case, event: Event) -> bool:
    return case.event is not None and case.event.performed_at != event.performed_at


def _fine(case: Case, found: Check) -> bool:
    """Whether the readings have digits enough to show an error of a tenth of the tolerance."""
    finest = max([point.reading_rounding for point in found.readable])
    return not above(finest, 0.1 * found.tolerance * found.span)


TOO_PERFECT = Rule(
    id="record.too-perfect",
    title="Readings too good to be read",
    severities=("note",),
    condition="The errors as found are not all exactly zero, where the readings have digits enough "
    "to show one; and they are not to the digit those of the set's first or last record.",
    source="common practice, no source",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_too_perfect,
    sentences={
        "copied": "All {count} readings of {sensor} are to the digit those of {day}: were they "
        "read, or copied?",
        "zero": "All {count} readings of {sensor} are exact to the last digit: were they read, or "
        "computed?",
    },
)
