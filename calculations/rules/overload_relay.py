"""Rule of the overload relay of a motor without a drive, against its plate."""

from collections.abc import Iterator
from math import sqrt

from calculations import overload
from calculations.aspects import load
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity
from calculations.overload import SERVICE_FACTOR_FOR_HIGHER_TRIP as MARKED
from calculations.rule import Limit, Rule, percent, show
from calculations.rules.closeness import Apart, above, apart_from, rounding

RULE = "motor.overload-relay"
SETTING, FACTOR = "/settings/overload_current", "/motor/service_factor"
UNITED_STATES = (None, "us_nec")
"""Practices by whose code a relay may trip higher; the most generous where none is known."""

IN_DELTA = 0.03
"""How near 1/sqrt(3) of the plate is that of a relay inside a star-delta starter [1]."""


HOLDS = 0.05
"""Above its setting [1] up to which a relay does not trip: IEC 60947-4-1, from memory."""


TOLD = 0.05
"""Above what the plate allows [1] from which the current itself is told."""


def _applies(case: Case) -> bool:
    return case.fixed_speed and case.settings is not None


def limits_of(case: Case) -> tuple[float, float]:
    """Currents [A] above which a relay's setting is questioned, and must not stay."""
    factor = case.find(FACTOR)
    return _limits(case, None if factor is None else factor.si)


def _limits(case: Case, factor: float | None) -> tuple[float, float]:
    plate = case.si("/rating/current")
    if case.is_("/site/electrical_practice", "canadian"):
        own = "canada-marked" if factor is not None and factor >= MARKED else "canada"
        over, beyond = (case.limit(f"{RULE}.{each}") for each in (own, "canada-beyond"))
        return plate * (1 + over), plate * (1 + over + beyond)
    if case.find("/site/electrical_practice") in UNITED_STATES:
        found = overload.separate_device_limit(nameplate_current=plate, service_factor=factor)
        return found.maximum, found.raised
    over, far = (case.limit(f"{RULE}.{each}") for each in ("review", "stop"))
    return plate * (1 + over), plate * (1 + far)


def _factor_where_it_decides(case: Case, amperes: float) -> None:
    """`Missing` where a service factor that nobody recorded would permit what is set."""
    if case.find(FACTOR) is not None:
        return
    between = zip(_limits(case, None), _limits(case, MARKED), strict=True)
    if any(above(amperes, low) and not above(amperes, high) for low, high in between):
        raise Missing(FACTOR)


def _relay(case: Case, place: str) -> Iterator[Finding]:
    entered, plate = case.quantity(SETTING), case.quantity("/rating/current")
    amperes = entered.si * plate.si if entered.kind == "ratio" else entered.si
    _factor_where_it_decides(case, amperes)
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
    yield from _trips(case, place, found, share)


def _trips(case: Case, place: str, found: Apart, share: float) -> Iterator[Finding]:
    """A relay that the motor's current is likely to trip.

    Where the current itself is beyond what the plate allows, that is told, and not the relay.
    """
    reading = load.highest_reading(case)
    entered, plate = case.quantity(SETTING), case.quantity("/rating/current")
    if reading is None or found.near(1 / sqrt(3), IN_DELTA):
        return
    drawn = reading[1]
    if not apart_from(entered, drawn.si / (1 + HOLDS) / share).under(0):
        return
    too_low = found.under(0)
    if not too_low and above(drawn.si, load.allowed_current(case) * (1 + TOLD)):
        return
    yield RELAY.finding(
        "trips" if too_low else "at_plate", "review", place,
        compared={"set": entered, "drawn": drawn, "plate": plate},
    )  # fmt: skip


RELAY = Rule(
    id=RULE,
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
            25,
            "%",
            "the same with a service factor of 1.15 and more",
            "lower",
            "from memory",
            "CSA C22.1 28-306",
        ),
        "canada-beyond": Limit(
            15,
            "%",
            "of the plate, beyond these, that must not stay",
            "lower",
            "common practice",
            "after NFPA 70 430.32(C)",
        ),
    },
    sentences={
        "over": "The overload relay is set to {set}, {share} of the plate's {plate}; at most "
        "{highest} protect the motor.",
        **dict.fromkeys(
            ("trips", "at_plate"),
            "The overload relay is set to {set}, but the motor drew {drawn}: it is likely to trip "
            "in service.",
        ),
    },
    remedies={
        **dict.fromkeys(
            ("over", "trips"),
            "Isolate, prove dead, set the relay to the plate's {plate}, and find out why where "
            "that is not enough.",
        ),
        "at_plate": "Find out why the motor draws more than its plate's {plate}: a pump beyond its "
        "curve, low voltage or, isolated and proven dead, rubbing parts. Do not raise the relay "
        "before that is known.",
    },
)
