"""Rule of the overload relay of a motor without a drive, against its plate."""

from collections.abc import Iterator
from math import sqrt

from calculations import overload
from calculations.aspects import load
from calculations.case import Case
from calculations.findings import Finding, Severity
from calculations.overload import SERVICE_FACTOR_FOR_HIGHER_TRIP as MARKED
from calculations.rule import Limit, Rule, percent, show
from calculations.rules.closeness import above, apart_from, rounding
from calculations.units import Quantity

SETTING = "/settings/overload_current"
UNITED_STATES = (None, "us_nec")
"""Practices by whose code a relay may trip higher; the most generous where none is known."""

IN_DELTA = 0.03
"""How near 1/sqrt(3) of the plate is that of a relay inside a star-delta starter [1]."""


HOLDS = 0.05
"""Above its setting [1] up to which a relay does not trip: IEC 60947-4-1, from memory."""


def _applies(case: Case) -> bool:
    return case.fixed_speed and case.settings is not None


def limits_of(case: Case) -> tuple[float, float]:
    """Currents [A] above which a relay's setting is questioned, and must not stay."""
    factor = case.find("/motor/service_factor")
    if case.is_("/site/electrical_practice", "canadian"):
        return _in_canada(case, factor is not None and factor.si >= MARKED)
    if case.find("/site/electrical_practice") in UNITED_STATES:
        found = overload.separate_device_limit(
            nameplate_current=case.si("/rating/current"),
            service_factor=factor.si if factor is not None else None,
        )
        return found.maximum, found.raised
    plate = load.highest_plate_current(case).si
    over, far = (case.limit(f"motor.overload-relay.{name}") for name in ("review", "stop"))
    return plate * (1 + over), plate * (1 + far)


FACTOR = "/motor/service_factor"


def _factor_where_it_decides(case: Case, entered: Quantity, plate: Quantity) -> None:
    """`Missing` where a service factor that nobody recorded would permit what is set."""
    asked_for = case.find("/site/electrical_practice") in (None, "us_nec")
    if not asked_for or case.find(FACTOR) is not None:
        return
    share = entered.si if entered.kind == "ratio" else entered.si / plate.si
    without, with_factor = (
        overload.separate_device_limit(nameplate_current=1.0, service_factor=factor)
        for factor in (None, overload.SERVICE_FACTOR_FOR_HIGHER_TRIP)
    )
    between = (
        (without.maximum, with_factor.maximum),
        (without.raised, with_factor.raised),
    )
    if any(above(share, low) and not above(share, high) for low, high in between):
        case.require(FACTOR)


def _in_canada(case: Case, marked: bool) -> tuple[float, float]:
    plate = case.si("/rating/current")
    own = case.limit(f"motor.overload-relay.canada{'-marked' if marked else ''}")
    beyond = case.limit("motor.overload-relay.canada-beyond")
    return plate * (1 + own), plate * (1 + own + beyond)


def _relay(case: Case, place: str) -> Iterator[Finding]:
    entered, plate = case.quantity(SETTING), case.quantity("/rating/current")
    _factor_where_it_decides(case, entered, plate)
    amperes = entered.si * plate.si if entered.kind == "ratio" else entered.si
    highest, never = limits_of(case)
    share = amperes / entered.si
    found = apart_from(entered, plate.si / share, rounding(plate))
    severity: Severity | None = None
    if found.over(never / plate.si - 1):
        severity = "stop"
    elif found.over(highest / plate.si - 1):
        severity = "review"
    if severity:
        yield RELAY.finding(
            "over", severity, place,
            compared={"set": entered, "plate": plate, "highest": show(highest, "A")},
            limit=f"{percent(highest / plate.si)} review, {percent(never / plate.si)} stop",
            share=percent(found.ratio),
        )  # fmt: skip
        return
    reading = load.highest_reading(case)
    if (
        reading
        and apart_from(entered, reading[1].si / (1 + HOLDS) / share).under(0)
        and not found.near(1 / sqrt(3), IN_DELTA)
    ):
        yield RELAY.finding(
            "trips", "review", place,
            compared={"set": entered, "drawn": reading[1], "plate": plate},
        )  # fmt: skip


RELAY = Rule(
    id="motor.overload-relay",
    title="Overload relay of a motor without a drive",
    severities=("stop", "review"),
    condition="Without a drive the overload relay is set to the plate's current: in the United "
    "States and in Canada at most 115 % of it, 125 % with a service factor of 1.15 and more (must "
    "not stay above 130 or 140 %); elsewhere above 105 % is questioned and above 125 % must "
    "not stay. Where the motor drew more than 105 % of it, it trips, except inside the delta of a "
    "star-delta starter.",
    source="NFPA 70 430.32(A)(1) and (C); in Canada CSA C22.1 28-306, from memory, and beyond it "
    "common practice after the same; elsewhere IEC 60947-4-1 (a relay trips from 105 to 120 % "
    "of its setting) and common practice, from memory",
    subject=SETTING,
    needs=(SETTING, "/rating/current"),
    waits_for=("motor.power-balance",),
    applies=_applies,
    check=_relay,
    limits={
        "review": Limit(5, "%", "above the plate, outside North America", "lower", "from memory"),
        "stop": Limit(25, "%", "the same that must not stay", "lower", "common practice"),
        "canada": Limit(
            15, "%", "above the plate, in Canada", "lower", "from memory", "CSA C22.1 28-306"
        ),
        "canada-marked": Limit(
            25, "%", "the same with a service factor of 1.15 and more", "lower", "from memory",
            "CSA C22.1 28-306",
        ),
        "canada-beyond": Limit(
            15, "%", "of the plate, beyond these, that must not stay", "lower", "common practice",
            "after NFPA 70 430.32(C)",
        ),
    },
    sentences={
        "over": "The overload relay is set to {set}, {share} of the plate's {plate}; at most "
        "{highest} protect the motor.",
        "trips": "The overload relay is set to {set}, but the motor drew {drawn}: it is likely "
        "to trip in service.",
    },
    remedies=dict.fromkeys(("over", "trips"), "Set the relay to the plate's {plate}, and find out "
                           "why where that is not enough."),
)  # fmt: skip
