"""Rule of what a verification says was adjusted, against its readings as left."""

from collections.abc import Iterator

from calculations.aspects import exchanges, verifying
from calculations.aspects.verifying import VERIFICATIONS
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule
from calculations.rules.sensor_readings import LEAST_POINTS, has_verifications


def _unadjusted(case: Case, place: str) -> Iterator[Finding]:
    adjusted = case.word(f"{place}/adjusted")
    found, left = case.find(f"{place}/as_found"), case.find(f"{place}/as_left")
    compared = {"adjusted": Shown(adjusted, "")}
    sensor = _tag(case, place)
    variant = None
    if adjusted != "none" and not left:
        variant = "no_readings"
    elif left and found and verifying.points_of(left) == verifying.points_of(found):
        variant = _identical(case, place, adjusted)
    elif adjusted == "none" and left and found:
        variant = "not_said"
    if variant is None and adjusted == "replaced" and _is_open_which(case, place):
        variant = "by_which"
    if variant is not None:
        yield UNADJUSTED.finding(variant, "review", place, compared=compared, sensor=sensor)


def _identical(case: Case, place: str, adjusted: str) -> str | None:
    """Readings as left that are those as found: nothing put right, or copied."""
    if _was_outside(case, place):
        return "identical"
    several = len(case.find(f"{place}/as_left")) >= LEAST_POINTS
    return "copied" if several and adjusted != "none" else None


def _is_open_which(case: Case, place: str) -> bool:
    """Whether nobody says which sensor came: of a repair `record.missing` asks for it."""
    if case.is_("/event/kind", "after_repair", "replacement") and not case.find("/event/replaced"):
        return False
    found = case.sensor(case.find(f"{place}/sensor"))
    return found is not None and not exchanges.named(case, found[0])


def _was_outside(case: Case, place: str) -> bool:
    return bool(verifying.check(case, place, "as_found").outside)


def _tag(case: Case, place: str) -> str:
    found = case.sensor(case.find(f"{place}/sensor"))
    return str(found[1].tag or found[1].serial) if found else "the sensor"


UNADJUSTED = Rule(
    id="record.unadjusted",
    title="Adjustment and readings as left agree",
    severities=("review",),
    condition="A sensor that was adjusted or replaced has readings as left, and they differ from "
    "those as found, as they do where an error was found; readings that differ say what was "
    "adjusted; of one that was replaced, the visit says which came.",
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
        "copied": "{sensor} is said to have been adjusted or replaced ({adjusted}), but all its "
        "readings as left are those as found, to the last digit: nothing was changed, or the "
        "readings were copied.",
        "by_which": "{sensor} was replaced, but the visit does not say by which: what was found "
        "belongs to the old one, what was left to the new one.",
        "not_said": "The readings of {sensor} as left differ from those as found, although nothing "
        "is said to have been adjusted.",
    },
    remedies={
        "no_readings": "Take the readings as left.",
        "identical": "Adjust the sensor and read again.",
        "copied": "Say that nothing was adjusted, or enter what was read as left.",
        "by_which": "Enter under what was replaced its tag, the old and the new serial number.",
        "not_said": "Say what was adjusted.",
    },
)
