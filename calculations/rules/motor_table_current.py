"""Rule of a motor's plate current against the code's table of full-load currents."""

from collections.abc import Iterator

from calculations import full_load_current
from calculations.case import Case
from calculations.errors import InvalidInput
from calculations.findings import Finding, Shown, digits
from calculations.rule import Rule
from calculations.rules.closeness import rounding
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


def _full_load_current(case: Case, place: str) -> Iterator[Finding]:
    found = _table_ratio(case)
    band = full_load_current.ordinary_ratio_band(
        poles=int(case.value("motor.poles")), immersed=is_immersed(case)
    )
    if found is None or band is None:
        return
    listed, ratio = found
    margin = ratio * rounding(case.quantity("/rating/current"))
    if band.lowest - margin <= ratio <= band.highest + margin:
        return
    yield FULL_LOAD_CURRENT.finding(
        "outside", "note", place,
        compared={
            "current": case.quantity("/rating/current"),
            "power": case.quantity("/rating/power"),
            "voltage": case.quantity("/rating/voltage"),
            "table": Shown(digits(listed, 4), "A"),
        },
        limit=f"{digits(band.lowest)} to {digits(band.highest)} times the table",
        ratio=digits(ratio, 3),
    )  # fmt: skip


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
    sentences={
        "outside": "Plate current {current} for {power} at {voltage} is {ratio} times the table's "
        "{table}: unusual for a motor of this kind, read the plate again.",
    },
)

RULES = (FULL_LOAD_CURRENT,)
