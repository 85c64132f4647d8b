"""Why a rule cannot be judged: what it lacks by its place, and in words where that is not enough.

Each row is a document that somebody may well write.
"""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, without
from tests.calculations.building_event import TRACE
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import left, lift_station, raw_water

POINTS = "/event/duty_points"
LEFT = "/event/settings/as_left"
RESISTANCES = "/event/motor_tests/winding_resistance/values"
FOUND = "/event/sensor_verifications/0/as_found"
SYSTEM = "/site/system_curve_points"
TWO_POINTS = without(
    booster(), "/pump/curve_points", f"{POINTS}/1/discharge_pressure", f"{POINTS}/2/flow"
)
NEVER_MEETS = [
    {"flow": q("0", "gpm"), "head": q("150", "ft")},
    {"flow": q("100", "gpm"), "head": q("155", "ft")},  # the curve ends at 1354 gpm
]
TWO_INPUTS = booster()["event"]["sensor_verifications"][0]["as_found"][:2]


@pytest.mark.parametrize(
    ("document", "rule", "needs", "because"),
    [
        (changed(lift_station(), {"/site/inflow_minimum": q("60", "m3/h")}), "well.starts",
         "/site/inflow_minimum", "the pump does not cycle at this inflow"),  # 51 m3/h at 34 Hz
        (changed(booster(), {RESISTANCES: [q("0.11", "ohm")] * 2}), "winding.resistance-unbalance",
         RESISTANCES, "expected three resistances"),
        (changed(booster(), {f"{POINTS}/0/currents_drive_output": [q("52", "A")] * 2}),
         "winding.current-unbalance", f"{POINTS}/0/currents_drive_output",
         "expected three currents"),
        (TWO_POINTS, "curve.points-agree", POINTS,
         "fewer than two points with flow, heads and speed"),
        (changed(booster(), {"/pump_set/bypass": "manual",
                             "/event/rotation/bypass_direction": "not_checked"}),
         "rotation.bypass", "/event/rotation/bypass_direction",
         "the direction over the bypass was not checked"),
        (changed(booster(), left(signal_loss_threshold=q("5", "%"))), "loop.loss-threshold",
         f"{LEFT}/signal_loss_threshold", "a share does not say of what"),
        (changed(booster(), {f"{POINTS}/0/frequency": q("0", "Hz"), f"{POINTS}/0/speed": None}),
         "curve.point", f"{POINTS}/0/frequency", "the pump stands still"),
        (changed(booster(), {f"{POINTS}/0/other_pumps_running": 1,
                             f"{POINTS}/0/flow_method": "installed_meter"}),
         "curve.point", f"{POINTS}/0/flow", "other pumps ran on the same meter"),
        (changed(raw_water(), {"/site/system_design_flow": q("3000", "gpm")}), "ramp.surge",
         "/pump/curve_points", "the design point lies beyond the curve"),
        (changed(raw_water(), {SYSTEM: NEVER_MEETS}), "main.velocity", SYSTEM,
         "pump and system do not meet"),
        (changed(booster(), {FOUND: TWO_INPUTS}), "sensor.linearity", FOUND,
         "fewer than three different inputs were applied"),
        (changed(booster(), {FOUND: TWO_INPUTS}), "sensor.hysteresis", FOUND,
         "no input was applied both rising and falling"),
        (changed(booster(), {"/event/step_tests": [{"trace": TRACE, "step_kind": "set_point"}]}),
         "trace.time", "/event/step_tests/0/trace", "the rows of this trace are not at hand"),
    ],
)  # fmt: skip
def test_a_rule_says_what_it_lacks_and_why(
    document: Document, rule: str, needs: str, because: str
) -> None:
    found = {each.needs: each.because for each in lacking(judged(document), rule)}
    assert found[(needs,)] == because


def test_a_visit_is_not_compared_with_a_later_one() -> None:
    found = lacking(judged(booster(), earlier=booster()), "trend.sensor")
    assert {(each.needs, each.because) for each in found} == {
        (("/event/performed_at",), "not after the earlier record")
    }


@pytest.mark.parametrize("kind", ["air_vessel", "one_way_tank", "flywheel"])
def test_a_study_is_asked_for_what_softens_a_surge(kind: str) -> None:
    low = {"/site/surge_protection": kind, "/site/pipeline/pressure_rating": q("90", "psi")}
    (found,) = lacking(judged(changed(raw_water(), low)), "ramp.surge")
    assert found.because == f"only a study tells what the {kind.replace('_', ' ')} does"
