"""Signals, their states, and inputs that do not fit."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations import signals, water
from calculations.errors import InvalidInput
from calculations.signals import ANALOGUE_SIGNALS, InputSymptom, LoopBands, LoopState
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import FOOT, PSI, kelvin
from tests.calculations.worked_examples import Case, worked


def range_of(given: dict) -> dict[str, float]:
    return {
        "lower_range_value": given["LRV_psi"] * PSI,
        "upper_range_value": given["URV_psi"] * PSI,
    }


@worked("signals", "signal: value from current")
def test_example_of_value_from_current(case: Case) -> None:
    given = case["inputs"]
    value = signals.value_from_signal(
        kind="4-20 mA", signal=given["I_mA"] / 1000, **range_of(given)
    )
    assert_matches(case, PV_psi=Near(value / PSI, absolute=1e-9))


@worked("signals", "signal: current from value")
def test_example_of_current_from_value(case: Case) -> None:
    given = case["inputs"]
    current = signals.signal_from_value(
        kind="4-20 mA", value=given["PV_psi"] * PSI, **range_of(given)
    )
    assert_matches(
        case,
        I_mA=Near(1000 * current, absolute=1e-9),
        V_at_250ohm=Near(250 * current, absolute=1e-9),
    )


@worked("signals", "signal: value from voltage")
def test_example_of_value_from_voltage(case: Case) -> None:
    given = case["inputs"]
    value = signals.value_from_signal(kind="0-10 V", signal=given["V"], **range_of(given))
    assert_matches(case, PV_psi=Near(value / PSI, absolute=1e-9))


STATES = {
    LoopState.FAILURE_LOW: "failure low",
    LoopState.INDETERMINATE_LOW: "indeterminate 3.6-3.8",
    LoopState.UNDER_RANGE: "valid under-range",
    LoopState.MEASUREMENT: "valid",
    LoopState.OVER_RANGE: "valid over-range",
    LoopState.INDETERMINATE_HIGH: "indeterminate 20.5-21.0",
    LoopState.FAILURE_HIGH: "failure high",
}


@worked("signals", "signal: state of a loop")
def test_example_of_the_state_of_a_loop(case: Case) -> None:
    state = signals.loop_state(current=case["inputs"]["I_mA"] / 1000)
    assert_matches(case, state=STATES[state])


def offset(elevation: float, temperature: float) -> float:
    return signals.mounting_offset(
        datum_elevation=0.0,
        transmitter_elevation=elevation,
        density=water.density(temperature=temperature),
    )


@worked("signals", "signal: mounting below the datum")
def test_example_of_mounting_below_the_datum(case: Case) -> None:
    given = case["inputs"]
    pressure = offset(-given["transmitter_below_datum_ft"] * FOOT, kelvin(given["t_C"]))
    assert_matches(case, reads_high_psi=Near(pressure / PSI, absolute=0.0002))


@worked("signals", "signal: mounting above the datum")
def test_example_of_mounting_above_the_datum(case: Case) -> None:
    given = case["inputs"]
    pressure = offset(given["transmitter_above_datum_m"], kelvin(given["t_C"]))
    assert_matches(case, reads_low_kPa=Near(-pressure / 1000, absolute=0.001))


@worked("signals", "signal: loop current read across a resistor by a voltage input")
def test_example_of_current_as_voltage(case: Case) -> None:
    given = case["inputs"]
    current = given["I_mA"] / 1000
    true = signals.fraction_from_signal(kind="4-20 mA", signal=current)
    reading = signals.input_reading(
        output="4-20 mA",
        fraction=true,
        selected_input=f"0-{given['input_scale_V']} V",
        burden=given["R_ohm"],
    )
    volts = signals.signal_from_fraction(kind="0-10 V", fraction=reading.fraction)
    assert reading.symptom is InputSymptom.READS
    assert_matches(
        case,
        V=Near(volts, absolute=1e-9),
        reads_pct=Near(100 * reading.fraction, absolute=1e-9),
        true_pct=Near(100 * true, absolute=1e-9),
    )


@worked("signals", "signal: live zero read as dead zero")
def test_example_of_dead_zero(case: Case) -> None:
    current = case["inputs"]["I_mA"] / 1000
    true = signals.fraction_from_signal(kind="4-20 mA", signal=current)
    reading = signals.input_reading(output="4-20 mA", fraction=true, selected_input="0-20 mA")
    assert_matches(
        case,
        reads_pct=Near(100 * reading.fraction, absolute=1e-9),
        true_pct=Near(100 * true, absolute=1e-9),
    )


@worked("signals", "signal: loop budget")
def test_example_of_a_loop_budget(case: Case) -> None:
    given = case["inputs"]
    budget = signals.loop_budget(
        supply_voltage=given["V_supply"],
        transmitter_minimum_voltage=given["V_min_transmitter"],
        highest_current=given["I_max_mA"] / 1000,
        input_resistance=given["R_input"],
        cable_resistance=given["R_cable"],
    )
    assert_matches(
        case,
        R_max_ohm=Near(budget.allowed, absolute=0.001),
        R_total_ohm=Near(budget.total, absolute=1e-9),
        ok=budget.is_enough,
    )


class TestScaling:
    @pytest.mark.parametrize(
        ("kind", "at_quarter"),
        [
            # Definition: lower + 0.25 (upper - lower).
            ("4-20 mA", 0.008),
            ("0-20 mA", 0.005),
            ("0-10 V", 2.5),
            ("2-10 V", 4.0),
            ("0-5 V", 1.25),
            ("1-5 V", 2.0),
            ("0.5-4.5 V", 1.5),
        ],
    )
    def test_a_quarter_of_every_kind(self, kind, at_quarter):
        assert signals.signal_from_fraction(kind=kind, fraction=0.25) == pytest.approx(at_quarter)

    @given(kind=st.sampled_from(sorted(ANALOGUE_SIGNALS)), value=st.floats(-1e6, 1e6))
    def test_there_and_back(self, kind, value):
        scale = {"lower_range_value": -1e5, "upper_range_value": 9e5}
        signal = signals.signal_from_value(kind=kind, value=value, **scale)
        back = signals.value_from_signal(kind=kind, signal=signal, **scale)
        assert back == pytest.approx(value, abs=1e-6)

    def test_a_range_may_run_backwards(self):
        # A level that is measured from above: 4 mA at 5 m, 20 mA at 0 m.
        value = signals.value_from_signal(
            kind="4-20 mA", signal=0.008, lower_range_value=5.0, upper_range_value=0.0
        )
        assert value == pytest.approx(3.75)

    def test_live_zero(self):
        live = {kind for kind, signal in ANALOGUE_SIGNALS.items() if signal.has_live_zero}
        assert live == {"4-20 mA", "2-10 V", "1-5 V", "0.5-4.5 V"}

    @pytest.mark.parametrize("kind", ["digital", "pulse"])
    def test_outputs_without_a_range_say_so(self, kind):
        with pytest.raises(InvalidInput, match="has no analogue range"):
            signals.signal_range(kind=kind)

    def test_unknown_kinds_name_the_known_ones(self):
        with pytest.raises(InvalidInput, match="expected one of 4-20 mA"):
            signals.signal_range(kind="10-50 mA")

    def test_no_span_is_refused(self):
        with pytest.raises(InvalidInput, match="upper_range_value: expected to differ"):
            signals.value_from_signal(
                kind="4-20 mA", signal=0.004, lower_range_value=1, upper_range_value=1
            )

    def test_pulses(self):
        # 10 L a pulse, 2.5 Hz: 25 L/s.
        flow = signals.flow_from_pulses(volume_per_pulse=0.01, pulse_frequency=2.5)
        assert flow == pytest.approx(0.025)
        assert signals.pulses_from_flow(volume_per_pulse=0.01, flow=flow) == pytest.approx(2.5)


class TestLoopState:
    @pytest.mark.parametrize(
        ("milliamperes", "state"),
        [
            (0.0, LoopState.FAILURE_LOW),
            (3.6001, LoopState.INDETERMINATE_LOW),
            (3.8, LoopState.UNDER_RANGE),
            (3.9999, LoopState.UNDER_RANGE),
            (4.0, LoopState.MEASUREMENT),
            (20.0, LoopState.MEASUREMENT),
            (20.0001, LoopState.OVER_RANGE),
            (20.5, LoopState.OVER_RANGE),
            (20.5001, LoopState.INDETERMINATE_HIGH),
            (20.9999, LoopState.INDETERMINATE_HIGH),
        ],
    )
    def test_limits(self, milliamperes, state):
        # NE43 (secondary text).
        assert signals.loop_state(current=milliamperes / 1000) is state

    def test_a_receiver_may_have_its_own_bands(self):
        bands = LoopBands(failure_low=0.0037, failure_high=0.0208)
        assert signals.loop_state(current=0.00365, bands=bands) is LoopState.FAILURE_LOW
        assert signals.loop_state(current=0.0209, bands=bands) is LoopState.FAILURE_HIGH

    def test_bands_have_to_rise(self):
        with pytest.raises(InvalidInput, match="bands"):
            signals.loop_state(current=0.012, bands=LoopBands(failure_low=0.0039))


class TestWrongInput:
    def test_no_burden_pegs_the_input_high(self):
        reading = signals.input_reading(output="4-20 mA", fraction=0.1, selected_input="0-10 V")
        assert (reading.fraction, reading.symptom) == (1.0, InputSymptom.PEGGED_HIGH)

    def test_250_ohm_into_ten_volts_reads_10_to_50_percent(self):
        shown = [
            signals.input_reading(
                output="4-20 mA", fraction=x, selected_input="0-10 V", burden=250
            ).fraction
            for x in (0, 1)
        ]
        assert shown == pytest.approx([0.1, 0.5])

    def test_250_ohm_into_one_to_five_volts_is_right(self):
        reading = signals.input_reading(
            output="4-20 mA", fraction=0.3, selected_input="1-5 V", burden=250
        )
        assert reading.fraction == pytest.approx(0.3)

    def test_a_voltage_source_on_a_current_input_is_overloaded(self):
        reading = signals.input_reading(
            output="0-10 V", fraction=1.0, selected_input="4-20 mA", burden=250
        )
        # 40 mA at 10 V into 250 ohm: 225 % of span.
        assert reading.symptom is InputSymptom.SOURCE_OVERLOADED
        assert reading.fraction == pytest.approx(2.25)
        light = signals.input_reading(
            output="0-10 V",
            fraction=1.0,
            selected_input="0-20 mA",
            burden=500,
            source_current_limit=0.020,
        )
        assert (light.fraction, light.symptom) == (pytest.approx(1.0), InputSymptom.READS)

    @pytest.mark.parametrize(
        ("burden", "symptom"),
        [(1001, InputSymptom.READS), (999, InputSymptom.SOURCE_OVERLOADED)],
    )
    def test_a_voltage_source_usually_carries_10_ma(self, burden, symptom):
        # From memory: 10 V into 1 kohm.
        reading = signals.input_reading(
            output="0-10 V", fraction=0.5, selected_input="0-20 mA", burden=burden
        )
        assert reading.symptom is symptom

    def test_the_resistance_of_a_current_input_has_to_be_known(self):
        with pytest.raises(InvalidInput, match="burden: expected the resistance"):
            signals.input_reading(output="0-10 V", fraction=1, selected_input="4-20 mA")

    def test_a_dead_zero_on_a_live_input_reads_low(self):
        reading = signals.input_reading(output="0-20 mA", fraction=0.0, selected_input="4-20 mA")
        assert reading.fraction == pytest.approx(-0.25)

    @given(kind=st.sampled_from(sorted(ANALOGUE_SIGNALS)), fraction=st.floats(-0.1, 1.1))
    def test_a_fitting_input_reads_true(self, kind, fraction):
        reading = signals.input_reading(output=kind, fraction=fraction, selected_input=kind)
        assert reading.fraction == pytest.approx(fraction, abs=1e-9)
        assert reading.symptom is InputSymptom.READS


class TestLoopBudget:
    def test_too_much_resistance(self):
        budget = signals.loop_budget(
            supply_voltage=24, transmitter_minimum_voltage=10.5, input_resistance=643
        )
        assert not budget.is_enough
        # Exactly what is allowed is enough.
        edge = signals.loop_budget(
            supply_voltage=22,
            transmitter_minimum_voltage=1,
            input_resistance=900,
            cable_resistance=100,
        )
        assert edge.is_enough

    @pytest.mark.parametrize(
        ("changed", "argument"),
        [
            ({"supply_voltage": 10.5}, "supply_voltage"),
            ({"supply_voltage": 0}, "supply_voltage"),
            ({"transmitter_minimum_voltage": -1}, "transmitter_minimum_voltage"),
            ({"input_resistance": -1}, "input_resistance"),
            ({"cable_resistance": -1}, "cable_resistance"),
            ({"highest_current": 0}, "highest_current"),
        ],
    )
    def test_refusals(self, changed, argument):
        good = {
            "supply_voltage": 24,
            "transmitter_minimum_voltage": 10.5,
            "input_resistance": 250,
        }
        with pytest.raises(InvalidInput) as raised:
            signals.loop_budget(**{**good, **changed})
        assert raised.value.argument == argument


def test_a_wet_leg_has_its_own_density():
    heavy = signals.mounting_offset(datum_elevation=2.0, transmitter_elevation=0.5, density=1250.0)
    assert heavy == pytest.approx(1250 * 9.80665 * 1.5)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: signals.fraction_from_signal(kind="4-20 mA", signal=nan), "signal"),
        (lambda: signals.signal_from_fraction(kind="4-20 mA", fraction=inf), "fraction"),
        (
            lambda: signals.signal_from_value(
                kind="4-20 mA", value=nan, lower_range_value=0, upper_range_value=1
            ),
            "value",
        ),
        (
            lambda: signals.signal_from_value(
                kind="4-20 mA", value=1, lower_range_value=nan, upper_range_value=1
            ),
            "lower_range_value",
        ),
        (lambda: signals.loop_state(current=nan), "current"),
        (
            lambda: signals.flow_from_pulses(volume_per_pulse=0, pulse_frequency=1),
            "volume_per_pulse",
        ),
        (
            lambda: signals.flow_from_pulses(volume_per_pulse=1, pulse_frequency=-1),
            "pulse_frequency",
        ),
        (lambda: signals.pulses_from_flow(volume_per_pulse=1, flow=-1), "flow"),
        (lambda: signals.pulses_from_flow(volume_per_pulse=0, flow=1), "volume_per_pulse"),
        (
            lambda: signals.input_reading(
                output="4-20 mA", fraction=0, selected_input="0-10 V", burden=0
            ),
            "burden",
        ),
        (
            lambda: signals.mounting_offset(
                datum_elevation=nan, transmitter_elevation=0, density=1000
            ),
            "datum_elevation",
        ),
        (
            lambda: signals.mounting_offset(datum_elevation=0, transmitter_elevation=0, density=0),
            "density",
        ),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
