"""A pressure loop that runs on blindly where demand can be zero; common practice, no source."""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, verdicts, without
from tests.calculations.whole_stations import left

RULE = "loop.held-speed"


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        (left(signal_loss_response="stop"), []),
        (left(signal_loss_response="hold_speed"), [("review", "runs_on")]),
        (left(signal_loss_response="preset_speed"), [("review", "runs_on")]),
        (left(signal_loss_response="hold_speed", no_flow_response="stop"), []),
        (left(signal_loss_response="hold_speed", no_flow_response="alarm"),
         [("review", "runs_on")]),
        (left(signal_loss_response="hold_speed", sleep_method="flow"), []),
        (left(signal_loss_response="hold_speed", dry_run_method="flow_switch",
              dry_run_response="stop"), []),
        (left(signal_loss_response="hold_speed", dry_run_method="flow_switch",
              dry_run_response="alarm"), [("review", "runs_on")]),
        (left(signal_loss_response="hold_speed") | {"/site/zero_demand_possible": False}, []),
        (
            left(signal_loss_response="hold_speed") | {"/site/minimum_flow_path": "recirculation"},
            [],
        ),
        (left(signal_loss_response="hold_speed", regulated_quantity="flow"), []),
    ],
)  # fmt: skip
def test_runs_on(changes: dict[str, object], expected: list[tuple[str, str]]) -> None:
    assert verdicts(changed(booster(), changes), RULE) == expected


@pytest.mark.parametrize("place", ["/site/zero_demand_possible", "/site/minimum_flow_path"])
def test_without_word_of_demand_and_path_it_is_neither_passed_nor_found(place: str) -> None:
    held = without(changed(booster(), left(signal_loss_response="hold_speed")), place)
    assert verdicts(held, RULE) == []
    (missing,) = lacking(judged(held), RULE)
    assert missing.needs == (place,)
