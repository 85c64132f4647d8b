"""Slips of reading that keep measured points off their curve.

At 1630 rpm the booster's curve is H = 220.5 - 95 q^2 (ft, q in 1000 gpm); its gauges give
H = 2.309 (p - 31.6) + 1.0 + 1.28 q^2 for a discharge pressure p in psi (`test_measured_points.py`).
Which deviations count as far, alike or worn: no source.
"""

import re

import pytest

from calculations.rules.measured_points import POINT
from calculations.rules.point_slips import misread, slips
from tests.calculations.building import booster, case, changed, judged, of_rule, verdicts, without
from tests.calculations.building_plates import Document, q
from tests.calculations.rules.test_measured_points import AT, discharge, point
from tests.calculations.stations import well
from tests.calculations.whole_stations import raw_water


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"flow": q("227", "gpm")}, "flow 227 m3/h"),  # 999.5 gpm
        ({"flow": q("63.1", "m3/h")}, "flow 63.1 L/s"),  # 1000 gpm
        ({"flow": q("1000", "m3/h")}, "flow 1000 gpm"),
        ({"discharge_pressure": q("5.86", "psi")}, "discharge pressure 5.86 bar"),  # 85.0 psi
        ({"discharge_pressure": q("586", "psi")}, "discharge pressure 586 kPa"),
        ({"suction_pressure": q("2.18", "psi")}, "suction pressure 2.18 bar"),  # 31.6 psi
    ],
)
def test_slips_of_unit_are_named(changes, expected):
    (finding,) = of_rule(judged(point(**changes)), "curve.point")
    assert finding.severity == "review"
    assert finding.parameters["read"] == expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # 3 % off its curve, a slip that is 15 times as large is still named.
        ({"discharge_pressure": q("87", "bar")}, "discharge pressure 87 psi"),
        ({"discharge_pressure": q("850", "psi")}, "discharge pressure 85 psi"),
        ({"suction_pressure": q("31.6", "bar")}, "suction pressure 31.6 psi"),
    ],
)
def test_far_off_whatever_brings_it_back_is_named(changes, expected):
    (finding,) = of_rule(judged(point(**changes)), "curve.point")
    assert finding.parameters["read"].split(" or ")[0] == expected


LOW = "/site/suction_pressure_low"


def all_points(name: str, values: tuple[str, ...], unit: str = "psi"):
    """Another reading at each of the three points, which are 1000, 700 and 400 gpm."""
    return {f"/event/duty_points/{n}/{name}": q(value, unit) for n, value in enumerate(values)}


def told_of_each(changes) -> list[tuple[str, str]]:
    found = of_rule(judged(changed(booster(), changes)), "curve.point")
    return [(each.variant, each.parameters["read"]) for each in found]


def test_one_unit_that_fits_every_point_is_named_once():
    """1000, 700 and 400 gpm are 63.1, 44.2 and 25.2 L/s."""
    flows = ("63.1", "44.2", "25.2")
    (found,) = of_rule(judged(changed(booster(), all_points("flow", flows, "gpm"))), "curve.point")
    assert (found.subject, found.variant) == ("/event/duty_points", "unit")
    assert found.parameters["read"] == "flow 63.1 L/s"
    assert POINT.sentence(found).endswith(
        " Points 1 (told here), 2 and 3 are off alike: look for one cause."
    )
    shown = {each.name: each.shown.value for each in found.compared}
    assert [shown[f"flow_at_point_{number}"] for number in (1, 2, 3)] == list(flows)


def test_a_gauge_that_reads_absolute_is_named():
    """At 500 ft the air weighs 14.4 psi: 85.0 psi are 99.4 psi absolute."""
    told = told_of_each(all_points("discharge_pressure", ("99.4",) * 3))
    assert told == [("unit", "discharge pressure 99.4 psi absolute")]


def test_what_fits_one_point_alone_is_not_named_where_several_are_off():
    """The first in L/s, the second 14 psi low: each alone would be named another cause."""
    changes = {
        "/event/duty_points/0/flow": q("63.1", "gpm"),
        "/event/duty_points/1/discharge_pressure": q("71.0", "psi"),
    }
    assert [each[0] for each in told_of_each(changes)] == ["outside", "outside"]
    alone = {"/event/duty_points/0/flow": q("63.1", "gpm")}
    assert told_of_each(alone) == [("unit", "flow 63.1 L/s")]


