"""Quantities as they come in: digits kept, numbers alone where there is no unit, refusals."""

import pytest

from calculations.inputs.drive import Drive
from calculations.inputs.entered import NumberText
from calculations.inputs.motor import Motor
from calculations.inputs.reading import InvalidDocument, read
from calculations.units import Quantity, UnitError, from_si, number_text, to_si


def power_factor(given: object) -> object:
    motor = read(Motor, {"ratings": [{"power_factor": given}]})
    return motor.model_dump(mode="json")["ratings"][0]["power_factor"]


@pytest.mark.parametrize(
    ("digits", "half"),
    [("57.6", 0.05), ("1770", 0.5), ("0.840", 0.0005), ("1.2e3", 50), ("5E-2", 0.005)],
)
def test_half_of_the_last_digit_is_what_rounding_may_have_changed(digits, half):
    assert Quantity.of(digits, "A", "current").resolution == pytest.approx(half)
    assert Quantity.of(digits, "mA", "current").resolution == pytest.approx(half / 1000)


@pytest.mark.parametrize(
    ("size", "unit", "square_millimetres"),
    [
        # ASTM B258, as its tables are printed; 1/0 to 4/0 are 0 to -3. From memory.
        (-3, "AWG", 107.2),
        (0, "AWG", 53.49),
        (10, "AWG", 5.261),
        (14, "AWG", 2.081),
        (36, "AWG", 0.01267),
        # 1 mil is 0.0254 mm, and a circular mil the area of a circle as wide.
        (250, "kcmil", 126.7),
        (500, "kcmil", 253.4),
    ],
)
def test_areas_of_american_conductors(size, unit, square_millimetres):
    assert to_si(size, unit) == pytest.approx(square_millimetres * 1e-6, rel=4e-4)


@pytest.mark.parametrize(
    ("value", "unit", "kelvin"),
    [(0, "degC", 273.15), (100, "degC", 373.15), (32, "degF", 273.15), (212, "degF", 373.15)],
)
def test_scales_of_temperature(value, unit, kelvin):
    # By definition of the scales.
    assert to_si(value, unit) == pytest.approx(kelvin)
    assert from_si(kelvin, unit) == pytest.approx(value)


def test_american_gauges_have_ends():
    # ASTM B258: 40 AWG is 0.0799 mm wide; 4/0 is the largest. From memory.
    assert to_si(40, "AWG") == pytest.approx(0.005013e-6, rel=1e-3)
    assert Quantity.of("40", "AWG", "conductor").resolution == 0.0
    for gauge in (-3.5, -4, 40.5, 41):
        with pytest.raises(UnitError, match="American wire gauge runs from"):
            to_si(gauge, "AWG")


@pytest.mark.parametrize("given", ["0." + 38 * "7", "1e30", int(1e30), "-1e30", "1e-300", "0.0"])
def test_digits_of_the_longest_and_largest_numbers_are_kept(given):
    assert number_text(given) == str(given)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("0." + 39 * "7", "expected a decimal number"),
        ("about", "expected a decimal number"),
        (" 7", "expected a decimal number"),
        (True, "expected a decimal number"),
        (7.5, "expected a decimal number"),
        ("1.1e30", "too large"),
        (int(1.1e30), "too large"),
        (-int(1.1e30), "too large"),
        (10**400, "too large"),
        ("1e-999", "too small"),
    ],
)
def test_other_numbers_are_refused_in_words(given, words):
    with pytest.raises(ValueError, match=words):
        number_text(given)


def test_a_unit_of_another_kind_and_an_unknown_one_are_told_apart():
    with pytest.raises(UnitError, match=r"expected flow .*; psi is a unit of pressure"):
        Quantity.of("7", "psi", "flow")
    with pytest.raises(UnitError, match="unknown unit 'furlong'; expected flow"):
        Quantity.of("7", "furlong", "flow")


def test_an_area_is_shown_in_thousand_circular_mils():
    assert from_si(126.7e-6, "kcmil") == pytest.approx(250, rel=4e-4)


def refused(model: type, document: dict) -> dict[str, str]:
    """What each place is refused with."""
    with pytest.raises(InvalidDocument) as raised:
        read(model, document)
    return {each.pointer: each.detail for each in raised.value.problems}


