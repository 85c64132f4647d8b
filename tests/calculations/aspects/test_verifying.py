"""A sensor against its reference, and what an instrument's accuracy means at a reading; by hand.

PT-101: 0 to 200 psi, 4-20 mA, 0.5 % of span. I-1: a calibrator of 0 to 300 psi, 0.025 % of it.
Equations of `verification`: common practice; JCGM 100:2008, 6.2 for the coverage factor.
"""

import pytest

from calculations.aspects import instruments, verifying
from calculations.case import Missing
from calculations.units import Quantity
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import LEFT

PSI = 6894.757
AT = "/event/sensor_verifications/0"
FIRST = f"{AT}/as_found/1"


@pytest.mark.parametrize(
    ("stated", "reading", "uncertainty"),
    [
        ({}, 100, 0.075),
        ({"percent_of_range": q("0.1", "%"), "range_low": q("-15", "psi")}, 100, 0.315),
        ({"percent_of_range": None, "percent_of_reading": q("1", "%")}, 100, 1.0),
        ({"percent_of_range": None, "percent_of_reading": q("1", "%")}, -10, 0.1),
        ({"percent_of_reading": q("0.1", "%")}, 100, 0.175),
        ({"resolution": q("0.1", "psi")}, 100, 0.125),  # half a digit
        ({"resolution": q("0.1", "psi"), "digits": q("2", "1")}, 100, 0.275),
        ({"uncertainty": q("0.3", "psi")}, 100, 0.3),  # a certificate goes first, k = 2
        ({"uncertainty": q("0.3", "psi"), "coverage_factor": q("3", "1")}, 100, 0.2),
    ],
)
def test_what_an_accuracy_means(stated, reading, uncertainty):
    changes = {f"/instruments/0/{name}": value for name, value in stated.items()}
    found = instruments.instrument_uncertainty(
        case(changed(booster(), changes)), "/instruments/0", reading * PSI, "pressure"
    )
    assert found == pytest.approx(uncertainty * PSI)


def test_it_is_a_share_of_what_was_read():
    read = Quantity("-50", "psi", "pressure", -50 * PSI)
    share = instruments.instrument_share(case(booster()), "/instruments/0", read)
    assert share == pytest.approx(0.075 / 50)


def test_it_holds_for_its_own_kind():
    with pytest.raises(Missing):
        instruments.instrument_uncertainty(case(booster()), "/instruments/0", 5.0, "current")
    # A share of the reading holds for whatever it reads.
    found = instruments.instrument_uncertainty(case(booster()), "/instruments/2", 50.0, "current")
    assert found == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("stated", "field"),
    [
        ({"range_low": None}, "range_low"),
        ({"range_high": None}, "range_high"),
        ({"range_high": q("0", "psi")}, "range_high"),  # no more than where it begins
        ({"percent_of_range": None}, "percent_of_range"),  # nothing is stated at all
    ],
)
def test_an_accuracy_that_says_nothing_names_what_it_lacks(stated, field):
    changes = {f"/instruments/0/{name}": value for name, value in stated.items()}
    found = case(changed(booster(), changes))
    with pytest.raises(Missing) as lacking:
        instruments.instrument_uncertainty(found, "/instruments/0", 5.0, "pressure")
    assert lacking.value.places == (f"/instruments/0/{field}",)


@pytest.mark.parametrize(
    ("quantity", "change", "expected"), [("3", "degC", 3.0), ("-9", "degF", 5.0), ("2", "bar", 2e5)]
)
def test_a_difference_has_no_zero_of_its_own(quantity, change, expected):
    read = Quantity(quantity, change, "temperature", 0.0)
    assert instruments.difference(read) == pytest.approx(expected)


def found(point: Document, also: Document | None = None) -> verifying.Check:
    """The verification with another second reading: 50 psi applied, 8.02 mA, 50.2 psi shown.

    The first is at 3 psi, so that no set of check points was applied; its reference is good to
    5 psi, coarser than any digit.
    """
    changes = {f"{FIRST}/{name}": value for name, value in point.items()}
    changes |= {
        f"{AT}/as_found/0/applied": q("3", "psi"),
        "/instruments/0/uncertainty": q("5", "psi"),
    }
    document = changed(booster(), changes | (also or {}))
    return verifying.check(case(document), AT, "as_found")


@pytest.mark.parametrize(
    ("point", "applied", "error", "rounding"),
    [
        # 0.02 mA of 16 mA; half of 1 psi, and half of 0.01 mA: 0.0625 psi.
        ({}, 50, 0.00125, 0.5625),
        ({"applied": q("50.0", "psi")}, 50, 0.00125, 0.05 + 0.0625),
        ({"applied": q("25.0", "%")}, 50, 0.00125, 0.1 + 0.0625),
        ({"signal": q("8.0", "mA")}, 50, 0.0, 0.5 + 0.625),
        ({"signal": None}, 50, 0.001, 0.5 + 0.05),
        ({"signal": None, "indicated": q("25.5", "%")}, 50, 0.005, 0.5 + 0.1),
        ({"signal": None, "indicated": q("51.0", "psi"), "indicated_at": "transmitter"}, 50, 0.005,
         0.5 + 0.05),
    ],
)  # fmt: skip
def test_a_point(point, applied, error, rounding):
    check = found(point)
    assert check.points[1].applied == pytest.approx(applied * PSI)
    assert check.errors[1] == pytest.approx(error, abs=1e-6)
    assert check.points[1].rounding == pytest.approx(rounding * PSI, rel=1e-4)