def test_a_worn_pump_whose_flows_are_in_another_unit():
    """6 psi are 13.9 ft of some 124: 11 % low at every point, once 227, 159 and 91 are m3/h."""
    flows = ("227.1", "159.0", "90.8")
    worn = all_points("discharge_pressure", ("79.0",) * 3) | all_points("flow", flows, "gpm")
    assert told_of_each(worn) == [("unit", f"flow {each} m3/h") for each in flows]


def test_a_worn_pump_alone_is_in_no_other_unit():
    worn = all_points("discharge_pressure", ("73.0",) * 3)
    assert {each[0] for each in told_of_each(worn)} == {"outside"}


def test_a_depth_in_the_other_unit_is_named():
    """56 m for 56 ft: 128 ft more of head than there is."""
    deep = {f"{AT}/suction_level_depth": q("56", "m")}
    (finding,) = [
        each for each in of_rule(judged(changed(well(), deep)), "curve.point") if each.subject == AT
    ]
    assert finding.parameters["read"] == "suction level depth 56 ft"


def test_a_worn_pump_is_no_slip_of_the_pen():
    """70 psi: 91 ft of 125.5 ft."""
    assert verdicts(discharge("70"), "curve.point") == [("review", "outside")]


@pytest.mark.parametrize(
    ("pressure", "read"),
    [
        # In m3/h 1321 gpm, where the curve has 124.6 ft; in gpm 128 ft. The gauges give 125.4 and
        # 123.3 ft at 84.5 psi: 0.6 % and 3.7 % off, 127.2 and 125.1 ft at 85.3 psi: 2.1 and 2.3 %,
        # 129.3 and 127.2 ft at 86.2 psi: 3.8 and 0.6 %.
        ("84.5", "flow 300 m3/h"),
        ("85.3", "flow 300 m3/h or flow 300 gpm"),
        ("86.2", "flow 300 gpm"),
    ],
)
def test_two_explanations_are_named_where_a_curve_is_flat(pressure, read):
    """300 L/s are 4755 gpm, far beyond a curve on which a fourfold flow costs 3 % of the head."""
    flat = [(0, 130), (300, 128), (600, 127), (900, 126), (1200, 125), (1500, 124)]
    rows = [{"flow": q(flow, "gpm"), "head": q(head, "ft")} for flow, head in flat]
    document = changed(
        point(flow=q("300", "L/s"), speed=q("1770", "rpm"), frequency=q("59.8", "Hz"),
              discharge_pressure=q(pressure, "psi")),
        {"/pump/curve_points": rows},
    )  # fmt: skip
    (found,) = of_rule(judged(document), "curve.point")
    assert (found.severity, found.variant) == ("review", "beyond_unit")
    assert found.parameters["read"] == read


def test_a_point_that_went_the_other_way_is_named():
    """8.5 psi for 85 psi: a head below nothing."""
    (found,) = of_rule(judged(discharge("8.50")), "curve.point")
    assert (found.variant, found.parameters["read"]) == (
        "not_positive_unit", "discharge pressure 85 psi",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("pressure", "read"),
    [
        # 53.37 psi of difference give 125.5 ft. 0.69 bar is 10.01 psi, 6.9 m of water 9.81 psi:
        # heads 0.1 and 0.5 ft off the curve, then 0.4 and 0.1 ft; 1 ft are 5 gpm, 0.5 % of flow.
        ("63.4", "suction pressure 0.69 bar or suction pressure 6.9 mH2O"),
        ("63.2", "suction pressure 6.9 mH2O or suction pressure 0.69 bar"),
    ],
)
def test_two_explanations_within_a_hundredth_are_both_named_the_nearer_first(pressure, read):
    (found,) = of_rule(judged(discharge(pressure, suction_pressure=q("6.9", "bar"))), "curve.point")
    assert (found.variant, found.parameters["read"]) == ("not_positive_unit", read)


def test_a_second_explanation_much_worse_than_the_first_is_not_named():
    """4.00 bar is 58.0 psi, 40.0 m of water 56.9 psi: 2.6 ft off the curve, 1.4 % of its flow."""
    document = discharge("111.4", suction_pressure=q("40.0", "bar"))
    (found,) = of_rule(judged(document), "curve.point")
    assert found.parameters["read"] == "suction pressure 4 bar"


WORN = "67.1"
"""psi: 84.3 ft by the gauges, a third below 125.5 ft. 31.6 ftH2O of suction are 13.70 psi (NIST SP
811:2008, appendix B.8), of which 67.1 psi are 125.6 ft."""


