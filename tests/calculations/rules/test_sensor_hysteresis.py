"""How a sensor differs on its way up and down, and how its errors bend.

PT-101: 0 to 200 psi, 4-20 mA, tolerance 0.5 % of span = 1 psi = 0.08 mA.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    derived,
    judged,
    lacking,
    of_rule,
    verdicts,
)
from tests.calculations.building_event import verification
from tests.calculations.building_plates import q
from tests.calculations.rules.test_sensor_errors import AT, GOOD, exact, verified


def test_published_example_of_hysteresis():
    """T04: up 4.01, 8.03, 12.04, 16.03, 20.00; down 4.02, 8.06, 12.08, 16.06, 20.00 mA:
    largest error 0.5 %, hysteresis 0.25 % of span.
    """
    up = ("4.01", "8.03", "12.04", "16.03", "20.00")
    down = ("4.02", "8.06", "12.08", "16.06", "20.00")
    judgement = judged(exact(up, down))
    assert derived(judgement, "sensor.hysteresis").si == pytest.approx(0.0025, abs=1e-9)
    assert derived(judgement, "sensor.linearity").si == pytest.approx(0.0032812, abs=1e-7)
    assert derived(judgement, "sensor.largest-error").si == pytest.approx(0.005, abs=1e-9)
    assert verdicts(exact(up, down), "sensor.hysteresis") == []


@pytest.mark.parametrize(
    ("up", "down", "expected"),
    [
        # 0.080 mA of 16 mA are 0.5 %; two half digits of 0.001 mA are granted.
        ("11.960", "12.040", []),
        ("11.960", "12.041", []),
        ("11.9593", "12.0407", [("review", "wide")]),  # 0.0814 mA, less 0.001 mA: 0.5025 %
        ("11.958", "12.042", [("review", "wide")]),
    ],
)
def test_hysteresis(up, down, expected):
    document = exact(
        ("4.000", "8.000", up, "16.000", "20.000"), ("4.000", "8.000", down, "16.000", "20.000")
    )
    found = of_rule(judged(document), "sensor.hysteresis")
    assert [(each.severity, each.variant) for each in found] == expected
    assert [each.limit for each in found] == ["0.5 % of span"] * len(expected)


@pytest.mark.parametrize(("top", "expected"), [("20.00", []), ("20.16", [("review", "outside")])])
def test_what_was_applied_may_stand_in_percent_of_span(top, expected):
    """0, 25, 50, 75 and 100 % of 200 psi are the same inputs; 0.16 mA are 1 %."""
    found = verification("PT-101", 50, (*GOOD[:4], top))
    for point in found["as_found"]:
        point["applied"] = q(f"{int(point['applied']['value']) // 2}.00", "%")
    assert verdicts(changed(booster(), {AT: found}), "sensor.error-as-left") == expected


def test_hysteresis_needs_both_directions():
    found = verification("PT-101", 50, GOOD)
    rising = found | {"as_found": found["as_found"][:5]}
    (missing,) = lacking(judged(changed(booster(), {AT: rising})), "sensor.hysteresis")
    assert missing.because == "no input was applied both rising and falling"


@pytest.mark.parametrize(
    ("ends", "middle", "expected"),
    [
        (("4.000", "20.000"), "12.078", []),  # 0.49 %
        (("3.960", "19.960"), "12.050", [("review", "bent")]),  # 0.56 % from the line of the ends
        (("4.000", "20.000"), "12.1", []),  # 0.625 %, and half of 0.1 mA is 0.3125 %
    ],
)
def test_linearity(ends, middle, expected):
    document = exact((ends[0], "8.000", middle, "16.000", ends[1]))
    assert verdicts(document, "sensor.linearity") == expected


@pytest.mark.parametrize(
    ("middle", "expected"),
    [
        # 0.08 mA are the tolerance of 0.5 % of 16 mA; read to 0.01 mA, half a digit at the middle
        # and at the ends is 0.01 mA more. The ends are 0.05 mA away, the middle on the other side:
        ((-5, "12.03"), []),
        ((-5, "12.04"), []),
        ((-5, "12.05"), [("review", "bent")]),
        ((5, "11.96"), []),
        ((5, "11.95"), [("review", "bent")]),
    ],
)
def test_rounding_of_the_readings_is_no_bend(middle, expected):
    away, read = middle
    low, quarter, _, three, top = (f"{float(each) + away / 100:.2f}" for each in GOOD)
    document = verified((low, quarter, read, three, top))
    assert verdicts(document, "sensor.linearity") == expected


def test_hysteresis_waits_for_the_error():
    document = verified(("4.01", "7.90", "11.70", "15.60", "19.50"))
    (waiting,) = lacking(judged(document), "sensor.hysteresis")
    assert waiting.waits_for == "sensor.error-as-left"
