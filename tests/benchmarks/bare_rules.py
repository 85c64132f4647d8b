"""Every sixth rule of the catalogue by its id, as plain functions: the same verdicts, no engine.

Which rules those are was nobody's choice: `sorted(ids)[::6]` of the 181 that the catalogue had when
they were written. Each function reads bare floats out of one flat mapping by place and says what
`judge` says of a booster's start-up, complete, with mistakes, and with blanks (`bare_events`; a
test holds both to the same findings, severities, places, compared values and lists of what is
missing). Numbers are put into words by the catalogue's own `show`; that is asked for where
something is found, as there.

Left out is what none of these events brings up, which would cost nothing on them: other kinds of
stations, loops and motors, other shapes of a finding, the search for an explanation. So are the
guards of the formulas, limits of a client's own, and what was accepted.
"""

from collections.abc import Callable, Iterable
from types import SimpleNamespace

from calculations.findings import Finding, NotEvaluated
from tests.benchmarks import bare_rules_of_plates as plates
from tests.benchmarks import bare_rules_of_readings as readings
from tests.benchmarks.bare_telling import Told

PLAIN: dict[str, Callable[[Told], None]] = {
    "supply.phases": plates.supply_phases,
    "motor.slip": plates.motor_slip,
    "motor.full-load-current-table": plates.table_current,
    "drive.motor-frequency": plates.motor_frequency,
    "drive.environment": plates.environment,
    "drive.cable-length": plates.cable_length,
    "drive.reflected-wave": plates.reflected_wave,
    "drive.output-capacitors": plates.output_capacitors,
    "insulation.test-voltage": plates.voltage_of_the_test,
    "winding.resistance-unbalance": plates.resistance_unbalance,
    "machine.vibration": readings.vibration,
    "speed.order": plates.speed_order,
    "speed.maximum-power": plates.maximum_power,
    "loop.kinds": plates.loop_kinds,
    "loop.set-point-reachable": plates.reachable,
    "loop.derivative": plates.derivative,
    "loop.sleep-window": plates.sleep_window,
    "station.shared-sensor": plates.shared_sensor,
    "well.levels": plates.well_levels,
    "sensor.signal-band": readings.signal_band,
    "sensor.linearity": readings.linearity,
    "trace.sampling": readings.sampling,
    "rotation.reversed": readings.reversed_rotation,
    "curve.point": readings.curve_point,
    "flow.drawdown": readings.drawdown,
    "load.current-nameplate": readings.nameplate_current,
    "trend.head": readings.trend_head,
    "protection.trip-value": readings.trip_value,
    "protection.delay-set": plates.delay_set,
    "record.in-service": readings.in_service,
    "record.too-perfect": readings.too_perfect,
}
"""By the rule that each is, in the order of the catalogue."""


def plainly(known: SimpleNamespace) -> Told:
    """What these rules say, by plain functions alone."""
    told = Told(known)
    for judge_one in PLAIN.values():
        judge_one(told)
    return told


def outcomes(findings: Iterable[Finding], lacking: Iterable[NotEvaluated]) -> dict[str, set[str]]:
    """What was said, by rule, whatever the order."""
    said: dict[str, set[str]] = {}
    for each in (*findings, *lacking):
        if each.rule in PLAIN:
            content = {**vars_of(each)}
            said.setdefault(each.rule, set()).add(repr(content))
    return said


def vars_of(each: Finding | NotEvaluated) -> dict[str, object]:
    """The fields of an outcome; parameters by name."""
    if isinstance(each, NotEvaluated):
        return each._asdict()
    found = {name: getattr(each, name) for name in each.__dataclass_fields__}
    return found | {"parameters": sorted(each.parameters.items())}