@pytest.mark.parametrize(
    ("lowest", "named"),
    [
        (None, True),
        ("30", False),  # as the site has it, and 13.70 psi are none of its suctions
        ("13.8", False),
        ("13.6", True),  # it has both
        ("31.65", False),  # 31.6 psi may be as much
        ("31.7", True),  # it has neither
    ],
)
def test_a_suction_that_the_site_has_is_in_no_other_unit(lowest, named):
    low = lowest and q(lowest, "psi")
    (found,) = of_rule(judged(changed(discharge(WORN), {LOW: low})), "curve.point")
    assert found.parameters["read"] == ("suction pressure 31.6 ftH2O" if named else "")


# -- near and far ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("flow", "pressure", "expected"),
    [
        # 83.7 ft at 1200 gpm, and 40.5 psi or 93.5 ft more by 4.5 for 45 psi: 2.12 times the curve.
        ("1200", "80.0", ["suction pressure 45 psi"]),
        # 99.2 ft at 1130 gpm: 1.94 times.
        ("1130", "86.8", []),
    ],
)
def test_a_moved_point_counts_for_what_is_nowhere_near_its_curve(flow, pressure, expected):
    document = discharge(pressure, flow=q(flow, "gpm"), suction_pressure=q("4.5", "psi"))
    assert slips(case(document), AT)[:1] == expected


@pytest.mark.parametrize(
    ("pressure", "expected"),
    [
        # 4.00 bar is 58.0 psi and 40.0 m of water 56.9 psi, 2.5 ft apart. 1 ft is 0.5 % of flow:
        # at 112.9 psi they are 3.5 and 6.0 ft off the curve, at 114.4 psi 7 and 9.5 ft.
        ("112.9", ["suction pressure 4 bar"]),
        ("114.4", ["suction pressure 4 bar", "suction pressure 40.0 mH2O"]),
    ],
)
def test_a_second_explanation_counts_where_it_is_hardly_worse(pressure, expected):
    document = discharge(pressure, suction_pressure=q("40.0", "bar"))
    assert slips(case(document), AT) == expected


# -- several points off ---------------------------------------------------------------------------


def in_metric_flow(flows: tuple[int, ...], shares: tuple[float, ...]) -> list[str]:
    """What is told of points at 1630 rpm with `shares` of their heads, whose m3/h are gpm."""
    changes: Document = {}
    for index, (flow, share) in enumerate(zip(flows, shares, strict=True)):
        thousand = flow / 1000
        head = share * (220.5 - 95 * thousand**2)
        pressure = 31.6 + (head - 1.0 - 1.28 * thousand**2) / 2.309
        changes |= {
            f"/event/duty_points/{index}/{name}": value
            for name, value in (
                ("flow", q(f"{flow * 0.227125:.1f}", "gpm")), ("speed", q("1630", "rpm")),
                ("frequency", q("55.1", "Hz")), ("suction_pressure", q("31.6", "psi")),
                ("discharge_pressure", q(f"{pressure:.1f}", "psi")),
            )
        }  # fmt: skip
    return [variant for variant, _ in told_of_each(changes)]


@pytest.mark.parametrize(
    ("flows", "shares", "variant"),
    [
        ((1000, 850, 700), (0.89, 0.89, 0.89), "unit"),
        ((1000, 850, 700), (0.77, 0.77, 0.77), "unit"),
        ((1000, 850, 700), (0.72, 0.72, 0.72), "outside"),  # worn by more than a quarter
        ((1000, 850, 700), (0.90, 0.90, 0.83), "outside"),  # not alike
        # As read 0.23 and 0.21 of 1000 gpm are 48 and 41 % low: too alike to tell; to 0.19, 38 %.
        ((1000, 950, 900), (0.89, 0.89, 0.89), "outside"),
        ((1000, 925, 850), (0.89, 0.89, 0.89), "unit"),
    ],
)
def test_what_a_worn_pump_in_another_unit_of_flow_looks_like(flows, shares, variant):
    assert in_metric_flow(flows, shares) == [variant] * 3


def test_two_points_of_a_worn_pump_are_too_few():
    worn = all_points("discharge_pressure", ("79.0",) * 3)
    worn |= all_points("flow", ("227.1", "159.0", "90.8"), "gpm")
    document = without(changed(booster(), worn), "/event/duty_points/2")
    told = of_rule(judged(document), "curve.point")
    assert [each.variant for each in told] == ["outside", "outside"]


SWAPPED = {"/event/duty_points/1/discharge_pressure": q("31.6", "psi"),
           "/event/duty_points/1/suction_pressure": q("85.0", "psi")}  # fmt: skip
IN_LITRES = {f"{AT}/flow": q("63.1", "gpm")}


