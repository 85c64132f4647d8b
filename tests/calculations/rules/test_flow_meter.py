"""Straight pipe of flow meters: 5 diameters upstream, 2 downstream; common practice, no source."""

import pytest

from calculations.catalogue import rule
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q

RULE = "sensor.straight-run"
METER = "/sensors/2"


def meter(upstream: str, downstream: str = "3", **other: str):
    return changed(booster(), {
        f"{METER}/straight_upstream_diameters": {"value": upstream, "unit": "1"},
        f"{METER}/straight_downstream_diameters": {"value": downstream, "unit": "1"},
    } | {f"{METER}/{name}": value for name, value in other.items()})  # fmt: skip


@pytest.mark.parametrize(
    ("upstream", "downstream", "expected"),
    [
        ("10", "5", []),
        ("5", "2", []),
        ("4.9", "2", [("note", "upstream")]),
        ("3.0", "2", [("note", "upstream")]),
        ("2.9", "2", [("review", "much_too_short")]),
        ("0", "2", [("review", "much_too_short")]),
        ("5", "1.9", [("note", "downstream")]),
        ("1", "0", [("review", "much_too_short"), ("note", "downstream")]),
    ],
)
def test_straight_pipe_of_an_electromagnetic_meter(upstream, downstream, expected):
    assert sorted(verdicts(meter(upstream, downstream), RULE)) == sorted(expected)


def test_numbers_told():
    (found,) = of_rule(judged(meter("1")), RULE)
    assert {"run": "1", "usual": "5", "sensor": "FT-101"}.items() <= found.parameters.items()
    assert found.limit == "at least 5 diameters"
    assert found.subject == f"{METER}/straight_upstream_diameters"


@pytest.mark.parametrize(
    ("names", "called"), [(("tag",), "S-3303"), (("tag", "serial"), "The flow meter")]
)
def test_a_meter_without_tag_is_called_by_its_serial_number(names, called):
    document = changed(meter("1"), {f"{METER}/serial": "S-3303"})
    document = changed(document, {f"{METER}/{name}": None for name in names})
    (found,) = of_rule(judged(document), RULE)
    assert found.parameters["sensor"] == called


def test_a_limit_can_be_another():
    """A maker that permits 1 diameter."""
    ways = {f"{RULE}.upstream": 1.0, f"{RULE}.upstream-review": 1.0}
    assert of_rule(judged(meter("1"), limits=ways), RULE) == []


@pytest.mark.parametrize("kind", ["ultrasonic", "turbine", "differential_pressure", "mechanical"])
def test_meters_of_other_kinds_are_their_makers(kind):
    assert verdicts(meter("1", meter_kind=kind), RULE) == []
    assert lacking(judged(meter("1", meter_kind=kind)), RULE) == []


@pytest.mark.parametrize("name", ["meter_kind", "straight_upstream_diameters"])
def test_without_kind_or_length_nothing_is_judged(name):
    (missing,) = lacking(judged(without(meter("1"), f"{METER}/{name}")), RULE)
    assert missing.needs == (f"{METER}/{name}",)


def test_what_is_known_of_one_side_is_judged_alone():
    document = without(meter("5", "1"), f"{METER}/straight_upstream_diameters")
    assert verdicts(document, RULE) == [("note", "downstream")]


def test_sensors_of_other_quantities_have_no_straight_pipe():
    document = without(booster(), METER)
    assert verdicts(document, RULE) == lacking(judged(document), RULE) == []


# -- range and bore -------------------------------------------------------------------------------

SIZE = "sensor.meter-size"


def sized(meter=(), pump=(), design="1000"):
    """The booster is rated for 1000 gpm; its meter has a bore of 8 in and measures to 1500 gpm."""
    changes = {f"{METER}/{name}": q(*value) for name, value in dict(meter).items()}
    changes |= {f"/pump/{name}": q(*value) for name, value in dict(pump).items()}
    return changed(booster(), changes | {"/site/system_design_flow": q(design, "gpm")})


@pytest.mark.parametrize(("bore", "meant"), [("11", "11 in"), ("13", "13 cm")])
def test_of_two_units_that_fit_a_bore_the_more_ordinary_was_meant(bore, meant):
    """1000 gpm are 0.06309 m3/s: 1.03 m/s in 11 in and 6.64 in 11 cm; 0.737 and 4.75 in 13.

    Meters are chosen for some 2 m/s: 1.94 times less and 3.3 more, 2.7 times less and 2.4 more.
    """
    (found,) = of_rule(judged(sized({"bore": (bore, "mm")})), SIZE)
    assert (found.variant, found.parameters["meant"]) == ("unit", meant)


@pytest.mark.parametrize(
    ("upper", "expected"),
    [
        ("1000", []),
        ("999", []),  # what is rounded to it is 999.5
        ("998", [("review", "small")]),
        ("20000", []),  # 5 %
        ("20100", [("review", "wide")]),  # 4.98 %
    ],
)
def test_range_of_a_meter(upper, expected):
    assert verdicts(sized({"upper_range_value": (upper, "gpm")}), SIZE) == expected


def test_the_flow_of_the_system_counts_where_it_asks_less_or_more():
    """Of 1000 gpm the system takes 700; or four pumps together 4000, in one header's meter."""
    assert verdicts(sized({"upper_range_value": ("700", "gpm")}, design="700"), SIZE) == []
    header = {"upper_range_value": ("70000", "gpm")}
    assert verdicts(sized(header, design="4000"), SIZE) == []
    assert verdicts(sized(header, design="3000"), SIZE) == [("review", "wide")]


