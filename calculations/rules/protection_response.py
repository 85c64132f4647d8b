"""Rule of tests that saw something act where nothing is set to."""

from collections.abc import Iterator
from contextlib import suppress

from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Shown
from calculations.rule import Rule, spaced
from calculations.rules.dry_run import DRY_RUN
from calculations.rules.power_return import AFTER_POWER, POWER_RETURN
from calculations.rules.protections import SET_BY, TESTS

ANSWERED = ("low_suction", "high_pressure", "low_pressure_burst")
"""Functions of the drive whose answer is a setting that no other rule names where it is none."""
READ_BY_DRIVE = (
    "regulating_sensor", "suction_sensor", "discharge_sensor", "flow_meter", "drive_estimate",
)  # fmt: skip
"""What only the drive answers: a switch may be wired to stop the pump without it."""


def _response(case: Case, place: str) -> Iterator[Finding]:
    function = case.word(f"{place}/function")
    if case.find(f"{place}/passed") is not True:
        return
    if function == "power_loss_restart":
        yield from _restarted(case, place)
    elif function in ANSWERED:
        yield from _answered(case, place, function)


def _answered(case: Case, place: str, function: str) -> Iterator[Finding]:
    limit = f"/settings/{SET_BY[function]}"
    if not case.is_(f"{limit}_response", "none"):
        return
    if not case.is_(f"{limit}_measured_by", *READ_BY_DRIVE):
        return
    if function == "low_suction":
        _wait(case, DRY_RUN)
    yield RESPONSE.finding("unset", "review", place, compared={}, function=spaced(function),
                           setting=spaced(SET_BY[function]))  # fmt: skip


def _restarted(case: Case, place: str) -> Iterator[Finding]:
    """A pump that was seen to come back has not stayed stopped."""
    delay = case.find(f"{place}/delay_measured")
    if delay is None or not case.is_(AFTER_POWER, "stay_stopped"):
        return
    _wait(case, POWER_RETURN)
    yield RESPONSE.finding(
        "restarted", "review", place,
        compared={"delay": delay, "set": Shown(spaced("stay_stopped"), "")},
    )  # fmt: skip


def _wait(case: Case, cause: Rule) -> None:
    """Raise `Waits` where another rule names the setting itself, and nobody accepted that.

    What that one lacks is its own to ask for: nothing of it is needed here.
    """
    known = cause.applies(case) and all(case.find(each) is not None for each in cause.needs)
    with suppress(Missing):
        if known and cause.id not in case.accepted and any(cause.check(case, cause.subject)):
            raise Waits(cause.id)


RESPONSE = Rule(
    id="protection.response",
    title="What a test saw act against what is set to act",
    severities=("review",),
    condition="Where a test of low suction, high pressure or low pressure was passed, a limit that "
    "is read from a sensor of the drive has an answer other than none; where a restart after a "
    "loss of power was timed, the pump is not set to stay stopped.",
    source="logic",
    each=TESTS,
    needs=("./function",),
    waits_for=("protection.failed",),
    applies=lambda case: bool(case.find(TESTS)) and not case.fixed_speed,
    check=_response,
    sentences={
        "unset": "The test of {function} was passed, but the {setting} is set to answer with "
        "nothing: what was seen to act is not what was left.",
        "restarted": "The test of the restart after a loss of power found the pump running again "
        "after {delay}, but it is set to {set}: what was tested is not what was left.",
    },
    remedies=dict.fromkeys(
        ("unset", "restarted"), "Settle what the drive is to do, set it, and test it as it is left."
    ),
)
