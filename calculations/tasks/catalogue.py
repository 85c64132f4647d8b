"""Every verification task, with its default intervals. They are common practice, not a standard.

Only what an event can record stands here: what could never be recorded would be due for ever.
"""

from calculations.tasks.task import Interval, Task

LIFT, BOOSTER, WELL = "site.lift_station", "site.booster", "site.well"
REGULATED, GROUPED, WITH_DRIVE = "set.regulated", "set.grouped", "set.with_drive"
LARGE = "motor.large"
"""A motor of 75 kW or more: its pump's performance is looked at every year."""


def _safe(months: int, *when: str) -> Interval:
    """An interval of a safety task: history shortens it, and nothing lengthens it."""
    return Interval(months, when, shortest=1, longest=months)


TRANSMITTER = Task(
    id="transmitter",
    title="Transmitter against a reference",
    of="sensor",
    counted="a verification of the sensor, at three points or more over half of the span (level: "
    "a quarter), whose errors as left lie inside its tolerance",
    words=("sensor verification", "transmitter"),
    intervals=(
        Interval(6, ("sensor.level", "liquid.sewage"), shortest=3, longest=12),
        Interval(6, ("sensor.level", "liquid.sludge"), shortest=3, longest=12),
        Interval(12, unless=("sensor.flow",), shortest=6, longest=36),
    ),
    otherwise=Interval(24, shortest=12, longest=36),
    source="common practice, no source; method: ILAC-G24-2022, staircase",
)

FLOW_METER = Task(
    id="flow-meter",
    title="Flow meter against a reference",
    of="sensor",
    counted="a verification of the flow meter whose errors as left lie inside its tolerance",
    words=("sensor verification", "flow meter"),
    intervals=(Interval(24, ("sensor.flow",), shortest=12, longest=36),),
    source="common practice, no source; method: ILAC-G24-2022, staircase",
)

INSULATION = Task(
    id="insulation",
    title="Insulation of the motor's winding",
    of="motor",
    counted="an insulation test of at least the minimum at 40 degC, with the drive disconnected",
    words=("insulation", "motor test"),
    intervals=(Interval(6, ("motor.immersed",), shortest=3, longest=12), Interval(12)),
    with_winding=True,
    good="Measured, and enough",
    bad="Measured, and not enough",
    found_bad="it was not enough",
)

ROTATION = Task(
    id="rotation",
    title="Direction of rotation",
    of="motor",
    counted="a direction of rotation that was checked and is left correct",
    words=("rotation",),
    intervals=(Interval(120, shortest=120, longest=120),),
    once=True,
    with_winding=True,  # the repairer has made the ends of the winding anew
    good="Turned the right way",
    bad="Turned the wrong way",
)

OVERLOAD = Task(
    id="overload",
    title="Overload protection of the motor against its plate",
    of="motor",
    counted="the overload as left in the drive, found to fit the plate, or a test that tripped",
    functions=("overload",),
    words=("overload",),
    intervals=(_safe(24, WITH_DRIVE),),
    otherwise=_safe(24),
    safety=True,
    rests_on_drive=True,
    good="Fitted the plate, or tripped",
    bad="Did not fit the plate, or did not trip",
    found_bad="it did not trip",
)

SETTINGS_AUDIT = Task(
    id="settings-audit",
    title="Settings of the drive against what was last left",
    of="drive",
    counted="settings written down as left, none of them standing against a stop",
    words=("setting", "settings audit"),
    intervals=(Interval(24, shortest=6, longest=48),),
    with_firmware=True,
    good="Written down as left, without a stop",
    bad="Left with a stop",
    found_bad="settings had moved",
)

PERFORMANCE = Task(
    id="pump-performance",
    title="Performance of the pump against its curve",
    of="pump",
    counted="three duty points or more with flow and head, shown to be on the curve, none of them "
    "or of their efficiencies fallen since the first visit, and no efficiency far below its parts",
    words=("pump performance", "duty point"),
    intervals=(
        Interval(12, (LARGE,), shortest=6, longest=24),
        Interval(36, shortest=12, longest=60),
    ),
    good="On its curve, and not fallen",
    bad="Off its curve, or fallen",
    found_bad="it was off its curve, or had fallen",
)

DRAW_DOWN = Task(
    id="draw-down",
    title="Flow of the pump by draw-down of the wet well",
    of="pump",
    counted="a draw-down test whose flow is known and agrees with what else says it: the meter, a "
    "flow read otherwise, the curves of pump and main",
    words=("drawdown", "draw down"),
    intervals=(Interval(4, (LIFT,), shortest=1, longest=12, evidence="retrieved"),),
    otherwise=Interval(4, shortest=1, longest=12, evidence="retrieved"),
    source="three to four times a year: state agency's guide to calibrating lift stations",
    good="Measured, and it agreed",
    bad="Measured, and it did not agree",
)

