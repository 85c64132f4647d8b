"""A pause before a well pump starts again: 10 s, common practice, no source."""

import pytest

from calculations.rules.well_restart import RESTART
from tests.calculations import stations
from tests.calculations.building import booster, changed, judged, lacking, of_rule, verdicts
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

RULE = "well.restart"


def seconds(value: str, **more: object) -> dict[str, object]:
    return left(restart_delay=q(value, "s"), **more)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, []),
        (seconds("10"), []),
        (seconds("9.9"), [("review", "power")]),
        (seconds("0", restart_after_power_loss="restart"), [("review", "power_at_once")]),
        (seconds("60", restart_after_power_loss="restart"), []),
        (seconds("0", restart_after_power_loss="stay_stopped"), []),
        (left(automatic_reset_delay=q("0", "s")), [("review", "reset")]),
        (left(automatic_reset_delay=q("10", "s")), []),
        (left(automatic_reset_delay=q("0", "s"), automatic_reset_count=0), []),
    ],
)
def test_pause(changes: dict[str, object], expected: list[tuple[str, str]]) -> None:
    assert verdicts(changed(stations.well(), changes), RULE) == expected


def test_at_once_needs_no_delay_to_be_known() -> None:
    document = changed(
        stations.well(), left(restart_after_power_loss="restart", restart_delay=None)
    )
    (finding,) = of_rule(judged(document), RULE)
    assert finding.parameters["delay"] == "0 s"


def test_a_delay_that_is_not_known_is_not_passed() -> None:
    document = changed(stations.well(), left(restart_delay=None))
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == ("/event/settings/as_left/restart_delay",)


def test_what_is_not_known_of_one_way_hides_nothing_of_the_other() -> None:
    document = changed(stations.well(), left(restart_delay=None, automatic_reset_delay=q("0", "s")))
    assert verdicts(document, RULE) == [("review", "reset")]


def test_a_booster_has_no_column_to_run_back() -> None:
    assert (
        verdicts(changed(booster(), seconds("0", restart_after_power_loss="restart")), RULE) == []
    )


@pytest.mark.parametrize(
    ("delay", "expected"), [("10", []), ("9.9", [("review", "power")])]
)  # fmt: skip
def test_across_the_line_the_column_runs_back_as_well(delay: str, expected: object) -> None:
    document = stations.well_across_the_line(restart_delay=q(delay, "s"))
    assert verdicts(document, RULE) == expected


def test_a_reset_is_not_laid_to_a_drive() -> None:
    given = {"automatic_reset_count": 3, "automatic_reset_delay": q("0", "s")}
    (finding,) = of_rule(judged(stations.well_across_the_line(**given)), RULE)
    assert finding.variant == "reset"
    assert "drive" not in RESTART.sentence(finding)
