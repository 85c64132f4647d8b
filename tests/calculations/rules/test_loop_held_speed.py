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
        (left(signal_loss_response="hold_speed", sleep_method="flow"), []),
        (left(signal_loss_response="hold_speed") | {"/site/zero_demand_possible": False}, []),
        (
            left(signal_loss_response="hold_speed") | {"/site/minimum_flow_path": "recirculation"},
            [],
        ),
        (left(signal_loss_response="hold_speed", regulated_quantity="flow"), []),
    ],
)
def test_runs_on(changes: dict[str, object], expected: list[tuple[str, str]]) -> None:
    assert verdicts(changed(booster(), changes), RULE) == expected


def test_without_word_of_the_demand_it_is_not_passed() -> None:
    held = changed(booster(), left(signal_loss_response="hold_speed"))
    (missing,) = lacking(judged(without(held, "/site/zero_demand_possible")), RULE)
    assert missing.needs == ("/site/zero_demand_possible",)
