"""Verification of sensors."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations import verification
from calculations.errors import InvalidInput
from calculations.signals import fraction_from_signal
from calculations.verification import CheckPoint, ErrorVerdict, verify
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import PSI
from tests.calculations.worked_examples import Case, worked


@worked("verification", "verification: five points up and down")
def test_example_of_five_points(case: Case) -> None:
    given = case["inputs"]
    assert given["span_mA"] == 16

    def shares(milliamperes: list[float]) -> list[float]:
        return [fraction_from_signal(kind="4-20 mA", signal=i / 1000) for i in milliamperes]

    applied = [percent / 100 for percent in given["input_pct"]]
    up = zip(applied, shares(given["up_mA"]), strict=True)
    down = zip(applied, shares(given["down_mA"]), strict=True)
    result = verify(
        points=[CheckPoint(*point, rising=True) for point in up]
        + [CheckPoint(*point, rising=False) for point in reversed(list(down))],
        span=1.0,
    )
    percent = [100 * error for error in result.errors]
    published = case["expected"]
    assert percent[:5] == pytest.approx(published["err_up_pct_span"], abs=1e-6)
    assert percent[:4:-1] == pytest.approx(published["err_down_pct_span"], abs=1e-6)
    assert_matches(
        case,
        err_up_pct_span=published["err_up_pct_span"],
        err_down_pct_span=published["err_down_pct_span"],
        max_abs_err_pct=Near(100 * result.largest_error, absolute=1e-6),
        max_hysteresis_pct=Near(100 * result.hysteresis, absolute=1e-6),
        terminal_based_nonlinearity_pct=Near(100 * result.terminal_nonlinearity, absolute=1e-4),
        independent_nonlinearity_pct=Near(100 * result.independent_nonlinearity, absolute=1e-4),
    )


@worked("verification", "verification: uncertainty ratio and guard band")
def test_example_of_guard_band(case: Case) -> None:
    given = case["inputs"]
    tolerance = given["tolerance_pct_span"] / 100 * given["span_psi"] * PSI
    uncertainty = verification.instrument_uncertainty(
        reading=65 * PSI,
        range_low=0.0,
        range_high=given["reference_range_psi"] * PSI,
        share_of_range=given["reference_U95_pct"] / 100,
    )
    ratio = verification.uncertainty_ratio(tolerance=tolerance, uncertainty=uncertainty)
    limit = verification.acceptance_limit(tolerance=tolerance, uncertainty=uncertainty)
    assert_matches(
        case,
        T_psi=Near(tolerance / PSI, absolute=1e-9),
        U_psi=Near(uncertainty / PSI, absolute=1e-9),
        TUR=Near(ratio, absolute=1e-9),
        meets_4_to_1=ratio >= verification.RATIO_WITHOUT_GUARD_BAND,
        accept_limit_T_minus_U_psi=Near((tolerance - uncertainty) / PSI, absolute=1e-9),
        method6_M=Near(verification.guard_band_multiplier(ratio=ratio), absolute=1e-5),
        accept_limit_method6_psi=Near(limit / PSI, absolute=1e-5),
    )


@worked("verification", "verification: guard band multiplier")
def test_example_of_multiplier(case: Case) -> None:
    ratio = case["inputs"]["TUR"]
    limit = verification.acceptance_limit(tolerance=1.0, uncertainty=1 / ratio)
    assert_matches(
        case,
        M=Near(verification.guard_band_multiplier(ratio=ratio), absolute=1e-4),
        A_over_T=Near(limit, absolute=1e-4),
    )


def ups(*pairs):
    return [CheckPoint(applied, indicated, rising=True) for applied, indicated in pairs]


def downs(*pairs):
    return [CheckPoint(applied, indicated, rising=False) for applied, indicated in pairs]


class TestVerify:
    def test_a_single_point_has_only_an_error(self):
        result = verify(points=ups((5.0, 5.1)), span=10.0)
        assert result.errors == pytest.approx([0.01])
        assert result.hysteresis is None
        assert result.terminal_nonlinearity is None
        assert result.independent_nonlinearity is None

    def test_the_largest_error_may_be_negative(self):
        assert verify(points=ups((0, 0.1), (5, 4.7)), span=10).largest_error == pytest.approx(0.03)

    def test_points_up_only_show_no_hysteresis(self):
        result = verify(points=ups((0, 0), (5, 5.1), (10, 10)), span=10)
        assert result.hysteresis is None
        assert result.terminal_nonlinearity == pytest.approx(0.01)
        # The narrowest band is as high as the bow, its middle half of it away.
        assert result.independent_nonlinearity == pytest.approx(0.005)

    def test_a_zero_shift_is_an_error_but_no_nonlinearity(self):
        result = verify(points=ups((0, 0.2), (5, 5.2), (10, 10.2)), span=10)
        assert result.largest_error == pytest.approx(0.02)
        assert result.terminal_nonlinearity == pytest.approx(0, abs=1e-12)
        assert result.independent_nonlinearity == pytest.approx(0, abs=1e-12)

    def test_a_span_error_is_no_nonlinearity_either(self):
        result = verify(points=ups((0, 0), (5, 5.2), (10, 10.4)), span=10)
        assert result.independent_nonlinearity == pytest.approx(0, abs=1e-12)

    def test_a_bow_downwards(self):
        result = verify(points=ups((0, 0), (5, 4.8), (10, 10)), span=10)
        assert result.terminal_nonlinearity == pytest.approx(0.02)
        assert result.independent_nonlinearity == pytest.approx(0.01)

    def test_an_s_shape(self):
        # Errors 0, 1, 0, -1, 0 %: the band of least height leans.
        result = verify(points=ups((0, 0), (25, 26), (50, 50), (75, 74), (100, 100)), span=100)
        assert result.terminal_nonlinearity == pytest.approx(0.01)
        assert result.independent_nonlinearity == pytest.approx(1 / 150)

    def test_several_points_of_the_hull(self):
        # A bow of five points: errors 0, 3, 4, 3, 0 per mille; the level band of 4 is narrowest.
        bow = ups((0, 0), (25, 25.3), (50, 50.4), (75, 75.3), (100, 100))
        assert verify(points=bow, span=100).independent_nonlinearity == pytest.approx(0.002)
        # Errors 0, 1, 2, 0 per mille: along the rise of 1 in 25, or level, or 0 to 100.
        leaning = ups((0, 0), (25, 25.1), (50, 50.2), (100, 100))
        assert verify(points=leaning, span=100).independent_nonlinearity == pytest.approx(0.001)

    def test_down_and_up_need_not_be_applied_at_the_same_value(self):
        # 50.0 up and 50.1 down: the errors are compared, not the indications.
        points = ups((0, 0), (50.0, 50.0), (100, 100)) + downs((50.1, 50.3), (0, 0))
        result = verify(points=points, span=100)
        assert result.hysteresis == pytest.approx(0.002)

    @pytest.mark.parametrize("way", [1, -1])
    def test_of_several_readings_of_an_input_those_farthest_apart_count(self, way):
        # At 50: errors of 1 and 3 per mille one way, of 0 and 2 the other; 3 and 0 are farthest.
        one, other = ((50, 50.1), (50, 50.3)), ((50, 50.2), (50, 50.0))
        points = [*ups(*one), *downs(*other)] if way > 0 else [*ups(*other), *downs(*one)]
        assert verify(points=points, span=100).hysteresis == pytest.approx(0.003)

    def test_what_is_one_input_can_be_set(self):
        points = ups((0, 0), (50, 50), (100, 100)) + downs((53, 53.4))
        assert verify(points=points, span=100).hysteresis is None
        assert verify(points=points, span=100, same_input=0.04).hysteresis == pytest.approx(0.004)

    @given(
        st.lists(st.floats(-2, 2), min_size=3, max_size=9),
        st.floats(-0.05, 0.05),
        st.floats(-5, 5),
    )
    def test_no_line_beats_the_independent_one(self, errors, slope, zero):
        applied = [100 * i / (len(errors) - 1) for i in range(len(errors))]
        points = ups(*[(x, x + e) for x, e in zip(applied, errors, strict=True)])
        result = verify(points=points, span=100)
        other = max(abs(e - zero - slope * x) for x, e in zip(applied, errors, strict=True))
        assert result.independent_nonlinearity <= other / 100 + 1e-12
        assert result.independent_nonlinearity <= result.terminal_nonlinearity + 1e-12

    @pytest.mark.parametrize(
        ("points", "span", "argument"),
        [
            ([], 1, "points"),
            (ups((0, 0)), 0, "span"),
            (ups((nan, 0)), 1, "applied"),
            (ups((0, inf)), 1, "indicated"),
        ],
    )
    def test_refusals(self, points, span, argument):
        with pytest.raises(InvalidInput) as raised:
            verify(points=points, span=span)
        assert raised.value.argument == argument


class TestInstruments:
    def test_percent_of_range_is_not_percent_of_reading(self):
        given = {"reading": 65.0, "range_low": 0.0, "range_high": 150.0}
        of_range = verification.instrument_uncertainty(**given, share_of_range=0.0025)
        of_reading = verification.instrument_uncertainty(**given, share_of_reading=0.0025)
        assert of_range == pytest.approx(0.375)
        assert of_reading == pytest.approx(0.1625)
        # 0.25 % of 150 is 0.58 % of a set point of 65.
        assert of_range / 65 == pytest.approx(0.0058, abs=1e-4)

    def test_a_compound_range_counts_from_end_to_end(self):
        value = verification.instrument_uncertainty(
            reading=0, range_low=-1.0, range_high=9.0, share_of_range=0.01
        )
        assert value == pytest.approx(0.1)

    def test_digits_count_resolution(self):
        # 0.5 % of reading + 3 digits of 0.1.
        given = {"reading": -40.0, "share_of_reading": 0.005, "resolution": 0.1}
        assert verification.instrument_uncertainty(**given, digits=3) == pytest.approx(0.5)
        assert verification.instrument_uncertainty(**given, digits=0) == pytest.approx(0.2)

    def test_resolution_alone_counts_half_a_digit(self):
        assert verification.instrument_uncertainty(reading=1, resolution=0.2) == pytest.approx(0.1)

    def test_a_statement_that_says_nothing(self):
        with pytest.raises(InvalidInput, match="share_of_range: expected at least one part"):
            verification.instrument_uncertainty(reading=1)

    @pytest.mark.parametrize(
        ("given", "argument"),
        [
            ({"share_of_range": 0.01}, "range_high"),
            ({"share_of_range": 0.01, "range_low": 0.0}, "range_high"),
            ({"share_of_range": 0.01, "range_low": 1.0, "range_high": 1.0}, "range_high"),
            ({"share_of_range": 0.01, "range_low": nan, "range_high": 1.0}, "range_low"),
            ({"share_of_range": -0.01}, "share_of_range"),
            ({"share_of_reading": -0.01}, "share_of_reading"),
            ({"resolution": -1.0}, "resolution"),
            ({"resolution": 1.0, "digits": -1}, "digits"),
        ],
    )
    def test_refusals(self, given, argument):
        with pytest.raises(InvalidInput) as raised:
            verification.instrument_uncertainty(reading=1.0, **given)
        assert raised.value.argument == argument

    @pytest.mark.parametrize("reading", [inf, nan])
    def test_a_reading_that_is_no_number(self, reading):
        with pytest.raises(InvalidInput) as raised:
            verification.instrument_uncertainty(reading=reading, resolution=1.0)
        assert raised.value.argument == "reading"

    def test_certificates_are_brought_to_two(self):
        value = verification.certificate_uncertainty(uncertainty=0.3, coverage_factor=3)
        assert value == pytest.approx(0.2)
        with pytest.raises(InvalidInput, match="coverage_factor"):
            verification.certificate_uncertainty(uncertainty=0.3, coverage_factor=0.9)
        with pytest.raises(InvalidInput, match="uncertainty"):
            verification.certificate_uncertainty(uncertainty=-0.3, coverage_factor=2)


class TestGuardBand:
    def test_a_good_gauge_may_be_too_coarse(self):
        # 0.1 % of 200 psi against 0.25 % of 100 psi.
        ratio = verification.uncertainty_ratio(tolerance=0.25, uncertainty=0.2)
        assert ratio == pytest.approx(1.25)

    def test_a_perfect_reference_needs_no_guard_band(self):
        assert verification.acceptance_limit(tolerance=0.5, uncertainty=0.0) == 0.5

    def test_a_reference_coarser_than_the_tolerance_can_accept_nothing(self):
        assert verification.acceptance_limit(tolerance=0.2, uncertainty=1.0) == 0.0
        verdict = verification.judge_error(error=0.0, tolerance=0.2, uncertainty=1.0)
        assert verdict is ErrorVerdict.UNDECIDED

    @pytest.mark.parametrize(
        ("error", "verdict"),
        [
            (0.36, ErrorVerdict.INSIDE),
            (-0.367, ErrorVerdict.INSIDE),
            (0.37, ErrorVerdict.UNDECIDED),
            (-0.375, ErrorVerdict.UNDECIDED),
            (0.376, ErrorVerdict.OUTSIDE),
            (-0.4, ErrorVerdict.OUTSIDE),
        ],
    )
    def test_verdicts(self, error, verdict):
        # Limits of the worked example: 0.3673 and 0.375.
        assert verification.judge_error(error=error, tolerance=0.375, uncertainty=0.1) is verdict

    def test_several_errors_have_their_verdicts_in_order(self):
        verdicts = verification.judge_errors(
            errors=(0.376, -0.36, 0.37), tolerance=0.375, uncertainty=0.1
        )
        assert verdicts == (ErrorVerdict.OUTSIDE, ErrorVerdict.INSIDE, ErrorVerdict.UNDECIDED)
        assert verification.judge_errors(errors=(), tolerance=0.375, uncertainty=0.1) == ()

    @pytest.mark.parametrize(
        ("call", "argument"),
        [
            (
                lambda: verification.uncertainty_ratio(tolerance=0, uncertainty=1),
                "tolerance",
            ),
            (
                lambda: verification.uncertainty_ratio(tolerance=1, uncertainty=0),
                "uncertainty",
            ),
            (lambda: verification.guard_band_multiplier(ratio=0), "ratio"),
            (lambda: verification.acceptance_limit(tolerance=0, uncertainty=1), "tolerance"),
            (lambda: verification.acceptance_limit(tolerance=1, uncertainty=-1), "uncertainty"),
            (
                lambda: verification.judge_error(error=nan, tolerance=1, uncertainty=1),
                "error",
            ),
        ],
    )
    def test_refusals(self, call, argument):
        with pytest.raises(InvalidInput) as raised:
            call()
        assert raised.value.argument == argument


def test_a_range_that_begins_elsewhere_is_as_linear():
    """Errors of 0, 0.3, -0.1, 0.2 and 0.4 % at 0 to 100, and at 250 to 350."""
    errors = (0.0, 0.3, -0.1, 0.2, 0.4)

    def linearity(first):
        applied = [first + 25 * step for step in range(5)]
        points = [CheckPoint(x, x + error, True) for x, error in zip(applied, errors, strict=True)]
        found = verification.verify(points=points, span=100)
        return found.terminal_nonlinearity, found.independent_nonlinearity

    assert linearity(250) == pytest.approx(linearity(0))
    # Terminal: 0.4 % over the range; 0.3 less 0.1 and -0.1 less 0.2 at a quarter and at half.
    assert linearity(0)[0] == pytest.approx(0.003)
    # The narrowest of four bands runs along the edge from 0.3 to 0.4, 0.1 in 75: -0.1 at half lies
    # 0.3333 + 0.1 under it. (Along the others it is 0.6, 0.65 and 0.8 high.)
    assert linearity(0)[1] == pytest.approx(0.004333 / 2, abs=1e-6)


@pytest.mark.parametrize(
    ("shares", "expected"),
    [
        # Common practice, no source.
        ((0, 0.25, 0.5, 0.75, 1), True),
        ((1, 0, 0.5, 0, 1), True),
        ((0.1, 0.5, 0.9), True),
        ((0, 0.35, 0.7, 1.05), True),  # evenly spaced
        ((0, 1), True),
        ((0.03, 0.43), False),  # two are always evenly spaced
        ((0, 0.33, 1), False),
        ((0.5, 0.5, 0.5), False),  # one value in service
        ((0.5,), False),
        ((), False),
        ((0, 0.250002, 0.5), False),
        ((0, 0.2500005, 0.5), True),
    ],
)
def test_check_points_that_were_set(shares, expected):
    assert verification.are_check_points(shares=shares) is expected


def test_check_points_are_numbers():
    with pytest.raises(InvalidInput):
        verification.are_check_points(shares=[0.0, float("nan")])
