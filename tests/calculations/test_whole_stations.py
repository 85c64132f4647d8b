"""Whole stations through the whole catalogue: silent where nothing is wrong, one rule a mistake.

No figure here comes from a source: these tests hold the catalogue to its promise that an ordinary
good station raises neither a stop nor a review, and that one mistake is named by one rule.
"""

import random
import re

import pytest

from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.subject import Subject
from calculations.judging import (
    derived_document,
    finding_document,
    judge,
    not_evaluated_document,
)
from calculations.recordings import Column, Recording
from tests.calculations import stations, whole_stations
from tests.calculations.building import (
    assert_told_whole,
    booster,
    changed,
    in_metric,
    judged,
    serious,
    without,
)
from tests.calculations.building_event import TRACE, verification
from tests.calculations.building_plates import Document, q

LEFT = "/event/settings/as_left"
POINT = "/event/duty_points/0"

STRONG = {
    "/site/discharge_pressure_limit": q("300", "psi"),
    "/site/relief_valve_setting": q("290", "psi"),
    "/pump/maximum_working_pressure": q("300", "psi"),
    "/vessels/0/maximum_pressure": q("300", "psi"),
}
"""All that bears the discharge pressure, stronger than the transmitter's range."""

STATIONS = {
    "booster": booster,
    "shifted booster": whole_stations.shifted_booster,
    "booster in percent": whole_stations.booster_in_percent,
    "booster with a low minimum and sleep": whole_stations.sleeping_booster,
    "raw water": whole_stations.raw_water,
    "lift station": whole_stations.lift_station,
    "well": stations.well,
    "permanent magnet": stations.permanent_magnet,
    "87 Hz": stations.eighty_seven_hertz,
    "1,800 m": stations.high_site,
    "old motor": stations.old_motor,
    "single phase": stations.fed_by_one_phase,
}


@pytest.mark.parametrize("name", STATIONS)
def test_a_good_station_raises_neither_stop_nor_review(name: str):
    assert serious(judged(STATIONS[name]())) == []


@pytest.mark.parametrize("name", STATIONS)
def test_a_good_station_is_judged_not_passed_over(name: str):
    """Silence means nothing where nothing was evaluated."""
    assert judged(STATIONS[name](), recordings=answer(name)).not_evaluated == ()


def answer(name: str) -> dict[str, Recording]:
    """Rows of a step that the loop of each station follows in 20 s without overshoot."""
    unit, start, end = ("m", 1.3, 1.1) if name == "lift station" else ("psi", 80.0, 85.0)
    unit, start, end = ("%", 40.0, 42.5) if name == "booster in percent" else (unit, start, end)
    running = {"permanent magnet": 96.0, "87 Hz": 70.0}.get(name, 48.0)
    times = [0.5 * index for index in range(241)]
    followed = [start + (end - start) * min(time / 20, 1.0) for time in times]
    columns = {
        "feedback": Column(unit, followed),
        "output_frequency": Column("Hz", [running] * 241),
    }
    return {TRACE: Recording(times, columns)}


# -- single mistakes ------------------------------------------------------------------------------


def as_left(**values: object) -> dict[str, object]:
    return {f"{LEFT}/{name}": value for name, value in values.items()}


def three(value: str, unit: str) -> list[dict[str, str]]:
    return [q(value, unit)] * 3


SIGNALS = ("4.01", "8.02", "12.02", "16.01", "20.00")
LOW = ("4.01", "7.90", "11.70", "15.60", "19.50")
SHIFTED = ("4.24", "8.24", "12.24", "16.24", "20.24")


def misread() -> Document:
    """One reading of ten with its last digits swapped: 8.20 for 8.02 mA."""
    found = verification("PT-101", 50, SIGNALS)
    found["as_found"][1]["signal"] = q("8.20", "mA")
    return found


def sticking() -> Document:
    """Rising readings 0.3 % low, falling ones 0.45 % high, of a tolerance of 0.5 %."""
    found = verification("PT-101", 50, ("4.00", "8.00", "12.00", "16.00", "20.00"))
    for index in (1, 2, 3):
        found["as_found"][index]["signal"] = q(f"{4 * index + 4 - 0.05:.2f}", "mA")
        found["as_found"][9 - index]["signal"] = q(f"{4 * index + 4 + 0.07:.2f}", "mA")
    return found


