"""Suction read as absolute pressure: 500 ft are 14.43 psi of air (ISO 2533)."""

import pytest

from tests.calculations.building import booster, changed, in_metric, judged, lacking, of_rule, q
from tests.calculations.building_plates import Document

READING = "suction.reading"
SILENT = ("curve.point", "rotation.reversed", "efficiency.wire-to-water", "npsh.margin")


def higher(by: float, station: Document) -> Document:
    """Every suction gauge higher by so many psi: 31.6, 32.1 and 32.4 psi as gauge pressure."""
    points = station["event"]["duty_points"]
    return changed(station, {
        f"/event/duty_points/{i}/suction_pressure":
            q(f"{float(point['suction_pressure']['value']) + by:.1f}", "psi")
        for i, point in enumerate(points)
    })  # fmt: skip


def closed(station: Document) -> Document:
    """The last point at closed valve: 59.3 psi and 1 ft are the 138 ft of the curve there."""
    return changed(station, {
        "/event/duty_points/2/purpose": "shut_off", "/event/duty_points/2/flow": q("0", "gpm"),
        "/event/duty_points/2/discharge_pressure": q("91.7", "psi"),
    })  # fmt: skip


def test_one_cause_is_told_and_nothing_that_follows_from_it() -> None:
    judgement = judged(higher(14.43, booster()))
    told = of_rule(judgement, READING)
    assert [(each.severity, each.variant) for each in told] == [("review", "absolute")] * 3
    assert [each.parameters["meant"] for each in told] == ["31.6 psi", "32.1 psi", "32.4 psi"]
    assert [each for rule in SILENT for each in of_rule(judgement, rule)] == []


def test_it_is_the_same_in_metric_units() -> None:
    told = of_rule(judged(in_metric(higher(14.43, booster()))), READING)
    assert [(each.severity, each.variant) for each in told] == [("review", "absolute")] * 3


@pytest.mark.parametrize(
    ("by", "variants"),
    [
        (5.0, []),  # below 33 psi and 0.5 bar
        (9.0, ["above"] * 3),  # 41 psi are no 33 psi, and less an atmosphere not on the curve
        (25.0, ["above"] * 3),
    ],
)
def test_another_shift_is_no_atmosphere(by: float, variants: list[str]) -> None:
    assert [each.variant for each in of_rule(judged(higher(by, booster())), READING)] == variants


@pytest.mark.parametrize(
    ("suction", "discharge", "variant"),
    [
        # A quarter of an atmosphere, 3.61 psi, beyond 30 and 33 psi: 40.82 to 51.04 psi absolute.
        # The discharge moves along, so that the head stays 125.6 ft.
        ("50.9", "89.9", "absolute"),
        ("51.1", "90.1", "above"),
        ("40.9", "79.9", "absolute"),
        ("40.7", "79.7", "above"),
        # 260 ft x (1630 / 1770)^2 - 95 ft = 125.5 ft, 8 % of them 10.04 ft or 4.35 psi: with 125.6
        # ft at 85.0 psi, 80.6 to 89.3 psi.
        ("46.0", "89.2", "absolute"),
        ("46.0", "89.4", "above"),
        ("46.0", "80.7", "absolute"),
        ("46.0", "80.5", "above"),
    ],
)
def test_how_near_an_atmosphere_has_to_fit(suction: str, discharge: str, variant: str) -> None:
    document = changed(booster(), {
        "/event/duty_points/0/suction_pressure": q(suction, "psi"),
        "/event/duty_points/0/discharge_pressure": q(discharge, "psi"),
    })  # fmt: skip
    assert [each.variant for each in of_rule(judged(document), READING)] == [variant]


@pytest.mark.parametrize(("discharge", "variant"), [("149.4", "absolute"), ("149.8", "above")])
def test_a_reading_that_is_on_the_curve_as_it_stands_is_not_absolute(
    discharge: str, variant: str
) -> None:
    """260 ft at closed valve and 1770 rpm: as read 8 % less are 239.2 ft, so 103.2 psi and a foot
    over the 46.4 psi of the suction: 149.56 psi. Less an atmosphere there are 33.3 ft more, 4.8 %.
    """
    document = changed(closed(booster()), {
        "/event/duty_points/2/suction_pressure": q("46.4", "psi"),
        "/event/duty_points/2/discharge_pressure": q(discharge, "psi"),
        "/event/duty_points/2/frequency": q("60", "Hz"),
        "/event/duty_points/2/speed": q("1770", "rpm"),
    })  # fmt: skip
    assert [each.variant for each in of_rule(judged(document), READING)] == [variant]


def test_a_suction_that_the_site_allows_is_not_doubted() -> None:
    """Up to 60 psi: 46 psi may be right, and so the curve's point speaks."""
    allowed = changed(higher(14.43, booster()), {"/site/suction_pressure_high": q("60", "psi")})
    judgement = judged(allowed)
    assert of_rule(judgement, READING) == []
    assert of_rule(judgement, "curve.point")


@pytest.mark.parametrize("unknown", ["/site/suction_pressure_high", "/site/suction_pressure_low"])
def test_where_the_sites_suction_is_not_known_nothing_waits_for_it(unknown: str) -> None:
    judgement = judged(changed(higher(14.43, booster()), {unknown: None}))
    assert [each.variant for each in of_rule(judgement, READING)] != ["absolute"] * 3
    assert of_rule(judgement, "curve.point")


def test_rotation_waits_for_it() -> None:
    """33.3 ft less are 76 % of the curve's head at closed valve, as of a pump that is reversed."""
    station = closed(booster())
    low = judged(changed(higher(14.43, station), {"/site/suction_pressure_high": q("60", "psi")}))
    absolute = judged(higher(14.43, station))
    assert of_rule(low, "rotation.reversed")
    assert of_rule(absolute, "rotation.reversed") == []
    (waiting,) = lacking(absolute, "rotation.reversed")
    assert waiting.waits_for == READING


def test_answered_it_holds_nothing_back() -> None:
    document = higher(14.43, booster())
    answered = [(READING, f"/event/duty_points/{i}/suction_pressure") for i in range(3)]
    assert of_rule(judged(document, accepted=answered), "curve.point")


def test_a_weak_atmosphere_is_told_below_the_limit_of_the_suction() -> None:
    """6,000 ft leave 11.78 psi (ISO 2533), of which 0.5 bar, 7.25 psi, are more than the room."""
    thin = changed(higher(11.78, booster()), {
        "/site/elevation": q("6000", "ft"), "/site/suction_pressure_high": q("37", "psi"),
    })  # fmt: skip
    told = of_rule(judged(thin), READING)
    assert [(each.severity, each.variant) for each in told] == [("review", "absolute")] * 3


@pytest.mark.parametrize(
    ("discharge", "variant"),
    [
        # As above 85.0 psi are on the curve less an atmosphere, which is 33.3 ft: half of it, 16.65
        # ft or 7.21 psi, more, and the reading is as far below the curve as the other above it.
        ("89.4", "absolute"),
        ("92.0", "absolute"),
        ("92.4", "above"),
    ],
)
def test_the_same_gauge_is_believed_of_a_point_that_is_off_its_curve(
    discharge: str, variant: str
) -> None:
    document = changed(higher(14.43, booster()), {
        "/event/duty_points/0/discharge_pressure": q(discharge, "psi"),
    })  # fmt: skip
    told = of_rule(judged(document), READING)
    assert [each.variant for each in told] == [variant, "absolute", "absolute"]
