"""Rule of pressure ranges that begin below a perfect vacuum."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.constants import STANDARD_ATMOSPHERE
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, entered, show
from calculations.rules.closeness import below
from calculations.units import Quantity, to_si

WITHIN = 0.05
"""How near to a vacuum a range in other units begins, for these to explain it [1]; no source."""
GAUGES = ("pressure_gauge", "pressure_calibrator")


def _vacuum(case: Case, place: str) -> Iterator[Finding]:
    for each in case.elements("/sensors"):
        if case.is_(f"{each}/quantity", "pressure"):
            absolute = case.is_(f"{each}/reference", "absolute")
            yield from _begins(case, f"{each}/lower_range_value", absolute=absolute)
    for each in case.elements("/instruments"):
        if case.is_(f"{each}/kind", *GAUGES):
            yield from _begins(case, f"{each}/range_low", absolute=False)


def _begins(case: Case, pointer: str, *, absolute: bool) -> Iterator[Finding]:
    low = case.find(pointer)
    if low is None or low.kind != "pressure":
        return
    deepest = 0.0 if absolute else -STANDARD_ATMOSPHERE
    if not below(low.si, deepest - case.limit("sensor.vacuum.beyond") * STANDARD_ATMOSPHERE):
        return
    unit = None if absolute else _other_unit(low)
    vacuum: Shown = show(deepest, low.unit, 3)
    named = "serial" if "/instruments/" in pointer else "tag"
    thing = case.find(f"{pointer.rpartition('/')[0]}/{named}")
    yield VACUUM.finding(
        "unit" if unit else "plain", "review", case.place(pointer),
        compared={"low": low, "vacuum": vacuum}, limit=f"not below {vacuum}",
        thing=thing or "a gauge",
        read=f"{low.value} {unit}" if unit else entered(low),
    )  # fmt: skip


def _other_unit(low: Quantity) -> str | None:
    """The unit in which the digits entered are about a vacuum, as compound gauges are marked."""
    for unit in ("inHg", "psi", "kPa", "bar"):
        if abs(to_si(float(low.value), unit) / -STANDARD_ATMOSPHERE - 1) <= WITHIN:
            return unit
    return None


VACUUM = Rule(
    id="sensor.vacuum",
    title="Pressure ranges that begin below a perfect vacuum",
    severities=("review",),
    condition="No range of a pressure sensor, gauge or calibrator begins more than 5 % of an "
    "atmosphere below a perfect vacuum. Differential pressures may.",
    source="definition of gauge and absolute pressure; ISO 2533:1975, sea level",
    subject="/instruments",
    applies=lambda case: bool(case.find("/sensors") or case.find("/instruments")),
    check=_vacuum,
    limits={"beyond": Limit(5, "%", "of an atmosphere below vacuum", "lower", "common practice")},
    sentences={
        "unit": "The range of {thing} begins at {low}, below a perfect vacuum ({vacuum}): probably "
        "{read} is meant.",
        "plain": "The range of {thing} begins at {low}, below a perfect vacuum ({vacuum}): a sign, "
        "a digit or a unit is wrong.",
    },
    remedies=dict.fromkeys(
        ("unit", "plain"), "Read the lower end of the range and its unit again."
    ),
)
