"""Rule of a motor's plate current against the code's table of full-load currents."""

from collections.abc import Iterator

from calculations import full_load_current
from calculations.case import Case
from calculations.errors import InvalidInput
from calculations.findings import Finding, digits
from calculations.full_load_current import (
    DRY_BAND,
    EIGHT_POLE_BAND,
    IMMERSED_BAND,
    RatioBand,
    ordinary_ratio_band,
)
from calculations.rule import Limit, Rule, about, show
from calculations.rules.closeness import above, below, rounding
from calculations.rules.motor_power import phases
from calculations.rules.scope import has_slip, is_immersed


def _is_in_the_tables(case: Case) -> bool:
    practice = case.find("/site/electrical_practice")
    return has_slip(case) and phases(case) == 3 and practice in (None, "us_nec")


def _table_ratio(case: Case) -> tuple[float, float] | None:
    """Table current [A] and plate current over it; None where the table lists nothing."""
    power, voltage, current = case.require("/rating/power", "/rating/voltage", "/rating/current")
    try:
        listed = full_load_current.table_full_load_current(power=power.si, voltage=voltage.si)
    except InvalidInput:
        return None
    ratio = full_load_current.nameplate_ratio(nameplate_current=current.si, table_current=listed)
    return listed, ratio


def _band(case: Case) -> RatioBand | None:
    """Ordinary plate current over the table's [1]; None where the table says nothing."""
    lowest, *highest = (case.limit(f"{FULL_LOAD_CURRENT.id}.{name}") for name in LIMITS)
    dry, eight_pole, immersed = (RatioBand(lowest, each) for each in highest)
    return ordinary_ratio_band(
        poles=int(case.value("motor.poles")), immersed=is_immersed(case),
        dry_band=dry, eight_pole_band=eight_pole, immersed_band=immersed,
    )  # fmt: skip


def _full_load_current(case: Case, place: str) -> Iterator[Finding]:
    found, band = _table_ratio(case), _band(case)
    if found is None or band is None:
        return
    listed, ratio = found
    margin = ratio * rounding(case.quantity("/rating/current"))
    if not below(ratio + margin, band.lowest) and not above(ratio - margin, band.highest):
        return
    yield FULL_LOAD_CURRENT.finding(
        "outside", "note", place,
        compared={
            "current": case.quantity("/rating/current"),
            "power": case.quantity("/rating/power"),
            "voltage": case.quantity("/rating/voltage"),
            "table": show(listed, "A"),
        },
        limit=f"{digits(band.lowest)} to {digits(band.highest)} times the table",
        ratio=about(ratio),
    )  # fmt: skip


_ABOUT = "plate over table"
LIMITS = {
    "lowest": Limit(DRY_BAND.lowest, "1", _ABOUT, "higher", "from memory"),
    "highest": Limit(DRY_BAND.highest, "1", f"{_ABOUT}, 2 to 6 poles", "lower", "from memory"),
    "highest-8-poles": Limit(
        EIGHT_POLE_BAND.highest, "1", f"{_ABOUT}, 8 poles", "lower", "from memory"
    ),
    "highest-immersed": Limit(
        IMMERSED_BAND.highest, "1", f"{_ABOUT}, immersed", "lower", "from memory"
    ),
}

FULL_LOAD_CURRENT = Rule(
    id="motor.full-load-current-table",
    title="Plate current against the code's table of full-load currents",
    severities=("note",),
    condition="United States practice: the plate current of a three-phase induction motor is 0.60 "
    "to 1.15 times the table (8 poles 1.30, immersed 1.35). Not a fault by itself: the table sizes "
    "conductors, overload protection goes by the plate.",
    source="NFPA 70 Table 430.250 (2008 print); bands from memory",
    scope="nameplate",
    subject="/rating",
    needs=("/site/electrical_practice", "/rating/power", "/rating/voltage", "/rating/current"),
    waits_for=("motor.slip", "motor.poles", "motor.power-balance"),
    applies=_is_in_the_tables,
    check=_full_load_current,
    limits=LIMITS,
    sentences={
        "outside": "Plate current {current} for {power} at {voltage} is {ratio} times the table's "
        "{table}: unusual for a motor of this kind, read the plate again.",
    },
)
