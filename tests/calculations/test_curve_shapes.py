"""Curves through points keep their shape."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations.curve_shapes import PiecewiseCubic, PowerLaw, through_points
from calculations.duty_points import Outcome, duty_points
from calculations.errors import InvalidInput
from calculations.pump_curves import CurvePoint, fit_pump_curve
from calculations.roots import crossings, root_between, root_of_falling
from calculations.system_curves import FrictionCurve


@st.composite
def falling_points(draw):
    count = draw(st.integers(4, 12))
    widths = draw(st.lists(st.floats(0.1, 10), min_size=count, max_size=count))
    drops = draw(st.lists(st.floats(0.0, 10), min_size=count, max_size=count))
    abscissas, ordinates, x, y = [], [], 0.0, 100.0
    for width, drop in zip(widths, drops, strict=True):
        abscissas.append(x)
        ordinates.append(y)
        x, y = x + width, y - drop
    return abscissas, ordinates


@given(points=falling_points(), share=st.floats(0, 1))
def test_falling_points_give_a_falling_curve(points, share):
    abscissas, ordinates = points
    curve = through_points(abscissas=abscissas, ordinates=ordinates)
    for i in range(len(abscissas) - 1):
        left, right = abscissas[i], abscissas[i + 1]
        x = left + share * (right - left)
        assert ordinates[i + 1] - 1e-9 <= curve.value(x) <= ordinates[i] + 1e-9
        assert curve.slope(x) <= 1e-9


@given(points=falling_points())
def test_the_curve_runs_through_its_points(points):
    abscissas, ordinates = points
    curve = through_points(abscissas=abscissas, ordinates=ordinates)
    assert curve.knots == tuple(abscissas)
    for x, y in zip(abscissas, ordinates, strict=True):
        assert curve.value(x) == pytest.approx(y, abs=1e-9)


def test_three_points_give_the_parabola():
    # y = 50 - 2x - 3x^2.
    curve = through_points(abscissas=[0, 1, 3], ordinates=[50, 45, 17])
    assert curve.value(2) == pytest.approx(34)
    assert curve.slope(2) == pytest.approx(-14)
    assert curve.knots == (0, 3)


def test_three_points_at_uneven_distances():
    # y = 60 - x - 2x^2 at 1, 3 and 4.
    curve = through_points(abscissas=[1, 3, 4], ordinates=[57, 39, 24])
    assert curve.value(2) == pytest.approx(50)
    assert curve.slope(1) == pytest.approx(-5)


def test_a_parabola_is_split_at_its_vertex():
    # y = 50 + 4x - x^2: highest, 54, at 2.
    curve = through_points(abscissas=[0, 1, 5], ordinates=[50, 53, 45])
    assert curve.knots == (0, 2, 5)
    assert curve.value(2) == pytest.approx(54)
    assert curve.value(3) == pytest.approx(53)
    assert curve.slope(1) == pytest.approx(2)
    assert curve.slope(4) == pytest.approx(-4)


def test_two_points_give_a_parabola_with_its_vertex_at_zero():
    # The shape of EPANET-2.2 with exponent 2: 250 = 333.33 - B 1500^2.
    curve = through_points(abscissas=[0, 1500], ordinates=[1000 / 3, 250])
    assert curve.value(750) == pytest.approx(1000 / 3 - 3.7037037e-5 * 750**2)
    assert curve.slope(0) == 0
    later = through_points(abscissas=[1, 2], ordinates=[9, 6])
    assert later.value(1.5) == pytest.approx(10 - 1.5**2)


def test_three_points_on_a_line_stay_a_line():
    curve = through_points(abscissas=[0, 1, 3], ordinates=[9, 7, 3])
    assert curve.knots == (0, 3)
    assert curve.value(2) == pytest.approx(5)


def test_beyond_the_last_knot_the_end_slope_goes_on():
    curve = through_points(abscissas=[0, 1, 3], ordinates=[50, 45, 17])
    assert curve.value(4) == pytest.approx(17 - 20)
    assert curve.slope(4) == pytest.approx(-20)


@pytest.mark.parametrize(
    ("abscissas", "ordinates", "slope"),
    [
        # Three-point formula of FRITSCH-BUTLAND-1984 at an end, by hand: widths 1 and 2, chords
        # -1 and -3: ((2 x 1 + 2) (-1) - 1 (-3)) / (1 + 2).
        ([0, 1, 3, 4], [10, 9, 3, -1], -1 / 3),
        # Widths 1 and 1, chords -1 and -4: (3 (-1) + 4) / 2 would rise, so that it starts flat.
        ([0, 1, 2, 3], [10, 9, 5, 0], 0),
        # Chords 1 and -10: (3 + 10) / 2 = 6.5, held at three times the chord.
        ([0, 1, 2, 3], [10, 11, 1, -10], 3),
        # Chords 1 and -1: (3 + 1) / 2 stays below that.
        ([0, 1, 2, 3], [10, 11, 10, 8], 2),
        # Chords -1 and -0.1: steeper than three times a chord is no matter where none turns.
        ([0, 1, 21, 22], [10, 9, 7, 6], -(22 - 0.1) / 21),
    ],
)
def test_slope_at_an_end(abscissas, ordinates, slope):
    curve = through_points(abscissas=abscissas, ordinates=ordinates)
    assert curve.slope(0) == pytest.approx(slope, abs=1e-12)


def test_flat_stretches_stay_flat():
    curve = through_points(abscissas=[0, 1, 2, 3, 4], ordinates=[5, 4, 4, 3, 1])
    assert curve.value(1.5) == pytest.approx(4)
    assert curve.slope(1.0) == 0


@pytest.mark.parametrize(
    ("abscissas", "ordinates", "argument"),
    [
        ([0, 1], [1], "ordinates"),
        ([0], [1], "abscissas"),
        ([0, 1, 1], [3, 2, 1], "abscissas"),
        ([0, 2, 1], [3, 2, 1], "abscissas"),
        ([0, 1, nan], [3, 2, 1], "abscissas"),
        ([0, 1, 2], [3, inf, 1], "ordinates"),
    ],
)
def test_refusals_name_the_argument(abscissas, ordinates, argument):
    with pytest.raises(InvalidInput) as raised:
        through_points(abscissas=abscissas, ordinates=ordinates)
    assert raised.value.argument == argument


def test_power_law():
    law = PowerLaw(intercept=50, coefficient=2, exponent=2)
    assert law.knots == pytest.approx((0, 5))
    assert (law.value(3), law.slope(3)) == pytest.approx((32, -12))


class TestRoots:
    def test_a_root_is_found_closely(self):
        assert root_between(lambda x: x**3 - 2, 0, 5) == pytest.approx(2 ** (1 / 3), rel=1e-12)
        assert root_between(lambda x: 2 - x**9, 0, 9) == pytest.approx(2 ** (1 / 9), rel=1e-12)

    @pytest.mark.parametrize(
        ("function", "high", "root", "most"),
        [
            (lambda x: x**3 - 2, 2, 2 ** (1 / 3), 11),  # halves alone: 13
            (lambda x: 40 - 30 * x**2, 3, (4 / 3) ** 0.5, 11),
            (lambda x: x**9 - 1e-3, 2, 1e-3 ** (1 / 9), 35),  # shares alone: never
            (lambda x: x**5 - 1e-10, 1, 0.01, 45),
        ],
    )
    def test_a_root_is_found_in_few_steps_also_where_the_curve_is_flat(
        self, function, high, root, most
    ):
        asked = []
        found = root_between(lambda x: asked.append(x) or function(x), 0, high)
        assert found == pytest.approx(root, rel=1e-11)
        assert len(asked) <= most

    @pytest.mark.parametrize(("low", "high"), [(2, 5), (0, 2)])
    def test_a_root_at_an_end(self, low, high):
        assert root_between(lambda x: x - 2, low, high) == 2

    def test_parts_show_several_roots(self):
        found = crossings(lambda x: (x - 1) * (x - 2), 0, 3.1, parts=16)
        assert found == pytest.approx([1, 2])
        assert crossings(lambda x: (x - 1) * (x - 2), 0, 3.1) == []

    def test_no_abscissa_is_asked_twice(self):
        asked = []

        def ordinate(x):
            asked.append(x)
            return (x - 1) * (x - 2)

        crossings(ordinate, 0, 3.1, parts=16)
        assert len(asked) == len(set(asked))

    def test_a_root_on_an_edge_counts_once(self):
        assert crossings(lambda x: x - 1, 0, 2, parts=2) == [1]
        assert crossings(lambda x: x - 1, 0, 3) == pytest.approx([1])
        assert crossings(lambda x: x - 2, 0, 2, parts=2) == [2]
        assert crossings(lambda x: x, 0, 2, parts=2) == [0]


class TestByHand:
    """Values worked out on paper from the equations that the sources print."""

    def test_two_points_that_begin_late(self):
        # y = 10 - x^2 / 2 through (2, 8) and (4, 2).
        curve = through_points(abscissas=[2, 4], ordinates=[8, 2])
        assert [curve.value(x) for x in (2, 3, 4)] == pytest.approx([8, 5.5, 2])
        assert [curve.slope(x) for x in (2, 3, 4)] == pytest.approx([-2, -3, -4])

    @pytest.mark.parametrize(
        ("parabola", "abscissas", "knots"),
        [
            (lambda x: 4 - (x - 3) ** 2 / 4, (1, 5, 6), (1, 3, 6)),
            (lambda x: (x - 1.5) ** 2, (1, 2, 4), (1, 1.5, 4)),
            # The vertex at the first point, at the last, and just beyond: nothing turns inside.
            (lambda x: (x - 1) ** 2, (1, 2, 4), (1, 4)),
            (lambda x: -((x - 4) ** 2), (1, 2, 4), (1, 4)),
            (lambda x: -((x - 5) ** 2), (1, 2, 4), (1, 4)),
            (lambda x: 3 - 2 * x, (1, 2, 4), (1, 4)),
        ],
    )
    def test_three_points_have_a_knot_where_the_parabola_turns(self, parabola, abscissas, knots):
        curve = through_points(abscissas=abscissas, ordinates=[parabola(x) for x in abscissas])
        assert curve.knots == pytest.approx(knots)
        # Below its first point as well, where a system's points begin late.
        for x in (0.5, 1, 1.25, 2.5, 4):
            assert curve.value(x) == pytest.approx(parabola(x))
            steep = (parabola(x + 1e-4) - parabola(x - 1e-4)) / 2e-4
            if x < knots[-1]:
                assert curve.slope(x) == pytest.approx(steep, abs=1e-9)

    def test_slopes_of_unequal_stretches(self):
        # Widths 1, 2, 3 and chords 2, 0.5, 0.2. Inside, FRITSCH-BUTLAND-1984: 9 / (5/2 + 4/0.5)
        # and 15 / (8/0.5 + 7/0.2); at the ends, MOLER-2004 3.4: (4 x 2 - 0.5) / 3 and
        # (8 x 0.2 - 3 x 0.5) / 5.
        curve = through_points(abscissas=[0, 1, 3, 6], ordinates=[0, 2, 3, 3.6])
        slopes = [curve.slope(x) for x in (0, 1, 3, 6)]
        assert slopes == pytest.approx([2.5, 9 / 10.5, 15 / 51, 0.02])

    @pytest.mark.parametrize(
        ("ordinates", "slope"),
        [
            ([0, 2, -8, -9], 6),  # (3 x 2 + 10) / 2 = 8 is held at three chords
            ([0, 2, -1, -2], 4.5),  # (3 x 2 + 3) / 2 is less than that
            ([0, 1, 6, 7], 0),  # (3 - 5) / 2 would fall where the points rise
            ([0, 0, 1, 2], 0),
        ],
    )
    def test_an_end_swings_over_nothing(self, ordinates, slope):
        # MOLER-2004 3.4, on equal widths and mirrored at the other end.
        curve = through_points(abscissas=[0, 1, 2, 3], ordinates=ordinates)
        assert curve.slope(0) == pytest.approx(slope)
        mirrored = through_points(abscissas=[0, 1, 2, 3], ordinates=ordinates[::-1])
        assert mirrored.slope(3) == pytest.approx(-slope)


@pytest.mark.parametrize("unit", [1.0, 0.1, 1 / 3600, 6.309e-5])
def test_an_end_that_is_level_but_for_the_last_digit_goes_on_level(unit):
    """MOLER-2004 3.4 on equal widths: (3 x -2 + 6) / 2 is no slope, whatever the unit."""
    flows = [each * unit for each in (0, 10, 20, 30)]
    curve = through_points(abscissas=flows, ordinates=[40, 38, 32, 30])
    assert curve.slope(flows[-1]) == 0.0
    assert curve.value(1e9 * unit) == pytest.approx(30)
    assert curve.abscissa(29.9) is None


@pytest.mark.parametrize(("steep", "found"), [(0.99e-6, 0.0), (1.01e-6, -1.01e-6)])
def test_how_steep_an_end_goes_on(steep, found):
    """1 - 2 x + (1 - steep / 2) x^2 has that slope at 1; a millionth of its height counts."""
    curve = PiecewiseCubic((0.0, 1.0), ((1.0, -2.0, 1.0 - steep / 2, 0.0),))
    assert curve.slope(1.0) == pytest.approx(found, rel=1e-6)


@pytest.mark.parametrize("unit", [1e-3, 1 / 3600, 6.309e-5])
def test_a_curve_that_ends_level_is_met_where_it_falls(unit):
    """Its end has no slope, (3 x -2 + 6) / 2 (MOLER-2004 3.4), but for the last digit of floats."""
    points = zip((0, 10, 20, 30), (40, 38, 32, 30), strict=True)
    pump = fit_pump_curve(
        points=[CurvePoint(flow=flow * unit, head=head) for flow, head in points], speed=25
    )
    needs = {head: FrictionCurve(static_head=head, coefficient=0.0) for head in (35, 29)}
    met = {
        head: duty_points(curve=pump, system=needed, speed=25, extrapolate=True)
        for head, needed in needs.items()
    }
    assert 10 * unit < met[35].point.pump_flow < 20 * unit
    assert met[29].outcome is Outcome.BEYOND_CURVE


# -- where it is known, and where it has an ordinate ----------------------------------------------

# y = 50 - 2x - 3x^2 up to 3, and from there on along its slope of -20.
FALLING = through_points(abscissas=[0, 1, 3], ordinates=[50, 45, 17])


@pytest.mark.parametrize(
    ("x", "y"),
    [(-1e-12, None), (0, 50), (2, 34), (3, 17), (3 * (1 + 0.9e-9), 17), (3 * (1 + 1.1e-9), None)],
)
def test_it_is_known_between_its_knots(x, y):
    """A last knot that lost a share of 1e-9 on its way is still one."""
    assert FALLING.known(x) == (y if y is None else pytest.approx(y))


@pytest.mark.parametrize(
    ("y", "x"), [(50 + 1e-9, None), (50, 0), (45, 1), (34, 2), (17, 3), (7, 3.5), (-3, 4)]
)
def test_where_it_has_an_ordinate(y, x):
    """By hand: 34 = 50 - 2 2 - 3 2^2; beyond the last knot 17 - 20 (x - 3)."""
    assert FALLING.abscissa(y) == (x if x is None else pytest.approx(x, rel=1e-12))


def test_a_curve_that_ends_level_has_no_lower_ordinate():
    """(1 - x)^2 up to its vertex at 1."""
    curve = PiecewiseCubic((0.0, 1.0), ((1.0, -2.0, 1.0, 0.0),))
    assert curve.abscissa(0.25) == pytest.approx(0.5)
    assert (curve.abscissa(0.0), curve.abscissa(-1e-9)) == (1.0, None)


@given(points=falling_points(), share=st.floats(0, 1))
def test_an_ordinate_leads_back_to_its_abscissa(points, share):
    abscissas, ordinates = points
    curve = through_points(abscissas=abscissas, ordinates=ordinates)
    y = ordinates[0] + share * (ordinates[-1] - ordinates[0])
    if curve.falls:
        assert curve.value(curve.abscissa(y)) == pytest.approx(y, abs=1e-9)


def test_where_a_power_law_is_known_and_has_an_ordinate():
    """50 - 2 x^2, down to 0 at 5."""
    law = PowerLaw(intercept=50, coefficient=2, exponent=2)
    assert (law.known(-1e-12), law.known(3), law.known(5.1)) == (None, pytest.approx(32), None)
    assert (law.abscissa(32), law.abscissa(50)) == (pytest.approx(3), 0)
    assert law.abscissa(50 + 1e-9) is None


@pytest.mark.parametrize(
    ("cubic", "width", "zero"),
    [
        ((2.0, -1.0, 0.0, -1.0), 3.0, 1.0),  # 2 - x - x3, by hand
        ((1.0, 0.0, 0.0, -1.0), 2.0, 1.0),  # 1 - x3, level where it begins
        ((4.0, 0.0, -1.0, 0.0), 2.5, 2.0),  # 4 - x2
        ((8.0, -12.0, 6.0, -1.0), 3.0, 2.0),  # (2 - x)3, level where it is zero
        ((3.0, -1.0, 0.0, 0.0), 3.0, 3.0),  # 3 - x, zero at the end
        ((2.0, 1.0, -1.0, 0.0), 4.0, 2.0),  # (2 - x) (1 + x), which rises at first
    ],
)
def test_the_zero_of_a_cubic_between_its_ends(cubic, width, zero):
    c0, c1, c2, c3 = cubic
    at_width = ((c3 * width + c2) * width + c1) * width + c0
    # A triple zero is no sharper than the cube root of a float's last digit.
    near = 1e-5 if cubic == (8.0, -12.0, 6.0, -1.0) else 1e-14
    assert root_of_falling(cubic, width, at_width) == pytest.approx(zero, rel=near)


@given(points=falling_points(), share=st.floats(0.01, 0.99))
def test_a_falling_curve_is_found_again_at_its_ordinate(points, share):
    curve = through_points(abscissas=points[0], ordinates=points[1])
    x = share * points[0][-1]
    at = curve.abscissa(curve.value(x)) if curve.falls else None
    if at is not None:
        assert curve.value(at) == pytest.approx(curve.value(x), rel=1e-12)
