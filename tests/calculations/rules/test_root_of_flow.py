"""A flow by a difference of pressure whose root nothing takes, or two things take.

FT-101 of 0 to 1500 gpm, 1 % of span. Flow is the root of the difference of pressure (definition of
such a meter; ISO 5167-1, from memory): at half of the flow a quarter of the difference, 8 mA of 4
to 20 mA. By hand, shares of the flow 0, 0.2, 0.4, 0.6, 0.8, 1: their squares 0, 0.04, 0.16, 0.36,
0.64, 1 give 4, 4.64, 6.56, 9.76, 14.24, 20 mA; their roots 0, 0.4472, 0.6325, 0.7746, 0.8944, 1
give 4, 11.155, 14.119, 16.394, 18.311, 20 mA.
"""

import pytest

from calculations.catalogue import rule
from tests.calculations.building import booster, changed, judged, of_rule, verdicts
from tests.calculations.building_plates import Document, q

FLOWS = ("0", "300", "600", "900", "1200", "1500")
RIGHT = ("4.000", "7.200", "10.400", "13.600", "16.800", "20.000")
SQUARES = ("4.000", "4.640", "6.560", "9.760", "14.240", "20.000")
ROOTS = ("4.000", "11.155", "14.119", "16.394", "18.311", "20.000")
SQUARED_FLOWS = ("0", "60", "240", "540", "960", "1500")
ROOTED_FLOWS = ("0", "670.8", "948.7", "1161.9", "1341.6", "1500")


def verified(signals: tuple[str, ...], shown: tuple[str, ...] | None, **meter: object) -> Document:
    points = [
        {"direction": "up", "applied": q(flow, "gpm"), "signal": q(signal, "mA")}
        for flow, signal in zip(FLOWS, signals, strict=True)
    ]
    for point, value in zip(points, shown or (), strict=bool(shown)):
        point |= {"indicated": q(value, "gpm"), "indicated_at": "remote_display"}
    found = {"sensor": "FT-101", "adjusted": "none", "as_found": points}
    kind = {"meter_kind": "differential_pressure"} | meter
    return changed(
        booster(),
        {"/event/sensor_verifications/0": found}
        | {f"/sensors/2/{name}": value for name, value in kind.items()},
    )


def both(document: Document) -> list[tuple[str, str]]:
    return [
        *verdicts(document, "sensor.error-as-left"),
        *verdicts(document, "sensor.chain"),
    ]


@pytest.mark.parametrize(
    ("signals", "shown", "expected"),
    [
        (RIGHT, FLOWS, []),
        (SQUARES, SQUARED_FLOWS, [("review", "root_missing")]),
        (SQUARES, None, [("review", "root_missing")]),
        (ROOTS, ROOTED_FLOWS, [("review", "root_twice")]),
        (SQUARES, FLOWS, [("note", "root_behind")]),  # the display takes it, and it alone
        (RIGHT, ROOTED_FLOWS, [("review", "root_twice")]),  # told of the display
        (RIGHT, SQUARED_FLOWS, [("review", "root_missing")]),
    ],
)
def test_where_the_root_is_taken(signals, shown, expected):
    assert both(verified(signals, shown)) == expected


@pytest.mark.parametrize(
    ("shown", "expected"), [(FLOWS, []), (SQUARED_FLOWS, [("note", "outside")])]
)
def test_what_was_shown_right_is_not_told_as_found_wrong(shown, expected):
    """Readings since the last verification rest on what was shown, not on the signal."""
    assert verdicts(verified(SQUARES, shown), "sensor.error-as-found") == expected


def test_what_is_said_on_site():
    (finding,) = of_rule(judged(verified(SQUARES, SQUARED_FLOWS)), "sensor.error-as-left")
    assert rule("sensor.error-as-left").sentence(finding) == (
        "FT-101 was left -24 % of span off at 600 gpm (it says 240 gpm), outside its tolerance of "
        "1 %: all of its readings are the square of the share applied. It follows the difference "
        "of pressure, whose root nothing takes."
    )  # 0.4 - 0.16 and 0.6 - 0.36 are both 0.24; the first is named


@pytest.mark.parametrize(
    ("third", "expected"),
    [  # 1 % of 16 mA are 0.16 mA, half of 0.001 mA is granted as well
        ("6.720", "root_missing"),
        ("6.722", "outside"),
    ],
)
def test_one_reading_that_is_no_square_leaves_it_open(third, expected):
    signals = (*SQUARES[:2], third, *SQUARES[3:])
    assert verdicts(verified(signals, None), "sensor.error-as-left") == [("review", expected)]


def test_a_reading_below_nothing_is_no_square():
    """1.6 mA are 15 % of span below 0, at no flow."""
    document = verified(("1.600", *SQUARES[1:]), None)
    assert verdicts(document, "sensor.error-as-left") == [("review", "outside")]


def test_a_meter_without_a_difference_of_pressure_takes_no_root():
    document = verified(SQUARES, SQUARED_FLOWS, meter_kind="electromagnetic")
    assert both(document) == [("review", "outside")]


def test_one_input_off_is_no_square():
    """0.2 of the flow is no input that a square explains alone: two different ones have to."""
    signals = ("4.000", "4.640", "10.400", "13.600", "16.800", "20.000")
    assert [variant for _, variant in both(verified(signals, None))] == ["outside"]