def wrongly_shown() -> Document:
    """The drive shows nine tenths of what the signal means."""
    found = verification("PT-101", 50, SIGNALS)
    for point in found["as_found"]:
        point["indicated"] = q(f"{float(point['applied']['value']) * 0.9:.1f}", "psi")
    return found


VERIFIED = "/event/sensor_verifications/0"
CURVE = "/pump/curve_points"

MISTAKES: list[tuple[str, str, dict[str, object], tuple[str, ...], str, str]] = [
    # speed range
    ("minimum and maximum swapped", "booster",
     as_left(minimum_frequency=q("60", "Hz"), maximum_frequency=q("36", "Hz")), (),
     "speed.order", "stop"),
    ("minimum below the pump's", "booster", as_left(minimum_frequency=q("25", "Hz")), (),
     "speed.minimum-permitted", "review"),
    ("maximum with a digit too many", "booster", as_left(maximum_frequency=q("600", "Hz")), (),
     "speed.maximum-speed", "stop"),
    ("curve of a larger impeller", "raw water", {"/motor/ratings/1/power": q("60", "hp"),
     f"{CURVE}/4/shaft_power": q("66", "hp"), f"{CURVE}/3/shaft_power": q("60", "hp")},
     (f"{CURVE}/4/efficiency", f"{CURVE}/3/efficiency"),
     "speed.maximum-power", "review"),
    ("pipework weaker than shut-off", "booster",
     {"/site/discharge_pressure_limit": q("140", "psi")}
     | as_left(high_discharge_limit_response="alarm"), ("/site/relief_valve_setting",),
     "speed.maximum-pressure", "stop"),
    ("nothing for no demand", "booster", as_left(sleep_method="none"), (),
     "speed.dead-head", "review"),
    ("minimum below zero flow on a lift", "raw water", as_left(minimum_frequency=q("40", "Hz")),
     (), "speed.zero-flow", "review"),
    # feedback
    ("signal of another kind", "booster", as_left(feedback_signal="0-10 V"), (),
     "loop.signal-type", "stop"),
    ("dead zero for live zero", "booster", as_left(feedback_signal="0-20 mA"), (),
     "loop.signal-type", "stop"),
    ("input selector", "booster", as_left(input_selector="voltage"), (),
     "loop.input-selector", "stop"),
    ("scaling of another transmitter", "booster",
     as_left(feedback_at_upper_signal=q("150", "psi")), (), "loop.scaling", "stop"),
    ("scaling with 3 % too much", "booster",
     as_left(feedback_at_upper_signal=q("206", "psi")), (), "loop.scaling", "review"),
    ("scaling not shifted for the tapping", "shifted booster",
     as_left(feedback_at_lower_signal=q("0", "psi"), feedback_at_upper_signal=q("200", "psi")),
     (), "loop.scaling", "review"),
    ("scaling of the level in pressure", "lift station",
     as_left(feedback_at_upper_signal=q("5.1", "ft")), (), "loop.scaling", "stop"),
    ("direction of the loop", "booster", as_left(action="rising_feedback_speeds_up"), (),
     "loop.action", "stop"),
    ("direction of the level loop", "lift station", as_left(action="rising_feedback_slows"), (),
     "loop.action", "stop"),
    # set point and limits
    ("set point in bar", "booster", as_left(set_point=q("5.9", "psi")), (),
     "loop.set-point-unit", "stop"),
    ("set point in psi on a metric display", "booster", as_left(set_point=q("85", "bar")), (),
     "loop.set-point-unit", "stop"),
    ("set point above the relief valve", "booster", as_left(set_point=q("155", "psi")), (),
     "loop.limits-order", "stop"),
    ("high limit below the set point", "booster", as_left(high_discharge_limit=q("80", "psi")),
     (), "loop.limits-order", "review"),
    ("high limit above the transmitter's range", "booster",
     as_left(high_discharge_limit=q("250", "psi")) | STRONG, (), "loop.limit-measurable", "review"),
    ("pump too small for the set point", "booster",
     as_left(set_point=q("120", "psi"), high_discharge_limit=q("140", "psi"),
             maximum_frequency=q("52", "Hz")), (), "loop.set-point-reachable", "review"),
    ("no response to a lost signal", "booster", as_left(signal_loss_response="none"), (),
     "loop.signal-loss", "review"),
    ("integral switched off", "booster", as_left(integral_time="off"), (),
     "loop.integral-off", "review"),
    ("two controllers", "booster", as_left(speed_reference_signal="4-20 mA"), (),
     "loop.two-controllers", "review"),
    # sleep and wake
    ("sleep below zero flow", "booster", as_left(sleep_frequency=q("38", "Hz")), (),
     "loop.sleep-order", "review"),
    ("minimum above sleep", "booster", as_left(minimum_frequency=q("45", "Hz")), (),
     "loop.sleep-range", "review"),
    ("sleep at the edge", "booster", as_left(sleep_frequency=q("41.6", "Hz")), (),
     "loop.sleep-window", "review"),
    ("wake above the set point", "booster", as_left(wake_value=q("90", "psi")), (),
     "loop.wake", "review"),
    ("wake as a difference, set as a value", "booster", as_left(wake_value=q("6", "psi")), (),
     "loop.wake", "review"),
    ("wake in percent below the service pressure", "booster in percent",
     as_left(wake_value=q("28", "%")), (), "loop.wake", "review"),
    # level, wells, vessels, ramps
    ("start below stop", "lift station", as_left(start_level=q("0.5", "m")), (),
     "level.order", "stop"),
    ("high alarm above the overflow", "lift station", as_left(high_level_alarm=q("3.0", "m")), (),
     "level.alarm-below-overflow", "review"),
    ("levels too near", "lift station", as_left(start_level=q("0.7", "m")), (),
     "well.starts", "review"),
    ("no dry-run protection", "well", as_left(dry_run_method="none"), (),
     "well.dry-run", "review"),
    ("pump above the water", "well", {"/site/pump_setting_depth": q("50", "ft")}, (),
     "well.levels", "review"),
    ("slow through the bearing's speed", "well", as_left(first_ramp_time=q("8", "s")), (),
     "ramp.submersible", "review"),
    ("vessel charged too high", "booster",
     {"/event/vessel_checks/0/pre_charge_as_left": q("82", "psi")}, (),
     "vessel.precharge", "review"),
    ("ramp far too short for the main", "raw water", as_left(ramp_down_time=q("2", "s")), (),
     "ramp.surge", "stop"),
    # sensors
    ("regulating sensor reads low", "booster", {VERIFIED: verification("PT-101", 50, LOW)}, (),
     "sensor.error-as-left", "stop"),
    ("sensor shifted", "booster", {VERIFIED: verification("PT-101", 50, SHIFTED)}, (),
     "sensor.offset", "review"),
    ("digits of a reading swapped", "booster", {VERIFIED: misread()}, (),
     "sensor.outlier", "review"),
    ("sticking sensor", "booster", {VERIFIED: sticking()}, (), "sensor.hysteresis", "review"),
    ("drive shows something else", "booster", {VERIFIED: wrongly_shown()}, (),
     "sensor.chain", "review"),
    ("coarse gauge as reference", "booster",
     {"/instruments/0/percent_of_range": q("0.4", "%")}, (),
     "sensor.reference-uncertainty", "review"),
    ("calibrator out of date", "booster", {"/instruments/0/due_on": "2026-03-01"}, (),
     "sensor.reference-calibration", "review"),
    # readings
    ("flow in the wrong unit", "booster", {f"{POINT}/flow": q("227", "gpm")}, (),
     "curve.point", "review"),
    ("pressure in the wrong unit", "booster", {f"{POINT}/discharge_pressure": q("5.86", "psi")},
     (), "curve.point", "review"),
    ("curve with a digit slip", "booster", {f"{CURVE}/1/head": q("25.15", "ft")}, (),
     "curve.shape", "review"),
    ("curve of the other mains frequency", "booster", {"/pump/rated_speed": q("1470", "rpm")}, (),
     "curve.speed", "review"),
    ("power in the wrong unit", "booster", {f"{POINT}/power_drive_input": q("31.9", "hp")}, (),
     "efficiency.sum-of-parts", "review"),
    ("suction starved", "booster",
     {f"{POINT}/suction_pressure": q("-12.0", "psi"),
      f"{POINT}/discharge_pressure": q("41.4", "psi")}, (), "npsh.margin", "stop"),
    # protections and the record
    ("protection that did not act", "booster", {"/event/protection_tests/1/passed": False}, (),
     "protection.failed", "stop"),
    ("protection at another value", "booster",
     {"/event/protection_tests/1/limit_at_trip": q("140", "psi")}, (),
     "protection.trip-value", "review"),
    ("float not tested", "lift station", {}, ("/event/protection_tests/0",),
     "protection.missing", "stop"),
    ("supply not read", "booster", {}, ("/event/supply",), "record.missing", "review"),
    ("a value of the plate not read", "booster", {}, ("/motor/insulation_class",),
     "record.missing", "review"),
    ("visit ends before it begins", "booster",
     {"/event/performed_until": "2026-03-14T08:00:00-05:00"}, ("/event/step_tests/0/time",),
     "record.dates", "review"),
]  # fmt: skip


