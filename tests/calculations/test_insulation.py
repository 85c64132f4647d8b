"""Insulation resistance after IEEE 43."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations import insulation
from calculations.errors import InvalidInput
from calculations.insulation import InsulationSystem, Winding
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked

MEGOHM = 1e6


def kelvin(celsius: float) -> float:
    return celsius + 273.15


@worked("insulation", "5 IR temperature correction to 40 C")
def test_example_of_correction(case: Case) -> None:
    temperature = kelvin(case["inputs"]["T_C"])
    figures = {}
    for system in InsulationSystem:
        factor = insulation.temperature_factor(temperature=temperature, system=system)
        resistance = insulation.resistance_at_40_degrees(
            resistance=case["inputs"]["R_MOhm"] * MEGOHM, temperature=temperature, system=system
        )
        figures[f"KT_{system}"] = Near(factor, relative=5e-5)
        figures[f"R40_{system}_MOhm"] = Near(resistance / MEGOHM, relative=5e-5)
    assert_matches(case, **figures)


@worked("insulation", "5 PI / DAR")
def test_example_of_ratios(case: Case) -> None:
    given = case["inputs"]
    absorption = insulation.dielectric_absorption_ratio(
        one_minute=given["R60s_MOhm"] * MEGOHM, thirty_seconds=given["R30s_MOhm"] * MEGOHM
    )
    index = insulation.polarization_index(
        ten_minutes=given["R600s_MOhm"] * MEGOHM, one_minute=given["R60s_MOhm"] * MEGOHM
    )
    assert_matches(
        case, DAR_60_30=Near(absorption, absolute=5e-5), PI_10_1=Near(index, absolute=1e-9)
    )


@worked("insulation", "5 IR min + PI exemption")
def test_example_of_minimum(case: Case) -> None:
    given = case["inputs"]
    resistance = given["R1_at_40C_MOhm"] * MEGOHM
    minimum = insulation.minimum_resistance(
        winding=Winding.RANDOM_WOUND, line_voltage=given["V_rated"]
    )
    answer = insulation.polarization_index_assessable(
        winding=Winding.RANDOM_WOUND, one_minute_at_40=resistance
    )
    assert_matches(
        case,
        IR_min_MOhm=minimum / MEGOHM,
        PI_assessable=answer.assessable,
        **{"pass": resistance >= minimum},
    )


class TestCorrection:
    # IEEE 43-2013, rounded factors from memory; exchanging the coefficients does not give them.
    @pytest.mark.parametrize(
        ("celsius", "factor"),
        [(10, 0.7), (20, 0.8), (30, 0.9), (40, 1.0), (50, 1.5), (60, 2.3), (70, 3.3), (80, 4.6)],
    )
    def test_rounded_factors_of_thermosetting(self, celsius, factor):
        found = insulation.temperature_factor(
            temperature=kelvin(celsius), system=InsulationSystem.THERMOSETTING
        )
        assert found == pytest.approx(factor, abs=0.06)

    def test_doubling_rule_understates_a_modern_winding_three_times(self):
        old, new = (
            insulation.temperature_factor(temperature=kelvin(20), system=system)
            for system in (InsulationSystem.THERMOPLASTIC, InsulationSystem.THERMOSETTING)
        )
        assert new / old == pytest.approx(3.05, abs=0.01)

    @pytest.mark.parametrize("system", InsulationSystem)
    @pytest.mark.parametrize("celsius", [9.9, 85.1, 0, -5, 120])
    def test_nothing_is_extrapolated(self, system, celsius):
        with pytest.raises(InvalidInput, match="10 to 85 degC") as raised:
            insulation.temperature_factor(temperature=kelvin(celsius), system=system)
        assert raised.value.argument == "temperature"

    @pytest.mark.parametrize("system", InsulationSystem)
    @pytest.mark.parametrize("celsius", [10, 85])
    def test_ends_of_the_range_are_inside(self, system, celsius):
        assert insulation.temperature_factor(temperature=kelvin(celsius), system=system) > 0

    @given(st.floats(10.1, 84.9), st.sampled_from(list(InsulationSystem)))
    def test_minimum_at_todays_temperature_meets_the_minimum_at_40(self, celsius, system):
        shown = insulation.minimum_at_temperature(
            minimum_at_40=5 * MEGOHM, temperature=kelvin(celsius), system=system
        )
        back = insulation.resistance_at_40_degrees(
            resistance=shown, temperature=kelvin(celsius), system=system
        )
        assert back == pytest.approx(5 * MEGOHM)


class TestMinimum:
    @pytest.mark.parametrize(
        ("winding", "voltage", "megohm"),
        [
            (Winding.RANDOM_WOUND, 480, 5),
            (Winding.FORM_WOUND, 4160, 100),
            (Winding.FORM_WOUND, 1000, 100),
            (Winding.FORM_WOUND, 999, 5),
            (Winding.FORM_WOUND, 690, 5),
            (Winding.BEFORE_1970, 480, 1.48),
            (Winding.BEFORE_1970, 4160, 5.16),
        ],
    )
    def test_by_winding(self, winding, voltage, megohm):
        # IEEE 43-2013 table 3, from memory. A modern 480 V motor: 5 Mohm, not kilovolts + 1.
        found = insulation.minimum_resistance(winding=winding, line_voltage=voltage)
        assert found == pytest.approx(megohm * MEGOHM)

    def test_figures_from_memory_can_be_replaced(self):
        found = insulation.minimum_resistance(
            winding=Winding.RANDOM_WOUND, line_voltage=480, random_wound=10 * MEGOHM
        )
        assert found == 10 * MEGOHM


@pytest.mark.parametrize(
    ("rated", "lowest", "highest"),
    [
        (480, 500, 500),
        (500, 500, 500),
        (500.5, 500, 1000),
        (1000, 500, 1000),
        (2500, 500, 1000),
        (4160, 1000, 2500),
        (2500.5, 1000, 2500),
        (5000, 1000, 2500),
        (5000.5, 2500, 5000),
        (12000, 2500, 5000),
    ],
)
def test_direct_test_voltages(rated, lowest, highest):
    # IEEE 43-2013 table 1, IEC 60364-6 table 6A; from memory.
    assert insulation.direct_test_voltages(line_voltage=rated) == (lowest, highest)


class TestPolarizationIndex:
    def test_random_wound_is_never_judged(self):
        # IEEE 43-2013 annex A: absorption ends within two to three minutes.
        answer = insulation.polarization_index_assessable(
            winding=Winding.RANDOM_WOUND, one_minute_at_40=200 * MEGOHM
        )
        assert not answer.assessable
        assert "random-wound" in answer.reason

    @pytest.mark.parametrize(("megohm", "assessable"), [(5000, True), (5001, False)])
    def test_very_high_resistance_is_not_judged(self, megohm, assessable):
        answer = insulation.polarization_index_assessable(
            winding=Winding.FORM_WOUND, one_minute_at_40=megohm * MEGOHM
        )
        assert answer.assessable is assessable
        assert ("above 5000 Mohm at 40 degC" in answer.reason) is not assessable

    @pytest.mark.parametrize(("letter", "least"), [("A", 1.5), ("B", 2.0), ("F", 2.0), ("H", 2.0)])
    def test_minimum_by_thermal_class(self, letter, least):
        # IEEE 43-2000 table 2.
        assert insulation.minimum_polarization_index(thermal_class=letter) == least

    def test_unknown_class_is_named(self):
        with pytest.raises(InvalidInput, match="expected A, B, F, H") as raised:
            insulation.minimum_polarization_index(thermal_class="Z")
        assert raised.value.argument == "thermal_class"


@pytest.mark.parametrize(
    ("argument", "call"),
    [
        ("line_voltage", lambda: insulation.direct_test_voltages(line_voltage=12000.5)),
        (
            "line_voltage",
            lambda: insulation.minimum_resistance(winding=Winding.FORM_WOUND, line_voltage=0),
        ),
        ("one_minute", lambda: insulation.polarization_index(ten_minutes=1, one_minute=0)),
        (
            "resistance",
            lambda: insulation.resistance_at_40_degrees(
                resistance=-1, temperature=300, system=InsulationSystem.THERMOSETTING
            ),
        ),
    ],
)
def test_bad_input_is_named(argument, call):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
