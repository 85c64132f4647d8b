"""Derived values of motor, drive and load, with figures from published examples or by hand."""

import pytest

from calculations.expecting import expect
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from tests.calculations.building import booster, changed, derived, in_metric, judged, q, without
from tests.calculations.building_plates import Document
from tests.calculations.stations import eighty_seven_hertz, permanent_magnet, settings, well


def shown(document: Document, identity: str, subject: str | None = None) -> tuple[str, str]:
    """Digits and unit of one derived value."""
    value = derived(judged(document), identity, subject)
    return value.shown.value, value.shown.unit


@pytest.mark.parametrize(
    ("speed", "frequency", "poles", "synchronous", "slip"),
    [
        ("1770", "60", "4", "1800", "1.67"),  # M03a
        ("3540", "60", "2", "3600", "1.67"),  # M03c
        ("885", "60", "8", "900", "1.67"),  # M03d
        ("1475", "50", "4", "1500", "1.67"),  # M03e
        ("970", "50", "6", "1000", "3"),  # M03g
    ],
)
def test_speeds_as_published(
    speed: str, frequency: str, poles: str, synchronous: str, slip: str
) -> None:
    rating = {"speed": q(speed, "rpm"), "frequency": q(frequency, "Hz")}
    document: Document = {"motor": {"kind": "induction", "ratings": [rating]}}
    assert shown(document, "motor.poles") == (poles, "1")
    assert shown(document, "motor.synchronous-speed") == (synchronous, "rpm")
    assert shown(document, "motor.slip") == (slip, "%")


def test_rated_torque_as_published() -> None:
    # M07: 50 hp at 1775 rpm, 200.589 N.m = 147.947 lbf.ft
    rating = {"speed": q("1775", "rpm"), "power": q("50", "hp")}
    document: Document = {"motor": {"kind": "induction", "ratings": [rating]}}
    assert shown(document, "motor.rated-torque") == ("147.9", "lbf.ft")
    assert shown(in_metric(document), "motor.rated-torque") == ("200.6", "N.m")


def test_product_that_a_plate_implies() -> None:
    # M05: 30 kW, 400 V, 54.0 A
    rating = {"power": q("30", "kW"), "voltage": q("400", "V"), "current": q("54.0", "A")}
    document: Document = {"motor": {"kind": "induction", "ratings": [rating]}}
    assert shown(document, "motor.efficiency-times-power-factor") == ("0.802", "1")


def test_a_rating_extended_to_87_hz() -> None:
    # 400 / 230 = 1.7391: 50 Hz, 22 kW; 2 x 86.957 / 4 = 2608.7 rpm less 30 rpm
    document = eighty_seven_hertz()
    assert shown(document, "motor.extended-frequency") == ("86.96", "Hz")
    assert shown(document, "motor.extended-power") == ("38.26", "kW")
    assert shown(document, "motor.extended-speed") == ("2579", "rpm")
    assert shown(document, "drive.volts-per-hertz") == ("4.6", "V/Hz")
    with pytest.raises(LookupError):
        shown(booster(), "motor.extended-power")


def test_an_extension_ends_where_the_supply_does() -> None:
    # 380 V carry 230 V x 1.652: 82.6 Hz, though 87 Hz are set
    document = changed(eighty_seven_hertz(), {"/site/supply_nominal_voltage": q("380", "V")})
    assert shown(document, "motor.extended-frequency") == ("82.61", "Hz")


def test_a_speed_that_fits_no_poles_grows_as_the_frequency() -> None:
    # 3100 rpm is above the 3000 rpm of two poles at 50 Hz: 3100 x 400 / 230 = 5391 rpm
    plate = {f"/motor/ratings/{i}/speed": q("3100", "rpm") for i in (0, 1)}
    document = without(changed(eighty_seven_hertz(), plate), "/motor/poles")
    assert shown(document, "motor.extended-speed") == ("5391", "rpm")
    with pytest.raises(LookupError):
        shown(document, "motor.poles")


def test_a_magnet_motor_has_no_slip_and_no_magnetizing_current() -> None:
    document = permanent_magnet()
    assert shown(document, "load.no-load-current") == ("0", "A")
    with pytest.raises(LookupError):
        shown(document, "motor.slip")


def test_currents_of_the_code() -> None:
    # M10: 60 hp, 460 V: 77 A; 1.25 x 68.7 A = 85.9 A for a separate device
    assert shown(booster(), "motor.table-full-load-current") == ("77", "A")
    assert shown(booster(), "motor.separate-overload-limit") == ("85.88", "A")
    elsewhere = changed(booster(), {"/site/electrical_practice": "iec"})
    with pytest.raises(LookupError):
        shown(elsewhere, "motor.table-full-load-current")


def test_highest_current_at_maximum_frequency() -> None:
    # Highest power of the curve 50.5 hp at 1775 rpm: 0.842 of rated torque,
    # 68.7 sqrt(0.16 + 0.84 x 0.842^2) = 59.8 A; the fitted curve is 1 % higher between points.
    value = derived(judged(booster()), "load.highest-expected-current")
    assert value.si == pytest.approx(59.8, rel=0.02)


