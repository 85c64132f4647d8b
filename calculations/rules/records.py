"""Rules of the record itself: dates, serial numbers, adjustments, readings too good to be true."""

from collections.abc import Iterator
from datetime import datetime

from calculations.aspects import verifying
from calculations.aspects.verifying import VERIFICATIONS, Check
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule
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
    yield from _steps_outside(case, begun.at, ended.at if ended is not None else None)
    yield from _built_later(case, begun.at)


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
    condition="The visit ends after it begins, step tests lie within it, and the motor was built "
    "before it.",
    source="logic",
    subject="/event/performed_at",
    needs=("/event/performed_at",),
    applies=lambda case: case.event is not None,
    check=_dates,
    sentences={
        "ends_first": "The visit ends ({ended}) before it begins ({begun}).",
        "step_outside": "The step test at {time} lies outside the visit.",
        "built_later": "The motor's year {built} lies after the visit ({visit}).",
    },
    remedies=dict.fromkeys(("ends_first", "step_outside", "built_later"), "Correct the date."),
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


# -- serial numbers -------------------------------------------------------------------------------


def _registered(case: Case, resource: str | None, tag: str | None) -> tuple[str, str] | None:
    """Tag and serial number that the register has for what was exchanged."""
    if resource in ("pump", "motor", "drive"):
        found = case.find(f"/{resource}")
        listed = [found] if found is not None else []
    else:
        listed = list(case.find(f"/{resource}s") or ()) if resource in ("sensor", "vessel") else []
    for each in listed:
        same = tag in (None, each.tag) if len(listed) == 1 else tag is not None and tag == each.tag
        if same and each.serial:
            return str(each.tag or resource), str(each.serial)
    return None


def _serial(case: Case, place: str) -> Iterator[Finding]:
    replaced = case.require(place)[0]
    old, new = replaced.old_serial, replaced.new_serial
    if old and new and _same(old, new):
        yield SERIAL.finding(
            "unchanged", "review", place,
            compared={"old": Shown(old, ""), "new": Shown(new, "")},
        )  # fmt: skip
        return
    registered = _registered(case, replaced.resource, replaced.tag)
    if registered is None or not new or _same(registered[1], new):
        return
    variant = "not_entered" if old and _same(registered[1], old) else "other"
    yield SERIAL.finding(
        variant, "review", place,
        compared={"new": Shown(new, ""), "registered": Shown(registered[1], "")},
        tag=registered[0],
    )  # fmt: skip


def _same(first: str, second: str) -> bool:
    return "".join(first.split()).casefold() == "".join(second.split()).casefold()


SERIAL = Rule(
    id="record.serial",
    title="Serial numbers of what was exchanged against the register",
    severities=("review",),
    condition="The new serial number differs from the old one and is the one in the register.",
    source="logic",
    each="/event/replaced",
    applies=lambda case: bool(case.find("/event/replaced")),
    check=_serial,
    sentences={
        "unchanged": "Old and new serial number are both {old}.",
        "not_entered": "The new serial number is {new}, but the register still has {registered} "
        "at {tag}: what is judged here belongs to the old piece.",
        "other": "The new serial number is {new}, but the register has {registered} at {tag}.",
    },
    remedies={
        "unchanged": "Read both serial numbers again.",
        "not_entered": "Enter the new piece in the register, with its plate.",
        "other": "Read the serial number again, or correct the register.",
    },
)


# -- adjusted or not -------------------------------------------------------------------------------


def _unadjusted(case: Case, place: str) -> Iterator[Finding]:
    adjusted = case.word(f"{place}/adjusted")
    found, left = case.find(f"{place}/as_found"), case.find(f"{place}/as_left")
    compared = {"adjusted": Shown(adjusted, "")}
    sensor = _tag(case, place)
    if adjusted != "none" and not left:
        yield UNADJUSTED.finding("no_readings", "review", place, compared=compared, sensor=sensor)
    elif left and found and _readings(left) == _readings(found) and _was_outside(case, place):
        yield UNADJUSTED.finding("identical", "review", place, compared=compared, sensor=sensor)
    elif adjusted == "none" and left and found and _readings(left) != _readings(found):
        yield UNADJUSTED.finding("not_said", "review", place, compared=compared, sensor=sensor)


def _readings(points: list[object]) -> list[tuple[object, ...]]:
    names = ("direction", "applied", "signal", "indicated")
    return [tuple(getattr(point, each) for each in names) for point in points]


def _was_outside(case: Case, place: str) -> bool:
    return bool(verifying.check(case, place, "as_found").outside)


def _tag(case: Case, place: str) -> str:
    found = case.sensor(case.find(f"{place}/sensor"))
    return str(found[1].tag or found[1].serial) if found else "the sensor"


UNADJUSTED = Rule(
    id="record.unadjusted",
    title="Adjustment and readings as left agree",
    severities=("review",),
    condition="A sensor that was adjusted has readings as left; readings as left differ from those "
    "as found where an error was found; readings that differ say what was adjusted.",
    source="logic",
    each=VERIFICATIONS,
    needs=("./adjusted",),
    applies=has_verifications,
    check=_unadjusted,
    sentences={
        "no_readings": "{sensor} was adjusted ({adjusted}), but there are no readings as left: how "
        "it was left is not known.",
        "identical": "{sensor} was found out of tolerance, and its readings as left are the same "
        "as found: nothing was put right, or the readings were copied.",
        "not_said": "The readings of {sensor} as left differ from those as found, although nothing "
        "is said to have been adjusted.",
    },
    remedies={
        "no_readings": "Take the readings as left.",
        "identical": "Adjust the sensor and read again.",
        "not_said": "Say what was adjusted.",
    },
)


# -- too perfect ----------------------------------------------------------------------------------


def _too_perfect(case: Case, place: str) -> Iterator[Finding]:
    found = verifying.check(case, place, "as_found")
    if len(found.readable) >= LEAST_POINTS and _fine(case, found) and not any(found.errors):
        yield TOO_PERFECT.finding(
            "zero", "note", place,
            compared={}, sensor=name(case, found), count=len(found.readable),
        )  # fmt: skip


def _fine(case: Case, found: Check) -> bool:
    """Whether the readings have digits enough to show an error of a tenth of the tolerance."""
    finest = max(point.reading_rounding for point in found.readable)
    return finest <= 0.1 * found.tolerance * found.span


TOO_PERFECT = Rule(
    id="record.too-perfect",
    title="Readings too good to be read",
    severities=("note",),
    condition="The errors as found are not all exactly zero, where the readings have digits enough "
    "to show one.",
    source="common practice, no source",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_too_perfect,
    sentences={
        "zero": "All {count} readings of {sensor} are exact to the last digit: were they read, or "
        "computed?",
    },
)

RULES = (DATES, ISOLATION, SERIAL, UNADJUSTED, TOO_PERFECT)
