"""Curve fit and duty points against scipy, and against EPANET through wntr."""

import random
from pathlib import Path

import pytest

from calculations.curve_shapes import through_points
from calculations.duty_points import Outcome, duty_points
from calculations.pump_curves import CurvePoint, fit_pump_curve, pump_curve_from_equation
from calculations.system_curves import FrictionCurve, hazen_williams_coefficient

pytestmark = pytest.mark.oracle

SPEED = 29.0


class TestFit:
    @pytest.mark.parametrize("seed", range(30))
    def test_shape_preserving_cubic(self, seed):
        interpolate = pytest.importorskip("scipy.interpolate")
        draw = random.Random(seed)
        count = draw.randint(4, 12)
        x = [0.0]
        while len(x) < count:
            x.append(x[-1] + draw.uniform(0.05, 3))
        y = [draw.choice([draw.uniform(0, 60), 30.0]) for _ in x]
        theirs = interpolate.PchipInterpolator(x, y)
        ours = through_points(abscissas=x, ordinates=y)
        for step in range(201):
            at = x[-1] * step / 200
            assert ours.value(at) == pytest.approx(float(theirs(at)), abs=1e-9)
            assert ours.slope(at) == pytest.approx(float(theirs(at, 1)), abs=1e-7)

    def test_parabola_through_three(self):
        interpolate = pytest.importorskip("scipy.interpolate")
        x, y = [0.0, 0.05, 0.08], [50.0, 42.0, 30.0]
        theirs = interpolate.lagrange(x, y)
        ours = through_points(abscissas=x, ordinates=y)
        for step in range(81):
            assert ours.value(step / 1000) == pytest.approx(float(theirs(step / 1000)))


class TestDutyAgainstScipy:
    @pytest.mark.parametrize("seed", range(30))
    def test_root_of_the_difference(self, seed):
        interpolate = pytest.importorskip("scipy.interpolate")
        optimize = pytest.importorskip("scipy.optimize")
        draw = random.Random(seed)
        flows, heads = [0.0], [draw.uniform(20, 120)]
        while len(flows) < 6:
            flows.append(flows[-1] + draw.uniform(0.005, 0.03))
            heads.append(heads[-1] * draw.uniform(0.75, 0.99))
        ratio, pumps = draw.uniform(0.7, 1.1), draw.randint(1, 3)
        static = heads[0] * ratio**2 * draw.uniform(-0.1, 0.95)
        k = draw.uniform(5, 40) / (pumps * flows[-1]) ** 2 * heads[0] / 20
        theirs = interpolate.PchipInterpolator(flows, heads)

        def surplus(flow):
            return ratio**2 * float(theirs(flow / ratio)) - static - k * (pumps * flow) ** 2

        curve = fit_pump_curve(
            points=[CurvePoint(*point) for point in zip(flows, heads, strict=True)], speed=SPEED
        )
        solution = duty_points(
            curve=curve, system=FrictionCurve(static, k), speed=SPEED * ratio, pumps=pumps
        )
        end = flows[-1] * ratio
        if surplus(end) > 0:
            assert solution.outcome is Outcome.BEYOND_CURVE
        else:
            expected = optimize.brentq(surplus, 0, end, xtol=1e-14)
            assert solution.outcome is Outcome.ONE
            assert solution.point.pump_flow == pytest.approx(expected, rel=1e-8)