@pytest.mark.parametrize(
    ("given", "digits"),
    [
        ("0.84", "0.84"),
        ("0.840", "0.840"),
        ("1", "1"),
        (1, "1"),
        (NumberText("0.840"), "0.840"),
        ("8.4e-1", "8.4e-1"),
        ({"value": "0.840", "unit": "1"}, "0.840"),
    ],
)
def test_a_number_without_a_unit_may_stand_alone_as_text_too(given, digits):
    assert power_factor(given) == {"value": digits, "unit": "1"}


@pytest.mark.parametrize("given", [True, "about 0.84", "", " 0.84", "0,84", "+0.84", "084", None])
def test_what_is_no_number_does_not(given):
    if given is None:
        assert power_factor(given) is None
        return
    said = refused(Motor, {"ratings": [{"power_factor": given}]})
    assert said == {"/ratings/0/power_factor": 'expected a number, or {"value", "unit"} of ratio'}


def test_a_limit_holds_for_digits_alone():
    said = refused(Motor, {"ratings": [{"power_factor": "1.2"}]})
    assert said == {"/ratings/0/power_factor": "expected more than 0.2 and at most 1, got 1.2"}


@pytest.mark.parametrize(
    ("value", "unit", "limits"),
    [
        # 1 ft is 0.3048 m; the limits are common practice, no source.
        ("20000", "ft", "at least 0 m and at most 6000 m (19685 ft)"),
        ("-1", "ft", "at least 0 m and at most 6000 m (19685 ft)"),
        ("7", "km", "at least 0 m and at most 6000 m (6 km)"),
        ("7000", "m", "at least 0 m and at most 6000 m"),
    ],
)
def test_a_limit_is_told_in_the_unit_that_was_entered_as_well(value, unit, limits):
    said = refused(Drive, {"altitude_limit": {"value": value, "unit": unit}})
    assert said == {"/altitude_limit": f"expected {limits}, got {value} {unit}"}


def test_limits_of_a_temperature_are_told_in_degrees_of_the_other_scale():
    said = refused(Drive, {"ambient_max": {"value": "200", "unit": "degF"}})
    # 0 degC is 32 degF, and 5 K are 9 delta_degF.
    assert said == {
        "/ambient_max": "expected at least -60 degC (-76 degF) and at most 90 degC (194 degF),"
        " got 200 degF"
    }


@pytest.mark.parametrize(
    ("field", "given", "words"),
    [
        ("rated_power", "7.50 kW", 'expected {"value", "unit"} of power: write'
         ' {"value": "7.50", "unit": "kW"}'),
        ("rated_power", "7.50kW", 'expected {"value", "unit"} of power: write'
         ' {"value": "7.50", "unit": "kW"}'),
        ("rated_power", "7.50 psi", 'expected {"value", "unit"} of power'),
        ("rated_power", "7.50", 'expected {"value", "unit"} of power: 7.50 has no unit'),
        ("rated_power", 7, 'expected {"value", "unit"} of power: 7 has no unit'),
        ("rated_power", NumberText("7.5"), 'expected {"value", "unit"} of power: 7.5 has no unit'),
        ("rated_power", {"value": "7.50"}, 'expected {"value", "unit"} of power'),
        ("motor_cable_conductor", "16 mm2", 'expected a size such as "6 AWG", "250 kcmil" or'
         ' {"value": "16", "unit": "mm2"}'),
        ("motor_cable_conductor", "2.5mm²", 'expected a size such as "6 AWG", "250 kcmil" or'
         ' {"value": "2.5", "unit": "mm2"}'),
        ("motor_cable_conductor", "thick", 'expected a size such as "6 AWG", "250 kcmil" or'
         ' {"value": "10", "unit": "mm2"}'),
        ("motor_cable_conductor", 16, 'expected {"value", "unit"} of conductor: 16 has no unit'),
    ],
)  # fmt: skip
def test_what_was_meant_is_said_as_it_is_written(field, given, words):
    assert refused(Drive, {field: given}) == {f"/{field}": words}