def test_percent_at_the_drive_is_of_the_signal_wherever_the_set_point_counts():
    """25.0 % of 200 psi are the 50 psi applied, though the set point counts 40 ft below."""
    in_percent = {f"{LEFT}/feedback_at_lower_signal": q("0", "%"),
                  f"{LEFT}/feedback_at_upper_signal": q("100", "%"),
                  f"{LEFT}/set_point_datum": "pump_datum",
                  "/sensors/0/tapping_elevation": q("40", "ft")}  # fmt: skip
    check = found({"signal": None, "indicated": q("25.0", "%")}, in_percent)
    assert check.errors[1] == pytest.approx(0.0, abs=1e-9)


def test_a_point_that_says_nothing_is_not_read():
    check = found({"signal": None, "indicated": None})
    assert len(check.points) == 10
    assert len(check.readable) == 9


@pytest.mark.parametrize(("height", "feet"), [(("55", "ft"), 55.0), (("1", "m"), 3.2808)])
def test_a_reference_that_stands_higher_adds_its_water(height, feet):
    """Water of 60 degF: 2.3089 ft are 1 psi."""
    check = verifying.check(
        case(changed(booster(), {f"{AT}/applied_head_difference": q(*height)})), AT, "as_found"
    )
    assert check.points[0].applied == pytest.approx(feet / 2.3089 * PSI, rel=3e-4)


@pytest.mark.parametrize(
    ("signal", "outside"),
    # 0.08 mA are 0.5 % of span, digits of 0.5 psi and 0.005 mA another 0.045 mA.
    [("8.12", 0), ("8.13", 1), ("7.88", 0), ("7.87", 1)],
)
def test_certainly_outside(signal, outside):
    check = found({"signal": q(signal, "mA")})
    assert [point.place for point, _ in check.outside][1:] == [FIRST] * outside
    assert [point.place for point in check.undecided] == [FIRST] * (1 - outside)


@pytest.mark.parametrize(
    ("values", "granted"),
    [
        (("0", "50", "100", "150", "200"), 0.0),  # quarters of the span
        (("20", "60", "100", "140", "180"), 0.0),  # 10 to 90 %
        (("0", "35", "70", "105", "140"), 0.0),  # evenly spaced
        (("0", "10", "190", "100", "200"), 0.0),  # twentieths
        (("0", "33", "100", "150", "200"), 0.075),  # read: the calibrator's 0.025 % of 300 psi
        (("50", "50", "50", "50", "50"), 0.075),  # one value: a comparison in service
    ],
)
def test_what_digits_of_a_value_applied_are_granted(values, granted):
    changes = {
        f"{AT}/as_found/{index}/applied": q(value, "psi")
        for index, value in enumerate([*values, *values[::-1]])
    }
    check = verifying.check(case(changed(booster(), changes)), AT, "as_found")
    for point in check.points:
        assert point.rounding - point.reading_rounding == pytest.approx(granted * PSI, abs=1e-3)


def test_check_points_under_a_reference_that_stands_higher_are_set_as_well():
    values = ("20", "60", "180", "180", "180")  # 10, 30 and 90 %, not evenly spaced
    changes = {
        f"{AT}/as_found/{index}/applied": q(value, "psi")
        for index, value in enumerate([*values, *values[::-1]])
    } | {f"{AT}/applied_head_difference": q("11.55", "ft")}
    check = verifying.check(case(changed(booster(), changes)), AT, "as_found")
    assert check.points[0].rounding == pytest.approx(check.points[0].reading_rounding)


def test_without_a_known_reference_digits_alone_bound_what_they_hide():
    document = changed(booster(), {f"{FIRST}/applied": q("33", "psi"), f"{AT}/instrument": "I-77"})
    check = verifying.check(case(document), AT, "as_found")
    assert check.points[1].rounding == pytest.approx(0.5625 * PSI, rel=1e-4)


def test_the_worst_has_its_sign():
    point, error = found({"signal": q("7.00", "mA")}).worst
    assert (point.place, error) == (FIRST, pytest.approx(-1 / 16))


@pytest.mark.parametrize(
    ("adjusted", "state"), [("none", "as_found"), ("zero", None), (None, None)]
)
def test_the_state_in_which_it_was_left(adjusted, state):
    held = case(changed(booster(), {f"{AT}/adjusted": adjusted}))
    if state:
        assert verifying.state_left(held, AT) == state
    else:
        with pytest.raises(Missing):
            verifying.state_left(held, AT)


@pytest.mark.parametrize(
    ("field", "named", "lacks"),
    [
        ("instrument", None, f"{AT}/instrument"),
        ("instrument", "I-99", "/instruments"),
        ("sensor", None, f"{AT}/sensor"),
        ("sensor", "PT-999", "/sensors"),
    ],
)
def test_what_is_not_named_or_not_known_is_told_apart(field, named, lacks):
    found = case(changed(booster(), {f"{AT}/{field}": named}))
    place_of = {"instrument": verifying.reference_place, "sensor": verifying.sensor_place}[field]
    with pytest.raises(Missing) as raised:
        place_of(found, AT)
    assert raised.value.places == (lacks,)
