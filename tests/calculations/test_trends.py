"""Change against an earlier visit."""

from math import nan

import pytest

from calculations import hydraulics, trends
from calculations.affinity import OperatingPoint
from calculations.errors import InvalidInput
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import FOOT, GALLON, GPM
from tests.calculations.worked_examples import Case, worked


@worked("trends", "trend: efficiency")
def test_example_of_efficiency(case: Case) -> None:
    before, now = case["inputs"]["eta_base_pct"] / 100, case["inputs"]["eta_now_pct"] / 100
    change = trends.relative_change(before=before, now=now)
    energy = trends.energy_per_volume_change(efficiency_before=before, efficiency_now=now)
    assert_matches(
        case,
        relative_change_pct=Near(100 * change, absolute=1e-4),
        energy_per_volume_change_pct=Near(100 * energy, absolute=1e-4),
    )


@worked("trends", "trend: head at another speed")
def test_example_of_head(case: Case) -> None:
    base, now = case["inputs"]["base"], case["inputs"]["now"]
    change = trends.head_change(
        base=OperatingPoint(base["Q_gpm"] * GPM, base["H_ft"] * FOOT),
        base_speed=base["n"] / 60,
        now=OperatingPoint(now["Q_gpm"] * GPM, now["H_ft"] * FOOT),
        now_speed=now["n"] / 60,
    )
    assert change.flow_difference == pytest.approx(0, abs=1e-4)
    assert_matches(
        case,
        Q_scaled_gpm=Near(change.corrected.flow / GPM, absolute=0.005),
        H_scaled_ft=Near(change.corrected.head / FOOT, absolute=0.001),
        head_loss_pct=Near(100 * change.change, absolute=0.001),
        unscaled_head_loss_pct=Near(100 * change.uncorrected_change, absolute=1e-9),
    )


@worked("trends", "trend: specific energy")
def test_example_of_specific_energy(case: Case) -> None:
    given = case["inputs"]
    energy = hydraulics.specific_energy(power=1000 * given["P_kW"], flow=given["Q_gpm"] * GPM)
    assert_matches(
        case,
        kWh_per_MG=Near(energy * 1e6 * GALLON / 3.6e6, relative=1e-5),
        kWh_per_m3=Near(energy / 3.6e6, relative=1e-5),
    )


def test_combined_uncertainty_of_an_efficiency():
    # Flow 2 %, head 0.5 %, power 1 %: sqrt(4 + 0.25 + 1) = 2.29 % (JCGM-100-2008, 5.1.6).
    combined = trends.combined_uncertainty(0.02, 0.005, 0.01)
    assert combined == pytest.approx(0.0229, abs=5e-5)


class TestRealChange:
    GIVEN = {"uncertainty_before": 0.023, "uncertainty_now": 0.023, "limit": 0.02}

    def test_two_percent_are_noise(self):
        assert not trends.is_real_change(change=-0.02, **self.GIVEN)

    @pytest.mark.parametrize("change", [-0.072, 0.072])
    def test_seven_percent_are_not(self, change):
        assert trends.is_real_change(change=change, **self.GIVEN)

    def test_the_limit_counts_as_well(self):
        given = {"uncertainty_before": 0.0, "uncertainty_now": 0.0, "limit": 0.05}
        assert not trends.is_real_change(change=0.05, **given)
        assert trends.is_real_change(change=0.051, **given)


def test_change_of_a_negative_value_keeps_its_direction():
    assert trends.relative_change(before=-2.0, now=-1.0) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: trends.relative_change(before=0, now=1), "before"),
        (lambda: trends.relative_change(before=1, now=nan), "now"),
        (
            lambda: trends.energy_per_volume_change(efficiency_before=0, efficiency_now=1),
            "efficiency_before",
        ),
        (
            lambda: trends.energy_per_volume_change(efficiency_before=1, efficiency_now=0),
            "efficiency_now",
        ),
        (lambda: trends.combined_uncertainty(), "parts"),
        (lambda: trends.combined_uncertainty(0.1, -0.1), "parts"),
        (
            lambda: trends.is_real_change(
                change=nan, uncertainty_before=0, uncertainty_now=0, limit=0
            ),
            "change",
        ),
        (
            lambda: trends.is_real_change(
                change=0, uncertainty_before=0, uncertainty_now=0, limit=-1
            ),
            "limit",
        ),
        (
            lambda: trends.head_change(
                base=OperatingPoint(0, 1), base_speed=1, now=OperatingPoint(1, 1), now_speed=1
            ),
            "base_flow",
        ),
        (
            lambda: trends.head_change(
                base=OperatingPoint(1, 1), base_speed=1, now=OperatingPoint(1, 1), now_speed=0
            ),
            "from_speed",
        ),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