def test_output_voltage_follows_the_frequency() -> None:
    # 460 V x 54.9 / 60 = 420.9 V
    place = "/event/duty_points/0"
    assert shown(booster(), "duty.expected-output-voltage", place) == ("420.9", "V")
    above = changed(booster(), {f"{place}/frequency": q("63", "Hz")})
    assert shown(above, "duty.expected-output-voltage", place) == ("460", "V")


def test_input_current_by_hand() -> None:
    # 29.1 kW / (0.95 x 0.97) over sqrt(3) x 480 V x 0.90 = 42.2 A
    value = derived(judged(booster()), "duty.expected-input-current", "/event/duty_points/0")
    assert value.si == pytest.approx(42.2, rel=0.02)


def test_cable_and_filter_of_a_well() -> None:
    # 1/0 AWG, 53.5 mm2, at 75 degC 0.392 mohm/m, 106.7 m, 84.1 A, cos phi 0.825:
    # sqrt(3) 84.1 106.7 (0.392 x 0.825 + 0.08 x 0.565) mV = 5.73 V = 1.25 %, and 1 % of the filter
    assert derived(judged(well()), "drive.cable-voltage-drop").si == pytest.approx(0.0225, abs=1e-4)
    unknown = without(well(), "/drive/filter_voltage_drop")
    with pytest.raises(LookupError):
        shown(unknown, "drive.cable-voltage-drop")


def test_critical_length_in_the_readers_unit() -> None:
    # E05a: 0.1 us and 150 m/us give 7.5 m = 24.6 ft
    assert shown(booster(), "drive.critical-cable-length") == ("24.61", "ft")
    assert shown(in_metric(booster()), "drive.critical-cable-length") == ("7.5", "m")


def test_minimum_reading_of_the_insulation_today() -> None:
    # 5 Mohm at 40 degC are 5 / 0.7622 = 6.56 Mohm at 20 degC (factor of E01c)
    assert shown(booster(), "insulation.minimum-today") == ("6.56", "Mohm")


def test_ratios_of_the_insulation_test() -> None:
    # E02: 180, 250, 700 Mohm: 1.389 and 2.80
    test = "/event/motor_tests/insulation"
    read = {
        f"{test}/resistance_30_s": q("180", "Mohm"),
        f"{test}/resistance_1_min": q("250", "Mohm"),
        f"{test}/resistance_10_min": q("700", "Mohm"),
    }
    document = changed(booster(), read)
    assert shown(document, "insulation.absorption-ratio") == ("1.389", "1")
    assert shown(document, "insulation.polarization-index") == ("2.8", "1")


def test_overload_of_another_practice_is_labelled_apart() -> None:
    elsewhere = changed(booster(), {"/site/electrical_practice": "iec"})
    assert shown(elsewhere, "drive.overload-setting") == ("68.7", "A")
    assert shown(elsewhere, "drive.overload-refused-above") == ("75.57", "A")  # 1.10 x 68.7
    assert shown(well(), "drive.overload-setting") == ("96", "A")


def test_volts_per_hertz_as_set() -> None:
    # M16a: 460 V at 50 Hz are 9.2 V/Hz
    document = changed(booster(), settings({"motor_frequency": q("50", "Hz")}))
    assert shown(document, "drive.volts-per-hertz-set") == ("9.2", "V/Hz")
    assert shown(document, "drive.volts-per-hertz") == ("7.667", "V/Hz")


def test_how_far_a_rating_is_extended_is_open_without_its_voltage_or_frequency() -> None:
    extended = {"motor.extended-frequency", "motor.extended-power", "motor.extended-speed"}
    for name in ("voltage", "frequency"):
        document = changed(eighty_seven_hertz(), {f"/motor/ratings/0/{name}": None})
        found = expect(read(Subject, document))
        assert not extended & {each.id for each in (*found.derived, *found.lacking)}, name


def test_a_rating_extended_by_an_unknown_supply_says_what_it_lacks() -> None:
    """How far a voltage carries is the supply's, or what the drive is set to."""
    supply = "/site/supply_nominal_voltage"
    unknown = settings({"motor_voltage": None}) | {supply: None}
    found = expect(read(Subject, changed(eighty_seven_hertz(), unknown)))
    needs = {each.id: each.needs for each in found.lacking if "extended" in each.id}
    names = ("frequency", "power", "speed")
    assert needs == {f"motor.extended-{each}": (supply,) for each in names}


def test_resistance_that_a_loop_may_have() -> None:
    # 24 V of supply (common practice) less 12 V, at the 21 mA of a failure (NE43).
    document = changed(booster(), {"/sensors/0/supply_voltage_minimum": q("12", "V")})
    found = derived(judged(document), "sensor.loop-resistance-allowed")
    assert found.si == pytest.approx(12 / 0.021)
    fed = changed(document, {"/sensors/0/loop_supply_voltage": q("28", "V")})
    assert derived(judged(fed), "sensor.loop-resistance-allowed").si == pytest.approx(16 / 0.021)