VIBRATION = Task(
    id="vibration",
    title="Vibration and temperature of the bearings",
    of="pump",
    counted="vibration or bearing temperatures read at a duty point, none of them too high",
    words=("vibration", "bearing temperature"),
    intervals=(Interval(12, unless=("pump.submersible",)),),
    good="Measured, and not too high",
    bad="Measured, and too high",
)

EARTH = Task(
    id="earth-continuity",
    title="Continuity of the protective earth",
    of="pump_set",
    counted="earth resistances measured, none of them too high",
    words=("earth test", "earth continuity"),
    intervals=(Interval(24, shortest=6, longest=36),),
    good="Measured, and low enough",
    bad="Measured, and too high",
)

PRE_CHARGE = Task(
    id="pre-charge",
    title="Pre-charge of the vessel",
    of="vessel",
    counted="a pre-charge measured with the system drained, and left where it belongs",
    words=("vessel check", "pre charge"),
    intervals=(Interval(12),),
)

FOLLOW_UP = Task(
    id="first-follow-up",
    title="First follow-up after the start-up",
    of="pump_set",
    counted="any re-verification of the pump set after its start-up",
    words=("follow up",),
    otherwise=Interval(3, longest=3),
    follows=True,
)


def _protection(
    function: str, title: str, *intervals: Interval, rests_on_drive: bool = True, also: str = ""
) -> Task:
    """The proof of one protection; `also` is what else it is called where it was not possible."""
    return Task(
        id=f"protection.{function.replace('_', '-')}",
        title=title,
        of="pump_set",
        counted="a test that provoked it, and in which it acted",
        functions=(function,),
        words=(function, also) if also else (function,),
        intervals=intervals,
        otherwise=_safe(12),
        safety=True,
        rests_on_drive=rests_on_drive,
        good="Provoked, and it acted",
        bad="Provoked, and it did not act as it should",
        found_bad="it did not act as it should",
    )


def _of_motor(function: str, title: str, trait: str, *, with_winding: bool = False) -> Task:
    """The proof of a protection whose sensor is in the motor."""
    return Task(
        id=f"protection.{function.replace('_', '-')}",
        title=title,
        of="motor",
        counted="a test that provoked it, and in which it acted",
        functions=(function,),
        words=(function, "leak or motor temperature"),
        intervals=(_safe(12, LIFT, trait),),
        otherwise=_safe(12),
        safety=True,
        rests_on_drive=True,
        with_winding=with_winding,
        good="Provoked, and it acted",
        bad="Provoked, and it did not act as it should",
        found_bad="it did not act as it should",
    )


PROTECTIONS = (
    _protection("low_suction", "Low suction", _safe(12, BOOSTER), also="low suction"),
    _protection("dry_run", "Dry run", _safe(12, WELL)),
    _protection("high_pressure", "High pressure", _safe(12, BOOSTER), _safe(12, WELL)),
    _protection("low_pressure_burst", "Low pressure after a burst"),
    _protection(
        "loss_of_feedback", "Loss of the feedback signal", _safe(12, REGULATED),
        also="loss of the feedback signal",
    ),
    _protection("phase_loss", "Loss of a phase"),
    _protection("high_level", "High level", _safe(6, LIFT)),
    _protection("low_level", "Low level"),
    _protection(
        "float_backup", "High-level float independent of the transmitter", _safe(6, LIFT),
        also="high-level float independent of the transmitter",
    ),
    _protection(
        "power_loss_restart", "Restart after power loss", _safe(12),
        also="restart after power loss",
    ),
    _protection("generator_transfer", "Transfer to the generator"),
    _protection(
        "lag_takeover", "Take-over by the lag pump", _safe(12, GROUPED),
        also="take-over by the lag pump",
    ),
    _protection("sensor_failover", "Failover to another sensor"),
    _protection("communication_loss", "Loss of communication"),
    _protection("no_flow", "No flow"),
    _protection("bypass", "Bypass", rests_on_drive=False),
    _protection("emergency_stop", "Emergency stop", rests_on_drive=False),
    _protection("local_isolator", "Local isolator", rests_on_drive=False),
    _protection(
        "reverse_rotation", "Check valve holds: no reverse rotation", rests_on_drive=False
    ),
    _of_motor(
        "motor_overtemperature", "Temperature of the motor", "motor.thermal_sensor",
        with_winding=True,  # its sensors lie in the winding
    ),
    _of_motor("seal_leak", "Leak into the motor", "motor.leak_sensor"),
)  # fmt: skip

TASKS: tuple[Task, ...] = (
    TRANSMITTER, FLOW_METER, INSULATION, ROTATION, OVERLOAD, SETTINGS_AUDIT, PERFORMANCE,
    DRAW_DOWN, VIBRATION, EARTH, PRE_CHARGE, FOLLOW_UP, *PROTECTIONS,
)  # fmt: skip

BY_ID = {task.id: task for task in TASKS}
