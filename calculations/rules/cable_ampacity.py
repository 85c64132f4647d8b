"""Rule of the motor cable's conductor against the current that it has to carry."""

from collections.abc import Iterator
from math import sqrt
from typing import NamedTuple

from calculations import full_load_current, overload
from calculations.ampacities import CODE_75_DEGC, OPEN_AIR_90_DEGC, ampacity
from calculations.case import Case, Missing
from calculations.errors import InvalidInput
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import above, below, rounding
from calculations.rules.scope import has_drive, has_slip, is_immersed
from calculations.units import conductor_area

CONDUCTOR = "/drive/motor_cable_conductor"
MAY_BE_PARALLEL = 200.0
"""Plate current [A] above which several cables often run in parallel and one of them is recorded;
common practice, no source."""

LEAST_IN_PARALLEL = conductor_area(0)
"""Smallest conductor [m2] that may run in parallel by US practice; NFPA 70 310.4, from memory."""

LOW_VOLTAGE = 1000.0
"""Highest motor voltage [V] of the tables."""


def _ampacity(case: Case, *, code: bool) -> float:
    try:
        return ampacity(area=case.si(CONDUCTOR), table=CODE_75_DEGC if code else OPEN_AIR_90_DEGC)
    except InvalidInput as error:
        raise Missing(CONDUCTOR, because="no size of the tables") from error


def _code_current(case: Case) -> float:
    """Full-load current that the code sizes conductors by [A]: the table's, else the plate's."""
    plate, power, voltage = case.require("/rating/current", "/rating/power", "/rating/voltage")
    if not has_slip(case):
        return float(plate.si)
    try:
        listed = full_load_current.table_full_load_current(power=power.si, voltage=voltage.si)
    except InvalidInput:
        return float(plate.si)
    return overload.conductor_basis_current(
        table_current=listed, nameplate_current=plate.si,
        synchronous_speed=case.value("motor.synchronous-speed"),
    )  # fmt: skip


class _Load(NamedTuple):
    """Currents [A]: full load, what the conductor has to carry, and what it does carry."""

    code: bool
    full_load: float
    needed: float
    carries: float
    fits: bool


def _load(case: Case) -> _Load:
    plate, voltage = case.require("/rating/current", "/rating/voltage")
    if voltage.si > LOW_VOLTAGE:
        raise Missing(CONDUCTOR, because="no table for motors above 1000 V")
    code = case.is_("/site/electrical_practice", "us_nec") and not is_immersed(case)
    carries = _ampacity(case, code=code)
    full_load = _code_current(case) if code else float(plate.si)
    needed = full_load * (case.limit("drive.cable-ampacity.code") if code else 1.0)
    fits = not above(needed, carries * (1 + rounding(plate)))
    return _Load(code, full_load, needed, carries, fits)


def _shared(case: Case, load: _Load) -> str:
    """Why a conductor too thin for the current may be one of several; empty where it is not."""
    current, area = case.si("/rating/current"), case.si(CONDUCTOR)
    thick_enough = not load.code or not below(area, LEAST_IN_PARALLEL)
    if load.fits:
        return ""
    if current > MAY_BE_PARALLEL and thick_enough:
        return "several cables may run in parallel at this current"
    both_ends = is_immersed(case) and case.is_("/rating/connection", "delta")
    if both_ends and load.needed / sqrt(3) <= load.carries:  # both ends of each winding come up
        return "a cable of six conductors may share this current"
    return ""


def require_alone(case: Case) -> None:
    """Raise `Missing` where a conductor too thin for the current may be one of several."""
    try:
        shared = _shared(case, _load(case))
    except Missing:
        return
    if shared:
        raise Missing(CONDUCTOR, because=shared)


def _conductor(case: Case, place: str) -> Iterator[Finding]:
    load = _load(case)
    if load.fits:
        return
    require_alone(case)
    yield CABLE_AMPACITY.finding(
        "code" if load.code else "open_air", "review", place,
        compared={
            "conductor": case.quantity(CONDUCTOR),
            "carries": about(load.carries, "A"),
            "needed": about(load.needed, "A"),
            "current": case.quantity("/rating/current"),
        },
        limit=f"at least {about(load.needed, 'A')}",
        share=percent(case.limit("drive.cable-ampacity.code") if load.code else 1.0),
        full_load=about(load.full_load, "A"),
    )  # fmt: skip


CABLE_AMPACITY = Rule(
    id="drive.cable-ampacity",
    title="Motor cable's conductor against the current that it carries",
    severities=("review",),
    condition="A copper conductor of the motor cable carries the plate's current even where the "
    "standard grants it most (three-core cable in open air, 90 degC); by US practice, a motor in "
    "water apart, 125 % of the code's full-load current at 75 degC. Less is not judged where "
    "conductors often share the current: above 200 A (by US practice from 1/0 AWG on), and in "
    "water with a winding in delta. Warmer air, bunched cables and aluminium carry less.",
    source="NFPA 70 430.6, 430.22 and Table 310.16; IEC 60364-5-52 Table B.52.12, from memory",
    subject=CONDUCTOR,
    needs=(CONDUCTOR, "/rating/current", "/rating/voltage", "/site/electrical_practice"),
    waits_for=("motor.power-balance", "motor.poles", "drive.volts-per-hertz"),
    applies=has_drive,
    check=_conductor,
    limits={
        "code": Limit(125, "%", "of the full-load current, US practice", "higher", "retrieved"),
    },
    sentences={
        "open_air": "A conductor of {conductor} in a three-core cable carries {carries} in open "
        "air of 30 degC; the motor takes {current}.",
        "code": "A conductor of {conductor} carries {carries} by the code's table at 75 degC; the "
        "motor cable needs {needed}, {share} of the full-load current {full_load}.",
    },
    remedies=dict.fromkeys(
        ("open_air", "code"),
        "Take a larger conductor; where several run in parallel, say how many in the answer.",
    ),
)
