"""Rules of what the drive does at a fault: lost phases, an earth fault, a slow overload."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, each_alone, show
from calculations.rules.closeness import above
from calculations.rules.scope import has_drive, is_immersed

CLASS = "/settings/overload_class"
FAULTS = {
    "input_phase": "/settings/input_phase_loss_response",
    "output_phase": "/settings/output_phase_loss_response",
    "earth": "/settings/earth_fault_response",
}
NO_FAULT_CURRENT = ("unearthed", "impedance_earthed")
"""Supplies on which a first earth fault is watched by something else, and meant to run on."""

# -- responses ------------------------------------------------------------------------------------


def _is_due(case: Case, fault: str) -> bool:
    """Whether somebody would want the response: of a lost phase only where there are three."""
    if fault == "input_phase":
        return bool(case.require("/site/supply_phases")[0] != 1)
    if fault == "output_phase":
        return not case.is_("/motor/phases", 1)
    return not case.is_("/site/supply_earthing", *NO_FAULT_CURRENT)


def _responses(case: Case, place: str) -> Iterator[Finding]:
    return each_alone(*(_response(case, fault) for fault in FAULTS))


def _response(case: Case, fault: str) -> Iterator[Finding]:
    setting = FAULTS[fault]
    if case.is_(setting, "none") and _is_due(case, fault):
        yield RESPONSES.finding(fault, "review", case.place(setting), compared={})


RESPONSES = Rule(
    id="drive.fault-responses",
    title="Response to lost phases and to an earth fault",
    severities=("review",),
    condition="The drive responds to a lost phase at its input (of a three-phase supply) and at "
    "its output, and to an earth fault (where the supply lets a current flow at the first one).",
    source="common practice, no source",
    subject="/settings/output_phase_loss_response",
    applies=lambda case: has_drive(case) and any(case.find(each) for each in FAULTS.values()),
    check=_responses,
    sentences={
        "input_phase": "The drive does not respond to a lost phase of its supply: on two phases "
        "its rectifier and link wear out fast.",
        "output_phase": "The drive does not respond to a lost phase at its output: the motor hums "
        "on two phases and burns, or does not start.",
        "earth": "The drive does not respond to an earth fault of motor or cable: the frame can "
        "stand under voltage, and the fault feeds a fire.",
    },
    remedies=dict.fromkeys(FAULTS, "Set the response to trip, or say what else protects."),
)

# -- trip class -----------------------------------------------------------------------------------


def is_well_motor(case: Case) -> bool:
    """Whether the motor is known to be immersed in a borehole."""
    return is_immersed(case) and case.is_("/pump/type", "submersible_well")


def _trip_class(case: Case, place: str) -> Iterator[Finding]:
    found = case.word(CLASS)
    longest = case.limit("drive.overload-class.well-motor")
    if above(float(found), longest):
        yield TRIP_CLASS.finding(
            "slow", "review", place,
            compared={"class": Shown(found, "")},
            limit=f"at most {show(longest, 's')}", longest=show(longest, "s"),
        )  # fmt: skip


TRIP_CLASS = Rule(
    id="drive.overload-class",
    title="Trip class of the overload of a well motor",
    severities=("review",),
    condition="The overload of an immersed well motor is of class 10 or faster: it trips within "
    "10 s at 7.2 times its current.",
    source="trip classes: IEC 60947-4-1, from memory; class 10 for well motors: common practice, "
    "the motor's manual governs",
    subject=CLASS,
    needs=(CLASS,),
    applies=lambda case: has_drive(case) and is_well_motor(case) and case.find(CLASS) is not None,
    check=_trip_class,
    limits={
        "well-motor": Limit(10, "s", "trip time at 7.2 times the current, well motor", "lower",
                            "common practice"),
    },
    sentences={
        "slow": "The overload is of class {class}: a well motor that is blocked holds little heat "
        "and does not last so long; {longest} are common practice.",
    },
    remedies={"slow": "Set class 10 or faster, unless the motor's manual permits a slower one."},
)  # fmt: skip
