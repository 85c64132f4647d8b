"""Current limit and dry run by low load; limits: common practice, no source.

The booster's motor has 68.7 A and drew 52.7 A at most; the well's drew 46.2 to 64.5 A and 16.5 to
36.2 kW at its points.
"""

import pytest

from tests.calculations import stations
from tests.calculations.building import booster, changed, judged, of_rule, verdicts, without
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import left

LIMIT, LOAD = "drive.current-limit", "well.low-load"


def limited(value: str, unit: str = "A", document: Document | None = None) -> Document:
    return changed(document or booster(), left(current_limit=q(value, unit)))


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        ("84.7", []),  # 77 A at normal duty and 110 % for a minute
        ("84.8", [("note", "above_drive")]),
        ("68.7", []),
        ("52.7", [("review", "below_needed")]),  # what was drawn at 54.9 Hz is not yet all
        ("52.5", [("review", "below_drawn")]),
        ("10", [("review", "below_drawn")]),
    ],
)
def test_current_limit(amperes: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(limited(amperes), LIMIT) == expected


@pytest.mark.parametrize(
    ("amperes", "expected"), [("58.3", []), ("57.0", [("review", "below_needed")])]
)
def test_boundary_of_what_is_expected_at_the_maximum_frequency(
    amperes: str, expected: list[tuple[str, str]]
) -> None:
    """1000 gpm x 165.0 ft / 3960 / 0.825 at 1775 of 1770 rpm are 50.9 hp, 0.849 of 60 hp.

    68.7 A sqrt(0.16 + 0.84 x 0.849^2) = 60.1 A, between points of the curve up to 2 % more; 5 %
    below that are 57.1 A, or up to 58.2 A.
    """
    currents = (f"/event/duty_points/{index}/currents_drive_output" for index in range(3))
    assert verdicts(limited(amperes, document=without(booster(), *currents)), LIMIT) == expected


@pytest.mark.parametrize(
    ("share", "expected"),
    [
        ("110", []),
        ("68.4", []),  # of the drive's 77 A: 52.7 A
        ("68.2", [("review", "amperes")]),  # 52.6 A, with half a digit; 68.2 A were meant
        ("53", [("review", "amperes")]),
        ("52", [("review", "share_drawn")]),
        ("20", [("review", "share_drawn")]),
    ],
)
def test_a_share_too_small_of_whatever_it_is(share: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(limited(share, "%"), LIMIT) == expected


def test_a_share_of_a_plate_larger_than_the_drive() -> None:
    """85 % of the motor's 68.7 A are 58 A; of a drive of 50 A they would be 43 A."""
    small = {f"/drive/rated_current_{duty}_duty": q("50", "A") for duty in ("normal", "heavy")}
    assert verdicts(limited("85", "%", changed(booster(), small)), LIMIT) == []


def by_low_load(value: str, unit: str, document: Document | None = None) -> Document:
    threshold = left(dry_run_method="underload", dry_run_threshold=q(value, unit))
    return changed(document or stations.well(), threshold)


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        ("9", "kW", []),
        ("16.5", "kW", []),  # half a last digit is granted
        ("16.6", "kW", [("note", "slow")]),
        ("36.2", "kW", [("note", "slow")]),
        ("36.3", "kW", [("review", "always")]),
        ("30", "A", []),
        ("46.1", "A", []),
        ("46.3", "A", [("note", "slow")]),  # a threshold that falls with the speed
        ("200", "A", [("review", "always")]),
        ("0", "A", [("review", "never")]),
    ],
)
def test_low_load(value: str, unit: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(by_low_load(value, unit), LOAD) == expected


def test_without_readings_the_plate_decides() -> None:
    unread = without(
        stations.well(), *(f"/event/duty_points/{i}/currents_drive_output" for i in range(3))
    )
    assert verdicts(by_low_load("84", "A", unread), LOAD) == []
    assert verdicts(by_low_load("84.1", "A", unread), LOAD) == [("review", "plate")]


def test_a_closed_valve_is_where_it_should_act() -> None:
    """A point without flow does not count: the threshold lies above what is taken there."""
    closed = {"/event/duty_points/2/flow": q("0", "gpm")}
    assert verdicts(changed(by_low_load("20", "kW"), closed), LOAD) == []


def test_another_method_has_another_threshold() -> None:
    level = left(dry_run_method="level", dry_run_threshold=q("100", "ft"))
    assert verdicts(changed(stations.well(), level), LOAD) == []


def test_what_the_drive_gives_is_told() -> None:
    (found,) = of_rule(judged(limited("84.8")), LIMIT)
    (gives,) = [each.shown for each in found.compared if each.name == "gives"]
    assert (float(gives.value), gives.unit) == (pytest.approx(84.7, abs=0.05), "A")  # 77 x 1.1


@pytest.mark.parametrize("name", ["overload_percent", "rated_current_normal_duty"])
def test_a_drive_whose_plate_is_not_known_limits_nothing(name: str) -> None:
    document = without(limited("84.8"), f"/drive/{name}")
    assert verdicts(document, LIMIT) == []