@pytest.fixture
def epanet(tmp_path):
    """Flow and head of pumps between two reservoirs, solved by EPANET."""
    wntr = pytest.importorskip("wntr")

    def solve(points, ratio, pumps, static, length, bore, roughness):
        network = wntr.network.WaterNetworkModel()
        network.options.time.duration = 0
        network.options.hydraulic.headloss = "H-W"
        network.options.hydraulic.accuracy = 1e-6
        network.add_reservoir("source", base_head=0.0)
        network.add_reservoir("tank", base_head=static)
        network.add_junction("header", base_demand=0.0, elevation=0.0)
        network.add_curve("curve", "HEAD", points)
        for index in range(pumps):
            network.add_pump(f"pump{index}", "source", "header", "HEAD", "curve")
            network.get_link(f"pump{index}").base_speed = ratio
        network.add_pipe("main", "header", "tank", length, bore, roughness, 0.0, "OPEN")
        # WNTRSimulator refuses other speeds than 1, so it has to be the engine itself.
        simulator = wntr.sim.EpanetSimulator(network)
        results = simulator.run_sim(file_prefix=str(Path(tmp_path) / "run"))
        flow = float(results.link["flowrate"]["main"].iloc[0])
        head = float(results.node["head"]["header"].iloc[0])
        return flow, head

    return solve


class TestDutyAgainstEpanet:
    POINTS = [(0.0, 50.0), (0.05, 42.0), (0.08, 30.0)]

    @pytest.mark.parametrize("pumps", [1, 2])
    @pytest.mark.parametrize("ratio", [1.1, 1.0, 0.93, 0.85, 0.8, 0.78, 0.76])
    def test_three_point_curve_at_several_speeds(self, epanet, ratio, pumps):
        flow, head = epanet(self.POINTS, ratio, pumps, 30.0, 2000.0, 0.25, 130.0)
        curve = pump_curve_from_equation(
            speed=SPEED, shut_off_head=50, coefficient=2751.05711901, exponent=1.9495397
        )
        k = hazen_williams_coefficient(length=2000, bore=0.25, roughness=130)
        solution = duty_points(
            curve=curve, system=FrictionCurve(30, k, 1.852), speed=SPEED * ratio, pumps=pumps
        )
        if ratio**2 * 50 < 30:
            assert solution.outcome is Outcome.NO_FLOW
            assert flow == pytest.approx(0, abs=2e-6)
        else:
            assert solution.point.flow == pytest.approx(flow, abs=1e-6)
            assert solution.point.head == pytest.approx(head, abs=1e-3)

    @pytest.mark.parametrize("ratio", [1.0, 0.9, 0.8])
    def test_one_point_curve_is_the_engines_convention(self, epanet, ratio):
        # One point only: the engine puts shut-off at 4/3 of its head, exponent 2.
        flow, head = epanet([(0.06, 40.0)], ratio, 1, 20.0, 1500.0, 0.3, 120.0)
        shut_off = 40.0 * 4 / 3
        curve = fit_pump_curve(
            points=[
                CurvePoint(0, shut_off),
                CurvePoint(0.06, 40.0),
                CurvePoint(0.11, shut_off - (shut_off - 40) * (0.11 / 0.06) ** 2),
            ],
            speed=SPEED,
        )
        k = hazen_williams_coefficient(length=1500, bore=0.3, roughness=120)
        solution = duty_points(curve=curve, system=FrictionCurve(20, k, 1.852), speed=SPEED * ratio)
        assert solution.point.flow == pytest.approx(flow, abs=1e-6)
        assert solution.point.head == pytest.approx(head, abs=1e-3)

    @pytest.mark.parametrize(("ratio", "runs"), [(0.715, True), (0.710, False)])
    def test_net1_shuts_between_0_710_and_0_715(self, epanet, ratio, runs):
        # The public network's curve and head: 333.333 ft, 1500 gpm at 250 ft, static 168.329 ft.
        foot, gpm = 0.3048, 6.30901964e-5
        flow, _ = epanet([(1500 * gpm, 250 * foot)], ratio, 1, 168.3287 * foot, 3000.0, 0.45, 100.0)
        curve = fit_pump_curve(
            points=[CurvePoint(0, 1000 / 3 * foot), CurvePoint(1500 * gpm, 250 * foot)],
            speed=SPEED,
        )
        lowest = curve.zero_flow_speed(required_head=168.3287 * foot) / SPEED
        assert lowest == pytest.approx(0.71062, abs=1e-5)
        assert (flow > 1e-5) is runs
        assert (ratio > lowest) is runs