@pytest.mark.parametrize(
    ("bore", "expected"),
    [
        # 1000 gpm are 0.063090 m3/s. At 10 m/s: d = sqrt(4 x 0.06309 / (10 pi)) = 89.63 mm.
        (("89.7", "mm"), []),
        (("89.5", "mm"), [("review", "fast")]),
        # At 0.3 m/s 517.5 mm, at 0.1 m/s 896.3 mm.
        (("517", "mm"), []),
        (("519", "mm"), [("note", "low")]),
        (("895", "mm"), [("note", "low")]),
        (("898", "mm"), [("review", "slow")]),
    ],
)
def test_velocity_in_a_meter(bore, expected):
    assert verdicts(sized({"bore": bore}), SIZE) == expected


@pytest.mark.parametrize(
    ("bore", "meant"),
    [
        (("8", "mm"), "8 in"),  # 1255 m/s; 8 in are 203.2 mm, 1.95 m/s
        (("20", "mm"), "20 cm"),  # 201 m/s; 20 cm 2.0 m/s; 20 in, 508 mm, 0.31 m/s
        (("150", "in"), "150 mm"),  # 3.81 m: 0.0055 m/s; 150 mm 3.6 m/s
        (("20", "in"), None),  # 508 mm: 0.31 m/s
        (("120", "cm"), "120 mm"),  # 0.056 m/s; 120 mm 5.6 m/s
    ],
)
def test_a_bore_in_another_unit(bore, meant):
    found = of_rule(judged(sized({"bore": bore})), SIZE)
    assert [(each.variant, each.parameters["meant"]) for each in found] == (
        [("unit", meant)] if meant else []
    )


def test_a_bore_that_no_unit_explains_is_slow():
    """1.2 m: 0.056 m/s; nothing is taken for feet but inches: 3.94 in, 100 mm, 8.0 m/s."""
    (found,) = of_rule(judged(sized({"bore": ("1.2", "m")})), SIZE)
    assert (found.variant, found.severity) == ("slow", "review")
    assert found.subject == f"{METER}/bore"


GROUP = {"/event/settings/as_left/pumps_in_group": 3}


@pytest.mark.parametrize(
    "meter",
    [
        {"upper_range_value": ("20100", "gpm")},  # 1000 gpm are 4.98 %
        {"bore": ("519", "mm")},  # 0.298 m/s
        {"bore": ("898", "mm")},  # 0.0996 m/s
    ],
)
def test_a_small_pump_on_the_meter_of_all_needs_the_flow_of_all(meter):
    """A jockey pump's meter may be the header's, sized for pumps many times as large."""
    group = changed(sized(meter), GROUP)
    unknown = without(group, "/site/system_design_flow")
    assert verdicts(unknown, SIZE) == []
    (missing,) = lacking(judged(unknown), SIZE)
    assert missing.needs == ("/site/system_design_flow",)
    assert len(verdicts(group, SIZE)) == 1
    alone = changed(unknown, {"/event/settings/as_left/pumps_in_group": 1})
    assert len(verdicts(alone, SIZE)) == 1


def test_a_meter_that_is_small_for_one_pump_is_small_for_all():
    group = changed(
        sized({"upper_range_value": ("900", "gpm")}), {"/event/settings/as_left/pumps_in_group": 3}
    )
    assert verdicts(without(group, "/site/system_design_flow"), SIZE) == [("review", "small")]


@pytest.mark.parametrize(
    ("flow", "told"), [(("1000", "gpm"), "at 4100 ft/s."), (("227", "m3/h"), "at 1300 m/s.")]
)
def test_velocity_in_a_meter_is_told_beside_the_unit_of_its_flow(flow, told):
    """1000 gpm, 227 m3/h, through 8 mm: 0.0631 / (pi 0.004^2) = 1255 m/s, 4118 ft/s."""
    document = changed(sized({"bore": ("8", "mm")}), {"/pump/rated_flow": q(*flow)})
    (found,) = of_rule(judged(document), SIZE)
    assert rule(SIZE).sentence(found).endswith(told)
    assert found.limit == ("at most 32.8 ft/s" if "ft" in told else "at most 10 m/s")  # 10 / 0.3048


def test_what_is_said_of_a_meter_of_another_size():
    (found,) = of_rule(judged(sized({"bore": ("8", "mm")})), SIZE)
    assert rule(SIZE).sentence(found) == (
        "Probably the bore of FT-101 is 8 in, not 8 mm: at 1000 gpm the liquid would run through "
        "it at 4100 ft/s."
    )
    (found,) = of_rule(judged(sized({"upper_range_value": ("60000", "gpm")})), SIZE)
    assert (
        rule(SIZE)
        .sentence(found)
        .startswith(
            "FT-101 measures up to 60000 gpm, of which the 1000 gpm to be pumped are 1.67 %"
        )
    )


def test_a_meter_without_bore_is_judged_by_its_range():
    document = without(sized({"upper_range_value": ("900", "gpm")}), f"{METER}/bore")
    judgement = judged(document)
    assert [each.variant for each in of_rule(judgement, SIZE)] == ["small"]
    (missing,) = lacking(judgement, SIZE)
    assert missing.needs == (f"{METER}/bore",)


def test_a_rated_flow_in_doubt_says_nothing_of_the_meter():
    document = sized({"bore": ("8", "in")}, {"rated_flow": ("1000", "m3/h")})
    judgement = judged(document)
    assert "curve.columns" in {each.rule for each in judgement.findings}
    assert of_rule(judgement, SIZE) == []
