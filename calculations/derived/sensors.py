"""Derived values of sensors: signals to expect, scaling to set, what a verification shows."""

from collections.abc import Callable
from dataclasses import replace

from calculations import verification
from calculations.aspects import chain, kinds, levels, loop, verifying
from calculations.aspects.check_points import signal_unit
from calculations.aspects.storage import wake_value
from calculations.aspects.verifying import VERIFICATIONS
from calculations.case import Case, Missing
from calculations.rule import Value, fixed
from calculations.rules.loop_load import supply_voltage
from calculations.rules.loop_measurable import measured_limit
from calculations.rules.sensor_readings import has_verifications, left
from calculations.signals import (
    ANALOGUE_SIGNALS,
    HIGHEST_FAULT_CURRENT,
    loop_budget,
    signal_from_fraction,
)

SIGNAL_SOURCE = "IEC 60381-1 and 60381-2"
LOW_SUCTION, SUCTION = "/settings/low_suction_limit", "/suction_sensor"


def _signal(case: Case, share: float) -> float:
    output = case.word(chain.OUTPUT)
    if output not in ANALOGUE_SIGNALS:
        raise Missing(case.place(chain.OUTPUT), because="no analogue signal")
    return signal_from_fraction(kind=output, fraction=share)


def _signal_of(case: Case, value: float) -> float:
    """Signal [A or V] for a value at the set point's datum."""
    if loop.shown_offset(case) is None:
        ends = ("lower", "upper")
        raise Missing(*(case.place(f"/settings/feedback_at_{end}_signal") for end in ends))
    return _signal(case, loop.signal_range(case).share(value))


def _limit(case: Case, name: str) -> float:
    """A limit [Pa] that the regulating sensor may be asked for."""
    if kinds.of_loop(case) not in ("pressure", "ratio"):
        raise Missing(case.place(kinds.RANGE_TOP), because="the loop keeps no pressure")
    return measured_limit(case, name)


def _signal_unit(case: Case) -> str:
    return signal_unit(case.find(chain.OUTPUT)) or "mA"


def _at_value(name: str, title: str, subject: str, value: Callable[[Case], float]) -> Value:
    def compute(case: Case) -> float:
        case.require(subject)
        return _signal_of(case, value(case))

    return Value(
        id=f"sensor.signal-at-{name}",
        title=f"Signal to expect at the {title}",
        formula="S = S_low + (p - LRV)/(URV - LRV) (S_high - S_low)",
        source=SIGNAL_SOURCE,
        unit=_signal_unit,
        compute=compute,
        subject=subject,
        applies=loop.is_closed,
        read_on_site=True,
    )


def _at_level(name: str) -> Value:
    words = levels.WORDS[name]
    found = _at_value(
        words.replace(" ", "-") + "-level", f"{words} level", f"/settings/{name}",
        lambda case: levels.value(case, name),
    )  # fmt: skip
    return replace(found, applies=lambda case: loop.reads_feedback(case) and loop.on_level(case))


def _at_low_suction(case: Case) -> float:
    """Signal of the suction sensor [A or V] at the low-suction limit that is read from it."""
    case.require(LOW_SUCTION)
    output = case.word(f"{SUCTION}/output")
    if output not in ANALOGUE_SIGNALS:
        raise Missing(case.place(f"{SUCTION}/output"), because="no analogue signal")
    share = loop.measuring_range(case, SUCTION).share(measured_limit(case, "low_suction_limit"))
    return signal_from_fraction(kind=output, fraction=share)


def _at_share(percent: int) -> Value:
    return Value(
        id=f"sensor.signal-at-{percent}-percent",
        title=f"Signal to expect at {percent} % of the regulating sensor's span",
        formula="S = S_low + x (S_high - S_low)",
        source=SIGNAL_SOURCE,
        unit=_signal_unit,
        compute=lambda case: _signal(case, percent / 100),
        subject="/regulating_sensor",
    )


def _scaled_unit(case: Case) -> str:
    """The unit of the drive's own scaling, which this is held against; else of the range."""
    kind = kinds.of_loop(case)
    for place in (*kinds.SCALED, kinds.RANGE_TOP):
        found = case.find(place)
        if found is not None and found.kind == kind:
            return str(found.unit)
    return loop.process_unit(case)


def _height_unknown(case: Case) -> Missing:
    """What is asked for where nothing tells by how much the scaling is shifted."""
    if loop.on_level(case):
        return Missing(case.place("/settings/level_reference"))
    datum = case.find("/settings/set_point_datum")
    if datum in (None, "transmitter", "pump_datum"):
        names = ("quantity", "tapping_elevation")
        asked = [f"/regulating_sensor/{each}" for each in names]
        return Missing(*(case.place(each) for each in asked if case.find(each) is None))
    return Missing(case.place("/settings/set_point_datum"), because="its height is not recorded")


