"""Rule of the winding's resistance against what the motor's plate leaves for its losses."""

from collections.abc import Iterator

from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, entered, percent, roughly
from calculations.rules.closeness import above, below
from calculations.rules.drive_flux import require_rating
from calculations.rules.mix_ups import in_unit, moved
from calculations.rules.winding import TEST, has_three_phases
from calculations.units import Quantity

VALUES = f"{TEST}/values"
IDENTIFIED = "/event/identification_run/result_resistance"
USUAL = 0.35
"""Loss of the stator's winding over all losses of a motor [1]; common practice, no source."""


def _losses(case: Case) -> float:
    """All losses at the rating [W]: taken less given."""
    power, efficiency = case.require("/rating/power", "/rating/efficiency")
    return float(power.si * (1 / efficiency.si - 1))


def winding_loss(current: float, resistance: float) -> float:
    """Loss of a three-phase winding [W] at a line current [A], by the resistance between two
    terminals [ohm], in star and in delta. IEC 60034-2-1, 1.5 I2 R."""
    return 1.5 * current**2 * resistance


def _level(case: Case, place: str) -> Iterator[Finding]:
    require_rating(case)
    read: list[Quantity] = case.require(VALUES)[0]
    losses, current = _losses(case), case.si("/rating/current")
    mean = sum(each.si for each in read) / len(read)
    if mean <= 0 or losses <= 0:
        raise Missing(VALUES if mean <= 0 else "/rating/efficiency", because="expected more than 0")
    share = winding_loss(current, mean) / losses
    low, high = map(case.limit, ("winding.resistance-level.low", "winding.resistance-level.high"))
    if not below(share, low) and not above(share, high):
        return
    usual = USUAL * losses / winding_loss(current, 1.0)
    meant = _meant(case, read[0], usual)
    yield LEVEL.finding(
        "high" if share > high else "low", "review", place,
        compared={"read": read[0], "usual": _of_the_order_of(usual)},
        limit=f"{percent(low)} to {percent(high)} of the plate's losses",
        probably=f"Probably {meant}. " if meant else "",
    )  # fmt: skip


def _of_the_order_of(resistance: float) -> Shown:
    return roughly(resistance, "ohm" if resistance >= 0.1 else "mohm")


def _meant(case: Case, read: Quantity, usual: float) -> str:
    """Another unit or a moved point that brings it near the drive's figure, else the plate's."""
    found = case.find(IDENTIFIED)
    near = found.si * OF_IDENTIFIED if found is not None and found.si > 0 else usual
    for other in _otherwise(read):
        if NEAR[0] <= other.si / near <= NEAR[1]:
            return str(entered(other))
    return ""


OF_IDENTIFIED = 1.4
"""Resistance between two terminals over the drive's own figure [1]: once where a drive shows the
same, twice where it shows one phase in star; this lies between."""

NEAR = (0.4, 2.5)
"""How near a reading of other digits or unit must come [1]; the next one is ten times off."""


def _otherwise(read: Quantity) -> Iterator[Quantity]:
    other = {"ohm": "mohm", "mohm": "ohm"}.get(read.unit)
    if other:
        yield in_unit(read, other)
    yield from (moved(read, times) for times in (0.1, 10, 0.01, 100))


LEVEL = Rule(
    id="winding.resistance-level",
    title="Winding resistance against the motor's losses",
    severities=("review",),
    condition="At the rated current the winding's own loss, 1.5 I2 R, is 4 to 250 % of all losses "
    "that the plate leaves: a quarter to a half is usual; cold, with a cable or linked otherwise "
    "it is still within the band, ten times off it is not.",
    source="IEC 60034-2-1 (1.5 I2 R), from memory; band: common practice, no source",
    subject=VALUES,
    needs=(VALUES, "/rating/current", "/rating/power", "/rating/efficiency"),
    waits_for=("motor.power-balance",),
    applies=lambda case: has_three_phases(case) and case.find(VALUES) is not None,
    check=_level,
    limits={
        "low": Limit(4, "%", "of the plate's losses", "higher", "common practice"),
        "high": Limit(250, "%", "of the plate's losses", "lower", "common practice"),
    },
    sentences={
        "high": "{probably}{read} were read from phase to phase; a motor of this plate has about "
        "{usual}: with so much it would lose more in its winding than it loses in all.",
        "low": "{probably}{read} were read from phase to phase; a motor of this plate has about "
        "{usual}.",
    },
    remedies={
        "high": "Check unit and digits, and the leads' contact.",
        "low": "Check unit and digits; where it was read right, look for turns that touch.",
    },
)
