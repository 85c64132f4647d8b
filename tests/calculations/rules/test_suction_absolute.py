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


def test_a_suction_that_the_site_allows_is_not_doubted() -> None:
    """Up to 60 psi: 46 psi may be right, and so the curve's point speaks."""
    allowed = changed(higher(14.43, booster()), {"/site/suction_pressure_high": q("60", "psi")})
    judgement = judged(allowed)
    assert of_rule(judgement, READING) == []
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
