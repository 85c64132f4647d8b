"""Derived values of the motor's load."""

from math import sqrt

from calculations import motor_operation
from calculations.aspects import load
from calculations.aspects.rating import run_rating
from calculations.case import Case
from calculations.rule import Value, like
from calculations.rules.scope import has_drive

DRIVE_EFFICIENCY = 0.97
INPUT_POWER_FACTOR = 0.90
POINTS = "/event/duty_points"


def _no_load_current(case: Case) -> float:
    return load.magnetizing_share(case) * case.si("/rating/current")


def _output_voltage(case: Case, point: str) -> float:
    run = run_rating(case)
    return motor_operation.output_voltage(
        frequency=case.si(f"{point}/frequency"),
        rated_voltage=run.voltage,
        rated_frequency=run.frequency,
    )


def _input_current(case: Case, point: str) -> float:
    supply, phases = case.require("/site/supply_nominal_voltage", "/site/supply_phases")
    power = load.shaft_power(case, point) / case.si("/rating/efficiency") / DRIVE_EFFICIENCY
    return float(power / (sqrt(phases) * supply.si * INPUT_POWER_FACTOR))


VALUES = (
    Value(
        id="load.no-load-current",
        title="Motor current to expect without load",
        formula="I = k I_n, k = 0.4 (0.3 to 0.5), 0 with magnets",
        source="from memory",
        unit=like("/rating/current", "A"),
        compute=_no_load_current,
        subject="/rating",
        significant=3,
        read_on_site=True,
    ),
    Value(
        id="load.highest-expected-current",
        title="Highest motor current to expect",
        formula="I = I_n sqrt(k^2 + (1 - k^2) (T / T_n)^2) at the highest shaft power of the curve "
        "at maximum frequency; k = 0.4, 0 with magnets",
        source="circle diagram, derived; affinity laws, Hydraulic Institute data, Eq. 1.B.6; slip "
        "in proportion to torque; k from memory (0.3 to 0.5)",
        unit=like("/rating/current", "A"),
        compute=load.highest_current,
        subject="/settings/maximum_frequency",
        read_on_site=True,
    ),
    Value(
        id="duty.expected-current",
        title="Motor current to expect",
        formula="I = I_n sqrt(k^2 + (1 - k^2) (T / T_n)^2) at the pump's shaft power",
        source="circle diagram, derived; k = 0.4 from memory, 0 with magnets",
        unit=like("/rating/current", "A"),
        compute_each=load.expected_current,
        each=POINTS,
        significant=3,
    ),
    Value(
        id="duty.expected-output-voltage",
        title="Drive's output voltage to expect",
        formula="U = U_n min(f / f_n, 1)",
        source="definition of constant volts per hertz",
        unit=like("/rating/voltage", "V"),
        compute_each=_output_voltage,
        each=POINTS,
        applies=has_drive,
    ),
    Value(
        id="duty.expected-input-current",
        title="Drive's input current to expect",
        formula="I = P / (eta_motor 0.97 sqrt(3) U 0.90) at the pump's shaft power",
        source="definition; drive efficiency and true power factor with a choke: common practice",
        unit=like("/drive/rated_input_current", "A"),
        compute_each=_input_current,
        each=POINTS,
        applies=has_drive,
        significant=3,
    ),
)
