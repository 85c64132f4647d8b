"""Duty of the plate; S2 is a run of stated length from cold: IEC 60034-1, from memory."""

import pytest

from tests.calculations.building import booster, changed, in_metric, judged, lacking, verdicts
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import LEFT

RULE = "motor.duty"


def of(duty: str, minutes: str | None = None, regulation: str = "open_loop") -> Document:
    """The booster, whose points were held for 300 s, with another motor."""
    length = {"/motor/duty_minutes": q(minutes, "min")} if minutes else {}
    return changed(booster(), {"/motor/duty": duty, f"{LEFT}/regulation": regulation} | length)


@pytest.mark.parametrize("duty", ["continuous", "S1", "S6", "S9", "unknown"])
def test_a_motor_for_service_without_pauses(duty: str) -> None:
    judgement = judged(of(duty, regulation="closed_loop_in_drive"))
    assert lacking(judgement, RULE) == []
    assert verdicts(of(duty, regulation="closed_loop_in_drive"), RULE) == []


@pytest.mark.parametrize("duty", ["S2", "S3", "S4", "S5"])
@pytest.mark.parametrize("regulation", ["closed_loop_in_drive", "speed_from_external_controller"])
def test_a_loop_runs_it_as_long_as_there_is_demand(duty: str, regulation: str) -> None:
    document = of(duty, "30", regulation)
    assert verdicts(document, RULE) == [("review", "loop")]
    assert verdicts(in_metric(document), RULE) == [("review", "loop")]


@pytest.mark.parametrize(
    ("duty", "minutes", "expected"),
    [
        ("S2", "4.9", [("review", "ran")]),
        ("S2", "5", []),
        ("S2", "30", []),
        ("S2", None, []),
        ("S3", "4.9", []),  # minutes of a cycle
    ],
)
def test_a_run_longer_than_the_plate_says(
    duty: str, minutes: str | None, expected: list[tuple[str, str]]
) -> None:
    assert verdicts(of(duty, minutes), RULE) == expected


def test_a_motor_in_the_liquid_has_its_pauses_uncovered() -> None:
    document = changed(of("S3", "30", "closed_loop_in_drive"), {"/motor/immersed": True})
    assert verdicts(document, RULE) == []
