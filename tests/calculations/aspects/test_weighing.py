"""What a verification shows, by hand; how far inputs have to reach: common practice, no source.

PT-101 of the booster: 0 to 200 psi, tolerance 0.5 % of span. FT-101: 0 to 1500 gpm.
"""

import pytest

from calculations.aspects import verifying, weighing
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import left, lift_station, shifted_booster

AT = "/event/sensor_verifications/0"


def rising(sensor: str, unit: str, values: tuple[str, ...]) -> Document:
    """A verification by the display of the transmitter, which shows what is applied."""
    read = {"direction": "up", "indicated_at": "transmitter"}
    points = [read | {"applied": q(each, unit), "indicated": q(each, unit)} for each in values]
    return {"sensor": sensor, "instrument": "I-1", "adjusted": "none", "as_found": points}


def covers(station: Document, sensor: str, unit: str, *values: str) -> bool:
    found = case(changed(station, {AT: rising(sensor, unit, values)}))
    return weighing.covers(found, verifying.check(found, AT, "as_found"))


@pytest.mark.parametrize(
    ("values", "shown"),
    [
        (("0", "50", "100"), True),  # half the span
        (("0", "50", "99"), False),
        (("60", "100", "160"), True),
        (("160", "60", "100"), True),
        (("0", "100"), False),
        (("0", "0", "100"), False),
        (("100", "100", "200"), False),
        (("0", "4", "100"), False),  # 2 % of span are the same input
        (("0", "4.1", "100"), True),
        (("-20", "40", "80"), True),
    ],
)
def test_three_inputs_over_half_the_span(values, shown):
    assert covers(booster(), "PT-101", "psi", *values) is shown


@pytest.mark.parametrize(
    ("values", "shown"),
    [
        (("0.5", "1.0", "1.75"), True),  # a quarter of 5 m: no deeper stands the well
        (("0.5", "1.0", "1.74"), False),
        (("0.5", "1.75"), False),
    ],
)
def test_a_well_is_rarely_as_deep_as_the_range(values, shown):
    assert covers(lift_station(), "LT-201", "m", *values) is shown


@pytest.mark.parametrize("values", [("700",), ("700", "702")])
def test_a_flow_meter_is_held_against_what_flows(values):
    assert covers(booster(), "FT-101", "gpm", *values)


# -- in doubt with the loop -----------------------------------------------------------------------


def in_doubt(changes: Document) -> bool:
    return weighing.is_in_doubt_with_loop(case(changed(booster(), changes)), AT)


LOW = {"applied": q("100", "psi"), "signal": q("11.00", "mA"), "direction": "up"}
"""12 mA are 100 psi of 200: 6.25 % of span low."""

UNSCALED = left(feedback_at_upper_signal=None, set_point_datum=None)


def sent(value: str, unit: str, applied: str = "100") -> Document:
    return LOW | {"signal": q(value, unit), "applied": q(applied, "psi")}


@pytest.mark.parametrize(
    ("verification", "changes", "expected"),
    [
        ({"sensor": "PT-100"}, {}, False),  # not what the drive is regulated on
        ({}, {}, True),  # nothing outside
        ({"adjusted": "zero"}, {}, True),  # how it was left is not known
        ({"as_found": [LOW]}, {}, False),  # measured, and no range of anybody's explains it
        # 11.00 mA are 100 psi of 228.6: the drive's range explains it.
        ({"as_found": [LOW]}, left(feedback_at_upper_signal=q("228.6", "psi")), True),
        ({"as_found": [LOW]}, left(feedback_at_upper_signal=q("200.5", "psi")), False),
        # The drive takes 0 to 20 mA: 10 mA would be 100 psi, 10.2 mA 102 psi.
        ({"as_found": [sent("10.00", "mA")]}, left(feedback_signal="0-20 mA"), True),
        ({"as_found": [sent("10.20", "mA")]}, left(feedback_signal="0-20 mA"), False),
        ({"as_found": [sent("10.00", "mA")]}, left(feedback_signal="0-10 V"), False),
        # 101 psi of 99.5 psi: 0.75 % of span off, 0.5 % allowed and 0.05 of 16 mA granted.
        ({"as_found": [sent("10.1", "mA", "99.5")]}, left(feedback_signal="0-20 mA"), True),
        ({"as_found": [sent("10.10", "mA", "99.5")]}, left(feedback_signal="0-20 mA"), False),
        # How the drive is scaled is not known: neither is whether that explains it.
        ({"as_found": [LOW]}, UNSCALED, True),
        # Shown, not measured.
        ({"as_found": [LOW | {"signal": None, "indicated": q("87.5", "psi")}]}, {}, True),
    ],
)
def test_what_a_doubted_loop_leaves_open(verification, changes, expected):
    given = {f"{AT}/{name}": value for name, value in verification.items()}
    assert in_doubt(given | changes) is expected


@pytest.mark.parametrize(("upper", "expected"), [("205.2", False), ("233.8", True)])
def test_what_the_drive_adds_for_its_datum_is_no_error(upper, expected):
    """5.2 psi are added: 5.2 to 233.8 psi are 0 to 228.6 psi at the transmitter."""
    scaled = left(feedback_at_upper_signal=q(upper, "psi")) | {f"{AT}/as_found": [LOW]}
    found = case(changed(shifted_booster(), scaled))
    assert weighing.is_in_doubt_with_loop(found, AT) is expected


# -- the range of the drive -----------------------------------------------------------------------

WIDER = [
    {"applied": q(str(each), "psi"), "signal": q(f"{4 + 16 * each / 250:.3f}", "mA"),
     "direction": "up"}
    for each in (0, 50, 100, 150, 200)
]  # fmt: skip
"""Signals of a range of 250 psi: 16.8 mA at 200 psi where that of 200 psi gives 20."""


@pytest.mark.parametrize(
    ("scaled", "expected"),
    [
        ({"feedback_at_upper_signal": q("250", "psi")}, True),
        ({"feedback_at_upper_signal": q("200", "psi")}, False),
        # At the transmitter nothing is added, whatever it is scaled to; that is not known.
        ({"feedback_at_upper_signal": None, "set_point_datum": "transmitter"}, False),
    ],
)
def test_whether_signals_are_those_of_the_drives_range(scaled, expected):
    found = case(changed(booster(), left(**scaled) | {f"{AT}/as_found": WIDER}))
    assert weighing.shows_drives_range(found, AT, "as_found") is expected
