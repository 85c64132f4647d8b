"""Rule of a two-wire loop's load against what its supply and its transmitter leave for it."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, show
from calculations.rules.closeness import below
from calculations.units import Quantity

USUAL_LOOP_SUPPLY = 24.0
"""Voltage of a loop's supply where none is recorded [V]; common practice."""
LIVE_ZERO, WIDTH = 0.004, 0.016
"""Current at the lower end of a 4-20 mA loop, and how much more at its upper end [A]."""


def supply_voltage(case: Case, place: str) -> float:
    """Voltage of the loop's supply [V]: as recorded, else the usual one."""
    stated = case.find(f"{place}/loop_supply_voltage")
    return float(stated.si) if stated is not None else USUAL_LOOP_SUPPLY


def _is_two_wire(case: Case, place: str) -> bool:
    """Whether the loop's own supply feeds the transmitter, as far as is known."""
    fed = case.find(f"{place}/wiring") in (None, "two_wire")
    return fed and case.is_(f"{place}/output", "4-20 mA")


def _load(case: Case, place: str) -> Iterator[Finding]:
    asked = (f"{place}/loop_load", f"{place}/supply_voltage_minimum")
    if not _is_two_wire(case, place) or all(case.find(each) is None for each in asked):
        return
    load, minimum = case.require(*asked)
    left = max(supply_voltage(case, place) - minimum.si, 0.0)
    if load.si <= 0:
        return
    highest, fault = map(case.limit, ("sensor.loop-load.top", "sensor.loop-load.fault"))
    reach = left / load.si
    if not below(reach, fault):
        return
    short = below(reach, highest)
    stated = case.find(f"{place}/loop_supply_voltage")
    supply = stated if stated is not None else show(USUAL_LOOP_SUPPLY, "V")
    whose = "the supply's" if stated is not None else "the usual supply of"
    compared: dict[str, Shown | Quantity] = {
        "load": load,
        "minimum": minimum,
        **({"supply": stated} if stated is not None else {}),
        "reach": show(reach, "mA", 3),
    }
    yield LOAD.finding(
        "short" if short else "fault", _severity(case, place) if short else "note", place,
        compared=compared, limit=f"at least {show(highest if short else fault, 'mA')}",
        sensor=case.find(f"{place}/tag") or "The transmitter", stalls=_stalls(case, place, reach),
        whose=whose, volts=_words(supply), allowed=about(left / max(highest, fault), "ohm"),
        fault=show(fault, "mA"),
    )  # fmt: skip


def _words(supply: Shown | Quantity) -> str:
    return f"{supply.value} {supply.unit}"


def _severity(case: Case, place: str) -> Severity:
    """A stop only where the supply is known, and no rounding of what was entered explains it."""
    supply = case.find(f"{place}/loop_supply_voltage")
    if supply is None:
        return "review"
    load, minimum = case.require(f"{place}/loop_load", f"{place}/supply_voltage_minimum")
    left = max(supply.at_most - minimum.at_least, 0.0)
    return "stop" if below(left, case.limit("sensor.loop-load.top") * load.at_least) else "review"


def _stalls(case: Case, place: str, reach: float) -> str:
    """Where the signal stops to rise, as one reads it."""
    share = (reach - LIVE_ZERO) / WIDTH
    if share <= 0:
        return "there is no signal at all"
    ends = [case.find(f"{place}/{end}_range_value") for end in ("lower", "upper")]
    if None in ends:
        return f"nothing above {show(share, '%', 2)} of its range is seen"
    low, high = ends
    return f"nothing above {show(low.si + share * (high.si - low.si), high.unit, 3)} is seen"


LOAD = Rule(
    id="sensor.loop-load",
    title="Load of a two-wire loop against what supply and transmitter leave",
    severities=("stop", "review", "note"),
    condition="The loop's supply, less the voltage that a two-wire transmitter needs, drives 20 mA "
    "through the loop's load (stop below; review where no supply is recorded and 24 V are assumed, "
    "or the last digits explain it), and the 21 mA that tell a failure (note below).",
    source="Ohm's law; IEC 60381-1; NAMUR NE 43, secondary text; 24 V: common practice",
    each="/sensors",
    applies=lambda case: bool(case.find("/sensors")),
    check=_load,
    limits={
        "top": Limit(20, "mA", "that the loop drives", "higher", "retrieved", "IEC 60381-1"),
        "fault": Limit(21, "mA", "that it drives at a failure", "higher", "from memory"),
    },
    sentences={
        "short": "{sensor} needs {minimum}: of {whose} {volts} that leaves {reach} at "
        "most through {load}, so that {stalls}.",
        "fault": "{sensor} needs {minimum}: of {whose} {volts} that leaves {reach} at "
        "most through {load}, less than the {fault} by which a failed transmitter is told.",
    },
    remedies=dict.fromkeys(
        ("short", "fault"),
        "Bring the load of the loop to {allowed} or less, or feed it with more than {volts}.",
    ),
)
