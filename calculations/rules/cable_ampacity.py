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
IN_PARALLEL = "/drive/motor_cable_conductors_in_parallel"
MAY_BE_PARALLEL = 200.0
"""Plate current [A] above which several cables often run in parallel and one of them is recorded;
common practice, no source."""

LEAST_IN_PARALLEL = conductor_area(0)
"""Smallest conductor [m2] that may run in parallel by US practice; NFPA 70 310.4, from memory."""

LOW_VOLTAGE = 1000.0
"""Highest motor voltage [V] of the tables."""


def _in_parallel(case: Case) -> int:
    """Conductors that share the current of a phase; one where it is not stated."""
    return case.find(IN_PARALLEL) or 1


def _both_ends_come_up(case: Case) -> bool:
    """Whether a cable may have six conductors, one for each end of the three windings."""
    return is_immersed(case) and case.is_("/rating/connection", "delta")


def _shares(case: Case) -> float:
    """How often the current of one conductor goes through those that share it."""
    count = _in_parallel(case)
    return count * sqrt(3) / 2 if _both_ends_come_up(case) and count % 2 == 0 else count


def times_less_lost(case: Case) -> float:
    """How many times less voltage the conductors that share a current lose than one alone.

    A winding in delta loses 2 R I / sqrt(3) in the two conductors of its own, where one conductor
    for each phase loses sqrt(3) R I: two thirds of it.
    """
    count = _in_parallel(case)
    return count * 0.75 if _both_ends_come_up(case) and count % 2 == 0 else count


def _ampacity(case: Case, *, code: bool) -> float:
    table = CODE_75_DEGC if code else OPEN_AIR_90_DEGC
    try:
        return _shares(case) * ampacity(area=case.si(CONDUCTOR), table=table)
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
    if above(voltage.si, LOW_VOLTAGE):
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
    if load.fits or case.find(IN_PARALLEL) is not None:
        return ""
    if above(current, MAY_BE_PARALLEL) and thick_enough:
        return "several cables may run in parallel at this current"
    if _both_ends_come_up(case) and not above(load.needed / sqrt(3), load.carries):
        return "a cable of six conductors may share this current"
    return ""


def require_alone(case: Case) -> None:
    """Raise `Missing` where a conductor too thin for the current may be one of several."""
    try:
        shared = _shared(case, _load(case))
    except Missing:
        return
    if shared:
        raise Missing(IN_PARALLEL, because=shared)


def _conductor(case: Case, place: str) -> Iterator[Finding]:
    load = _load(case)
    if load.fits:
        return
    require_alone(case)
    count, variant = _in_parallel(case), "code" if load.code else "open_air"
    yield CABLE_AMPACITY.finding(
        f"{variant}_in_parallel" if count > 1 else variant, "review", place,
        compared={
            "conductor": case.quantity(CONDUCTOR),
            "carries": about(load.carries, "A"),
            "needed": about(load.needed, "A"),
            "current": case.quantity("/rating/current"),
        },
        limit=f"at least {about(load.needed, 'A')}",
        count=str(count),
        share=percent(case.limit("drive.cable-ampacity.code") if load.code else 1.0),
        full_load=about(load.full_load, "A"),
    )  # fmt: skip


_BY_TABLE = (
    " by the code's table at 75 degC; the motor cable needs {needed}, {share} of the full-load "
    "current {full_load}."
)

CABLE_AMPACITY = Rule(
    id="drive.cable-ampacity",
    title="Motor cable's conductor against the current that it carries",
    severities=("review",),
    condition="A copper conductor of the motor cable carries the plate's current even where the "
    "standard grants it most (three-core cable in open air, 90 degC); by US practice, a motor in "
    "water apart, 125 % of the code's full-load current at 75 degC. As many as are stated share "
    "it. Where nothing is stated, less is not judged if conductors often share the current: above "
    "200 A (by US practice from 1/0 AWG on), and in water with a winding in delta. Warmer air, "
    "bunched cables and aluminium carry less.",
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
        "open_air_in_parallel": "{count} conductors of {conductor} in three-core cables carry "
        "{carries} in open air of 30 degC; the motor takes {current}.",
        "code": "A conductor of {conductor} carries {carries}" + _BY_TABLE,
        "code_in_parallel": "{count} conductors of {conductor} carry {carries}" + _BY_TABLE,
    },
    remedies={
        **dict.fromkeys(
            ("open_air", "code"),
            "Take a larger conductor; where several run in parallel, enter how many.",
        ),
        **dict.fromkeys(
            ("open_air_in_parallel", "code_in_parallel"), "Take larger conductors, or more of them."
        ),
    },
)