def mistaken(station: str, changes: dict[str, object], removed: tuple[str, ...]) -> Document:
    return without(changed(STATIONS[station](), changes), *removed)


@pytest.mark.parametrize(
    ("station", "changes", "removed", "expected", "severity"),
    [each[1:] for each in MISTAKES],
    ids=[each[0] for each in MISTAKES],
)
class TestOneMistake:
    def test_is_named_by_one_rule(self, station, changes, removed, expected, severity):
        found = serious(judged(mistaken(station, changes, removed)))
        assert {each[0] for each in found} == {expected}
        assert severity in {each[1] for each in found}

    def test_is_named_alike_in_metric_units(self, station, changes, removed, expected, severity):
        document = mistaken(station, changes, removed)
        assert _named(in_metric(document)) == _named(document)

    def test_is_said_in_a_sentence_with_its_values(
        self, station, changes, removed, expected, severity
    ):
        findings = judged(mistaken(station, changes, removed)).findings
        for finding in findings:
            document = finding_document(finding, "1")
            assert str(document["sentence"]).endswith((".", "?"))
            assert "{" not in str(document["sentence"])
            assert document["source"]


def _named(document: Document) -> list[tuple[str, str, str]]:
    return sorted((each.rule, each.severity, each.subject) for each in judged(document).findings)


