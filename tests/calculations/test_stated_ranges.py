"""Ranges that the formulas state: their ends are taken, what lies a step beyond is refused.

The ranges are those of validity (IAPWS R7-97 and the standard atmosphere for water and air, NEMA
MG 1 for unbalance), else where nothing sensible lies beyond: common practice, no source.
"""

from collections.abc import Callable
from typing import Any

import pytest

from calculations import (
    acceptance,
    cables,
    drives,
    hydraulics,
    intervals,
    loops,
    motor_efficiency,
    motor_operation,
    motors,
    pump_curves,
    supply,
    surge,
    verification,
    water,
)
from calculations.errors import InvalidInput

KELVIN = 273.15


def staircase(**given: float) -> Any:
    usual = {"interval": 6.0, "as_found_errors": (0.1,), "allowed_error": 1.0, "shortest": 3.0,
             "longest": 24.0}  # fmt: skip
    return intervals.staircase(**usual | given)


def specific_speed(**given: int) -> float:
    return hydraulics.specific_speed(speed=25.0, flow=0.05, head=40.0, **given)


def power_law(**given: float) -> Any:
    return pump_curves.pump_curve_from_equation(
        speed=25.0, shut_off_head=40.0, coefficient=10.0, **given
    )


def current_at_torque(**given: float) -> float:
    return motor_operation.current_at_torque(rated_current=1.0, torque_ratio=1.0, **given)


RANGES: list[tuple[Callable[..., Any], str, tuple[float, ...], tuple[float, ...]]] = [
    (acceptance.small_pump_tolerance, "shaft_power", (1.0, 1e4), (1.0001e4,)),
    (lambda **given: cables.resistance_per_metre(area=1e-5, **given), "temperature",
     (KELVIN - 50, KELVIN + 200), (KELVIN - 50.01, KELVIN + 200.01)),
    (drives.altitude_factor, "altitude", (-500.0,), (-500.1,)),
    (drives.ambient_factor, "temperature", (KELVIN - 50,), (KELVIN - 50.01,)),
    (lambda **given: drives.terminal_peak(dc_link=650.0, **given), "reflection_factor", (0.0, 1.0),
     (-0.01, 1.01)),
    (specific_speed, "stages", (1, 400), (0, 401)),
    (specific_speed, "suction_sides", (1, 2), (0, 3)),
    (staircase, "longest", (3.0,), (2.9,)),
    (staircase, "extend_below", (0.0, 1.0), (-0.01, 1.01)),
    (staircase, "reduction", (0.0, 1.0), (-0.01, 1.01)),
    (staircase, "extension", (1.0, 10.0), (0.99, 10.1)),
    (loops.damping_from_decay_ratio, "decay_ratio", (0.001, 1.0), (0.0, -0.01, 1.01)),
    (lambda **given: motor_efficiency.deemed_rating(listed=(1.0, 1.5, 2.0), **given), "rating",
     (0.981, 2.039), (0.979, 2.041)),  # 2 % below and above the list
    (current_at_torque,
     "magnetizing_share", (0.0, 1.0), (-0.01, 1.01)),
    (motor_operation.part_load_loss_factor, "load", (0.0, 1.0), (-0.01, 1.01)),
    (lambda **given: motor_operation.part_load_loss_factor_with_drive(rated_power=1e4, **given),
     "load", (0.0, 1.0), (-0.01, 1.01)),
    (lambda **given: motor_operation.highest_speed_ratio(motor_power=1.0, pump_power=1.0, **given),
     "service_factor", (1.0, 2.0), (0.99, 2.01)),
    (motor_operation.allowed_ambient, "altitude", (-500.0, 4000.0), (-500.1, 4000.1)),
    (lambda **given: motors.pole_candidates(speed=24.0, frequency=50.0, **given), "highest_slip",
     (0.0, 0.999), (-0.01, 1.0)),
    (power_law, "exponent", (1.0, 10.0), (0.99, 10.1)),
    (supply.derating_factor, "voltage_unbalance", (0.0, 0.05), (-0.001, 0.0501)),
    (supply.extra_temperature_rise, "voltage_unbalance", (0.0, 0.05), (-0.001, 0.0501)),
    (lambda **given: surge.anchorage_factor(anchorage=surge.Anchorage.ANCHORED_UPSTREAM, **given),
     "poisson_ratio", (0.0, 0.5), (-0.01, 0.51)),
    (lambda **given: verification.certificate_uncertainty(uncertainty=1.0, **given),
     "coverage_factor", (1.0, 3.0), (0.99, 3.01)),
    (water.saturation_pressure_absolute, "temperature", (KELVIN, 647.096), (273.1, 647.1)),
    (water.atmospheric_pressure_absolute, "elevation", (-2000.0, 11000.0), (-2000.1, 11000.1)),
    (water.density, "temperature", (KELVIN, KELVIN + 100), (273.1, 373.2)),
]  # fmt: skip


@pytest.mark.parametrize(("call", "argument", "taken", "refused"), RANGES)
def test_the_range_that_is_stated(call, argument, taken, refused):
    for value in taken:
        call(**{argument: value})
    for value in refused:
        with pytest.raises(InvalidInput) as raised:
            call(**{argument: value})
        assert raised.value.argument == argument