def _scaling(end: str) -> Value:
    def compute(case: Case) -> float:
        ranged = loop.measuring_range(case)
        offsets = loop.datum_offsets(case)
        if offsets is None:
            raise _height_unknown(case)
        offset = offsets[0]
        return (ranged.high if end == "upper" else ranged.low) + offset

    return Value(
        id="sensor.scaling" if end == "upper" else "sensor.scaling-at-lower-signal",
        title=f"What the drive should show at the {end} end of the signal",
        formula="range value + rho g (z_tapping - z_datum)",
        source=f"{SIGNAL_SOURCE}; hydrostatics",
        unit=_scaled_unit,
        compute=compute,
        subject="/regulating_sensor",
        applies=lambda case: not case.fixed_speed,
        significant=5,
        read_on_site=True,
    )


def _loop_resistance(case: Case) -> float:
    minimum = case.si("/regulating_sensor/supply_voltage_minimum")
    budget = loop_budget(
        supply_voltage=supply_voltage(case, "/regulating_sensor"),
        transmitter_minimum_voltage=minimum, input_resistance=0.0,
    )  # fmt: skip
    return budget.allowed


def _largest_error(case: Case, place: str) -> float:
    return left(case, place).worst[1]


def _hysteresis(case: Case, place: str) -> float:
    gap = left(case, place).result.hysteresis
    if gap is None:
        raise Missing(place)
    return gap


def _linearity(case: Case, place: str) -> float:
    bend = left(case, place).result.terminal_nonlinearity
    if bend is None:
        raise Missing(place)
    return bend


def _allowed_error(case: Case, place: str) -> float:
    found = left(case, place)
    return verification.acceptance_limit(
        tolerance=found.tolerance, uncertainty=verifying.reference_uncertainty(case, found)
    )


def _of_verification(
    identity: str, title: str, formula: str, source: str, compute: Callable[[Case, str], float]
) -> Value:
    return Value(
        id=identity,
        title=title,
        formula=formula,
        source=source,
        unit=fixed("%"),
        compute_each=compute,
        each=VERIFICATIONS,
        applies=has_verifications,
    )


VALUES = (
    _at_value("set-point", "set point", "/settings/set_point", loop.set_point),
    _at_value("wake", "wake value", "/settings/wake_value", wake_value),
    _at_value(
        "low-limit", "low discharge limit", "/settings/low_discharge_limit",
        lambda case: _limit(case, "low_discharge_limit"),
    ),
    _at_value(
        "high-limit", "high discharge limit", "/settings/high_discharge_limit",
        lambda case: _limit(case, "high_discharge_limit"),
    ),
    *(_at_level(name) for name in levels.EMPTYING),
    Value(
        id="sensor.signal-at-low-suction-limit",
        title="Signal of the suction sensor to expect at the low-suction limit",
        formula="S = S_low + (p - LRV)/(URV - LRV) (S_high - S_low)",
        source=SIGNAL_SOURCE,
        unit=lambda case: signal_unit(case.find(f"{SUCTION}/output")) or "mA",
        compute=_at_low_suction,
        subject=LOW_SUCTION,
        applies=lambda case: case.is_(f"{LOW_SUCTION}_measured_by", "suction_sensor"),
        read_on_site=True,
    ),
    *(_at_share(percent) for percent in (0, 25, 50, 75, 100)),
    _scaling("lower"),
    _scaling("upper"),
    Value(
        id="sensor.loop-resistance-allowed",
        title="Resistance that the loop may have",
        formula=f"R = (U_supply - U_min) / {1000 * HIGHEST_FAULT_CURRENT:g} mA",
        source="IEC 60381-1; NAMUR NE 43, secondary text; 24 V where no supply is recorded",
        unit=fixed("ohm"),
        compute=_loop_resistance,
        subject="/regulating_sensor",
        applies=lambda case: case.is_("/regulating_sensor/output", "4-20 mA"),
    ),
    _of_verification(
        "sensor.largest-error", "Largest error as left, of span",
        "e = (indicated - applied) / span", "IEC 61298-2", _largest_error,
    ),
    _of_verification(
        "sensor.hysteresis", "Hysteresis as left, of span",
        "largest difference of falling and rising error", "IEC 61298-2", _hysteresis,
    ),
    _of_verification(
        "sensor.linearity", "Non-linearity as left, terminal-based, of span",
        "largest distance of the mean of rising and falling errors from the line through those at "
        "the ends", "IEC 61298-2", _linearity,
    ),
    _of_verification(
        "sensor.allowed-error", "Largest error that can be accepted with this reference, of span",
        "A = T - U (1.04 - exp(0.38 ln(T / U) - 0.54))",
        "Z540.3-2006 handbook, method 6, from memory", _allowed_error,
    ),
)  # fmt: skip
