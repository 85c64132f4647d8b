"""Output filter at the drive: as set and as fitted, and its window of carriers."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document
from tests.calculations.stations import settings

FILTER = "drive.output-filter-setting"
CARRIER = "drive.carrier-for-filter"


def fitted(kind: str, chosen: str, **more: object) -> Document:
    """The booster with an output filter."""
    values = {"/drive/output_filter_fitted": kind, "/drive/filter_voltage_drop": q("1", "%")}
    return changed(booster(), values | settings({"output_filter": chosen}) | more)


@pytest.mark.parametrize(
    ("kind", "chosen", "expected"),
    [
        ("none", "none", []), ("sine_wave", "sine_wave", []),
        # Outside its carrier window a sine-wave filter overheats: its plate, common practice.
        ("sine_wave", "none", [("stop", "unheld")]), ("sine_wave", "dv_dt", [("stop", "unheld")]),
        ("none", "sine_wave", [("review", "differs")]),
        ("dv_dt", "sine_wave", [("review", "differs")]), ("common_mode", "none", []),
    ],
)  # fmt: skip
def test_filter_as_set(kind: str, chosen: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(fitted(kind, chosen), FILTER) == expected


WINDOW = {"/drive/filter_carrier_min": q("3", "kHz"), "/drive/filter_carrier_max": q("6", "kHz")}


@pytest.mark.parametrize(
    ("kind", "carrier", "expected"),
    [
        ("sine_wave", "3", []), ("sine_wave", "6", []),
        ("sine_wave", "2.9", [("stop", "low")]), ("sine_wave", "6.1", [("stop", "high")]),
        ("dv_dt", "6.1", [("review", "high")]),
        ("none", "2", []), ("reactor", "2", []),
    ],
)  # fmt: skip
def test_carrier_window(kind: str, carrier: str, expected: list[tuple[str, str]]) -> None:
    document = fitted(kind, kind, **WINDOW)
    chosen = changed(document, settings({"carrier_frequency": q(carrier, "kHz")}))
    assert verdicts(chosen, CARRIER) == expected


@pytest.mark.parametrize(
    ("chosen", "carrier", "expected"),
    [
        # Common practice: a drive that has no such setting is held to its carrier alone.
        ("none", "3", ("review", "by_carrier")), ("none", "6", ("review", "by_carrier")),
        ("none", "2.9", ("stop", "unheld")), ("none", "6.1", ("stop", "unheld")),
        ("dv_dt", "4", ("stop", "unheld")), ("reactor", "4", ("stop", "unheld")),
    ],
)  # fmt: skip
def test_a_sine_filter_that_is_not_set_is_held_by_its_carrier(chosen, carrier, expected) -> None:
    document = changed(
        fitted("sine_wave", chosen, **WINDOW), settings({"carrier_frequency": q(carrier, "kHz")})
    )
    assert verdicts(document, FILTER) == [expected]
    for place in (*WINDOW, "/event/settings/as_left/carrier_frequency"):
        assert verdicts(without(document, place), FILTER) == [("stop", "unheld")]


def test_without_a_filter_no_carrier_is_asked_for() -> None:
    plain = without(booster(), "/event/settings/as_left/carrier_frequency")
    assert lacking(judged(plain), "drive.carrier-for-filter") == []


def test_a_sine_filter_needs_its_window() -> None:
    (missing,) = lacking(judged(fitted("sine_wave", "sine_wave")), CARRIER)
    assert missing.needs == ("/drive/filter_carrier_min", "/drive/filter_carrier_max")


def test_highest_frequency_of_the_filter() -> None:
    for highest, expected in (("60", []), ("55", [("review", "frequency")])):
        own = {"/drive/filter_maximum_frequency": q(highest, "Hz")}
        document = fitted("sine_wave", "sine_wave", **WINDOW, **own)
        assert verdicts(document, CARRIER) == expected