def test_a_head_below_nothing_is_off_as_well():
    """Swapped gauges at the second point are no matter of the flow at the first."""
    told = told_of_each(SWAPPED | IN_LITRES)
    assert told == [
        ("outside", ""),
        ("not_positive_unit", "suction and discharge pressure in each other's place"),
    ]


@pytest.mark.parametrize("name", ["discharge_pressure", "flow", "speed", "suction_pressure"])
def test_a_point_that_cannot_be_judged_is_not_off(name):
    changes = IN_LITRES | {f"/event/duty_points/1/{name}": None}
    assert told_of_each(changes) == [("unit", "flow 63.1 L/s")]


# -- what rests on a point ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("document", "expected"),
    [
        (point(), False),
        (discharge("77.6"), False),  # the head is 13.6 % low, the flow within its 8 %
        (discharge("75.4"), False),  # off, but no reading explains it
        (point(flow=q("227", "gpm")), True),
        (discharge("31.6", suction_pressure=q("85.0", "psi")), True),
        (discharge("31.0"), False),  # 0.9 ft of head, above nothing
        (point(discharge_gauge_elevation=None), False),
    ],
)
def test_whether_a_reading_keeps_a_point_off_its_curve(document, expected):
    assert misread(case(document), AT) is expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # As it stands, 85.0 and 31.6 psi: exchanged the gauges give -2.309 x 53.4 + 2.3 ft.
        (
            {"discharge_pressure": q("31.6", "psi"), "suction_pressure": q("85.0", "psi")},
            "suction and discharge pressure in each other's place",
        ),
        # 14.0 and 67.4 psi: 2.309 x 53.4 + 2.3 = 125.6 ft; with the sign of a vacuum 190.2 ft.
        (
            {"discharge_pressure": q("67.4", "psi"), "suction_pressure": q("-14.0", "psi")},
            "suction pressure 14 psi",
        ),
    ],
)
def test_a_sign_and_two_gauges_are_named(changes, expected):
    (finding,) = of_rule(judged(point(**changes)), "curve.point")
    assert finding.parameters["read"].split(" or ")[0] == expected


@pytest.mark.parametrize(
    ("height", "expected"),
    [  # The gauge is 3.0 ft high: 36 in, which as feet are 33 ft of head too much; 0.9 m, 91 cm.
        (q("36", "ft"), "discharge gauge elevation 36 in"),
        (q("91", "m"), "discharge gauge elevation 91 cm"),
        (q("3.0", "m"), None),  # 6.8 ft of 125.5 are 5.4 %, within grade and gauges
    ],
)
def test_the_unit_of_a_gauges_height_is_named(height, expected):
    found = of_rule(judged(point(discharge_gauge_elevation=height)), "curve.point")
    named = [each.parameters["read"].split(" or ")[0] for each in found if each.variant == "unit"]
    assert named == ([expected] if expected else [])


# -- a meter that shows a share too little --------------------------------------------------------


def metered(share: float, document=None):
    """The raw-water pump with every flow read as a share of what it was; its levels are right."""
    document = document or raw_water()
    flows = [float(point["flow"]["value"]) for point in document["event"]["duty_points"]]
    read = {
        f"/event/duty_points/{index}/flow": q(f"{flow * share:.0f}", "gpm")
        for index, flow in enumerate(flows)
    }
    return changed(document, read)


@pytest.mark.parametrize("share", [0.85, 0.80])
def test_flows_that_are_off_alike_are_the_meters(share):
    """Its points lie on the curve; with 85 % of each flow every one is 15 % off in flow.

    -4.0 m for -4.0 ft, or 3.0 m for a gauge at 3.0 ft, would bring one of them onto its curve too.
    """
    found = of_rule(judged(metered(share)), "curve.point")
    assert found
    for each in found:
        assert each.variant in ("outside", "undecided")
        if each.variant == "outside":
            off = re.search(r"about -([\d.]+) %", each.parameters["first"])
            assert off
            assert float(off[1]) == pytest.approx(100 * (1 - share), abs=0.6)


def test_a_level_that_the_site_has_is_in_its_own_unit():
    """Between -6 and -2 ft; -4.0 m would be -13.1 ft. One point alone with 85 % of its flow."""
    document = changed(raw_water(), {"/event/duty_points/0/flow": q("595", "gpm")})
    (found,) = of_rule(judged(document), "curve.point")
    assert "suction level" not in found.parameters["read"]


def test_flows_that_are_off_by_different_shares_accuse_no_meter():
    """15, 4 and 4 % too little."""
    document = changed(metered(0.96), {"/event/duty_points/0/flow": q("595", "gpm")})
    for each in of_rule(judged(document), "curve.point"):
        assert each.parameters["first"] == ""
