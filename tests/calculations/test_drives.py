"""What a drive can give, and what its pulses do at the end of a cable."""

import pytest

from calculations import drives
from calculations.errors import InvalidInput
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked


def kelvin(celsius: float) -> float:
    return celsius + 273.15


@worked("drives", "7 drive rating after derating")
def test_example_of_derating(case: Case) -> None:
    given = case["inputs"]
    altitude = drives.altitude_factor(altitude=given["altitude_m"])
    ambient = drives.ambient_factor(temperature=kelvin(given["ambient_C"]))
    left = drives.available_current(
        rated_current=given["I_drive_A"], factors={"altitude": altitude, "ambient": ambient}
    )
    margin = left.margin(given["motor_FLA_A"])
    assert_matches(
        case,
        k_alt=Near(altitude, absolute=1e-9),
        k_amb=Near(ambient, absolute=1e-9),
        I_available_A=Near(left.current, absolute=1e-6),
        ok=margin >= 0,
        margin_pct=Near(100 * margin, absolute=1e-4),
    )


@worked("drives", "5 critical cable length")
def test_example_of_cable_length(case: Case) -> None:
    given = case["inputs"]
    length = drives.critical_cable_length(
        rise_time=given["t_rise_us"] * 1e-6, wave_speed=given["v_m_per_us"] * 1e6
    )
    assert_matches(
        case,
        l_crit_m=Near(length, relative=1e-9),
        l_crit_ft=Near(length / 0.3048, relative=5e-5),
    )


@worked("drives", "5 motor terminal peak")
def test_example_of_peak(case: Case) -> None:
    given = case["inputs"]
    link = drives.dc_link_voltage(line_voltage=given["V_LL"])
    loaded = drives.dc_link_voltage(line_voltage=given["V_LL"], loaded=True)
    peak = drives.terminal_peak(dc_link=link, reflection_factor=given["Gamma"])
    figures = {
        "Vdc_ideal_V": Near(link, relative=1e-5),
        "Vdc_loaded_1.35_V": Near(loaded, relative=1e-9),
        "Vpeak_V": Near(peak, relative=1e-5),
        "MG1_part31_limit_3.1x460_V": Near(
            drives.inverter_duty_peak(rated_voltage=460), relative=1e-9
        ),
        "MG1_part30_limit_V": drives.GENERAL_PURPOSE_PEAK,
    }
    assert_matches(case, **figures)


class TestDerating:
    # Common practice of three drive manuals: 1 % per 100 m above 1000 m, 1 % per K above 40 degC.
    @pytest.mark.parametrize(
        ("altitude", "factor"), [(-50, 1), (1000, 1), (1800, 0.92), (2000, 0.90), (4000, 0.70)]
    )
    def test_altitude(self, altitude, factor):
        assert drives.altitude_factor(altitude=altitude) == pytest.approx(factor)

    @pytest.mark.parametrize(("celsius", "factor"), [(-10, 1), (40, 1), (50, 0.90), (55, 0.85)])
    def test_ambient(self, celsius, factor):
        assert drives.ambient_factor(temperature=kelvin(celsius)) == pytest.approx(factor)

    def test_other_makers_figures_replace_the_defaults(self):
        # Other published habits: 5 % per 1000 m, 2.5 % per K.
        altitude = drives.altitude_factor(altitude=2000, loss_per_metre=0.05 / 1000)
        ambient = drives.ambient_factor(temperature=kelvin(44), loss_per_kelvin=0.025)
        assert (altitude, ambient) == (pytest.approx(0.95), pytest.approx(0.90))

    def test_carrier(self):
        # 8 kHz on a drive rated at 4 kHz that loses 5 % per kHz.
        factor = drives.carrier_factor(carrier=8000, carrier_at_rating=4000, loss_per_hertz=5e-5)
        assert factor == pytest.approx(0.80)
        below = drives.carrier_factor(carrier=2000, carrier_at_rating=4000, loss_per_hertz=5e-5)
        assert below == 1

    def test_factors_multiply_and_do_not_add(self):
        left = drives.available_current(rated_current=100, factors={"a": 0.95, "b": 0.95})
        assert left.current == pytest.approx(90.25)
        assert left.current != pytest.approx(90.0, abs=0.1)

    @pytest.mark.parametrize(
        ("required", "tipping"), [(57, None), (58.7, "ambient"), (62, "altitude"), (66, "rated")]
    )
    def test_the_factor_that_tips_it_is_named(self, required, tipping):
        left = drives.available_current(
            rated_current=65, factors={"altitude": 0.95, "ambient": 0.95}
        )
        assert left.tipping_factor(required) == tipping


class TestSinglePhase:
    def test_half_without_a_stated_rating(self):
        # Common practice of several application texts.
        assert drives.single_phase_rated_current(rated_current=65) == 32.5
        assert drives.single_phase_rated_current(rated_current=65, stated=37) == 37

    def test_input_current_spans_the_root_of_three(self):
        # Definition for equal power and power factor: sqrt(3) = 1.732.
        lowest, highest = drives.single_phase_input_current(three_phase_input=100)
        assert (lowest, highest) == (pytest.approx(170), pytest.approx(200))
        assert lowest < 173.2 < highest


def test_loaded_link_is_the_mean_of_a_six_pulse_bridge():
    # Definition: 3 sqrt(2) / pi = 1.3505.
    loaded = drives.dc_link_voltage(line_voltage=480, loaded=True)
    assert loaded == pytest.approx(1.35047 * 480, rel=0.001)


@pytest.mark.parametrize(
    ("argument", "call"),
    [
        ("altitude", lambda: drives.altitude_factor(altitude=4001)),
        (
            "altitude",
            lambda: drives.altitude_factor(altitude=4000, loss_per_metre=0.001),
        ),
        ("temperature", lambda: drives.ambient_factor(temperature=kelvin(56))),
        ("temperature", lambda: drives.ambient_factor(temperature=45)),
        ("ambient", lambda: drives.available_current(rated_current=1, factors={"ambient": 95})),
        ("rated_current", lambda: drives.available_current(rated_current=0, factors={})),
        ("rise_time", lambda: drives.critical_cable_length(rise_time=0)),
        ("reflection_factor", lambda: drives.terminal_peak(dc_link=1, reflection_factor=1.1)),
    ],
)
def test_bad_input_is_named(argument, call):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
