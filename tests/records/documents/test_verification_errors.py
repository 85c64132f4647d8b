"""Errors of a sensor in % of span, by their definition: (indicated - applied) / span."""

from typing import Any

import pytest

from records.documents.contents.verifications import indication_error, signal_error
from tests.calculations.building_plates import q

BAR = {"lower_range_value": q("0", "bar"), "upper_range_value": q("10", "bar"), "output": "4-20 mA"}
VOLTS = BAR | {"output": "0-5 V"}
DIGITAL = BAR | {"output": "digital"}
RAISED = BAR | {"lower_range_value": q("-1", "bar"), "upper_range_value": q("4", "bar")}


@pytest.mark.parametrize(
    ("sensor", "point", "signal", "indication"),
    [
        # 5 bar of 10 are 50 %, 12 mA; 12.08 mA are 50.5 %; 5.1 bar are 51 %.
        (BAR, {"applied": q("5", "bar"), "signal": q("12.08", "mA"), "indicated": q("5.1", "bar")},
         0.005, 0.01),
        # -1 to 4 bar: 0 bar are 20 %, 7.2 mA; 7.04 mA are 19 %; 500 mbar are 30 %.
        (RAISED, {"applied": q("0", "bar"), "signal": q("7.04", "mA"),
                  "indicated": q("500", "mbar")}, -0.01, 0.1),
        # Shown in % of span.
        (BAR, {"applied": q("5", "bar"), "indicated": q("49.5", "%")}, None, -0.005),
        # 0 to 5 V: 5 bar are 2.5 V.
        (VOLTS, {"applied": q("5", "bar"), "signal": q("2.6", "V")}, 0.02, None),
        ({}, {"applied": q("5", "bar"), "indicated": q("5", "bar")}, None, None),
        (DIGITAL, {"applied": q("5", "bar"), "signal": q("5", "V")}, None, None),
        (BAR, {"applied": q("5", "bar")}, None, None),
        (BAR, {}, None, None),
    ],
)  # fmt: skip
def test_errors(
    sensor: dict[str, Any], point: dict[str, Any], signal: float | None, indication: float | None
) -> None:
    close = {"rel": 1e-9, "abs": 1e-12}
    assert signal_error(point, sensor) == (
        None if signal is None else pytest.approx(signal, **close)
    )
    assert indication_error(point, sensor) == (
        None if indication is None else pytest.approx(indication, **close)
    )