@pytest.mark.parametrize("name", STATIONS)
def test_a_station_is_judged_alike_in_metric_units(name: str):
    document = STATIONS[name]()
    assert _named(in_metric(document)) == _named(document)


# -- well-typed but absurd ------------------------------------------------------------------------


def test_an_empty_subject_raises_no_finding():
    assert judged({}).findings == ()


ABSURD = ("0", "-1", "1e-9", "1e9")
LONGER = [
    pytest.param(name, marks=pytest.mark.slow) for name in ("lift station", "well", "raw water")
]


@pytest.mark.parametrize("name", ["booster", *LONGER])
def test_absurd_values_are_judged_or_refused(name: str):
    """Every quantity of a station set to an absurd figure: nothing fails, all of it can be told."""
    document = STATIONS[name]()
    places = _quantities(document)
    told = [
        _told(changed(document, {f"{pointer}/value": ABSURD[index % len(ABSURD)]}))
        for index, pointer in enumerate(places)
    ]
    assert told.count(True) > len(places) / 4, "nearly all are refused: nothing was tried"


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
def test_many_absurd_values_at_once_are_judged_or_refused(seed: int):
    """Up to eight quantities at once, the same ones at every run."""
    chance = random.Random(seed)
    names = sorted(STATIONS)
    told = []
    for _ in range(50):
        document = STATIONS[chance.choice(names)]()
        chosen = chance.sample(_quantities(document), chance.randint(1, 8))
        figures = {f"{each}/value": chance.choice((*ABSURD, "1", "100")) for each in chosen}
        told.append(_told(changed(document, figures)))
    assert any(told)


@pytest.mark.parametrize("name", ["booster", *LONGER])
def test_without_any_one_value_a_station_is_judged_still(name: str):
    """Half a point of a curve alone is refused: see `test_refusals`."""
    document = STATIONS[name]()
    places = _quantities(document)
    refused = [pointer for pointer in places if not _told(without(document, pointer))]
    halves = [pointer for pointer in places if re.search("/curve_points/./(flow|head)$", pointer)]
    assert refused == halves


def _told(document: Document) -> bool:
    """Whether a document is judged, every word of which can be said; False where it is refused."""
    try:
        subject = read(Subject, document)
    except InvalidDocument:
        return False
    judgement = judge(subject)
    assert_told_whole(judgement)
    printed = [*map(derived_document, judgement.derived)]
    printed += map(not_evaluated_document, judgement.not_evaluated)
    assert all(each["subject"] for each in printed)
    return True


def _quantities(document, at: str = "") -> list[str]:
    if isinstance(document, dict) and set(document) == {"value", "unit"}:
        return [at]
    members = document.items() if isinstance(document, dict) else (
        enumerate(document) if isinstance(document, list) else ()
    )  # fmt: skip
    return [found for key, each in members for found in _quantities(each, f"{at}/{key}")]
