"""What the loop regulates, its ranges in gauge pressure, and what its scaling adds, by hand.

PT-101: 0 to 200 psi at 3 ft; 500 ft above the sea; water of 60 degF, 2.3089 ft for 1 psi.
"""

import pytest

from calculations.aspects import loop
from calculations.case import Missing
from calculations.errors import InvalidInput
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, lift_station

PSI = 6894.757
FOOT = 0.3048
THREE_FEET = 3 / 2.3089 * PSI
SENSOR = "/sensors/0"


def test_a_range():
    falling = loop.Range(10.0, -30.0)
    assert (falling.span, falling.at(0.25), falling.share(-20.0)) == (-40.0, 0.0, 0.75)
    with pytest.raises(InvalidInput):
        loop.Range(5.0, 5.0).share(5.0)


@pytest.mark.parametrize(
    ("regulation", "closed", "known"),
    [
        ("closed_loop_in_drive", True, True),
        (None, True, False),
        ("speed_from_external_controller", False, False),
    ],
)
def test_whether_the_drive_regulates(regulation, closed, known):
    found = case(changed(booster(), left(regulation=regulation)))
    assert (loop.is_closed(found), loop.is_known_closed(found)) == (closed, known)


@pytest.mark.parametrize(
    ("regulated", "on", "keeps", "lowers"),
    [
        ("discharge_pressure", True, True, False),
        ("suction_pressure", False, False, True),
        ("level_emptying", False, False, True),
        ("level_filling", False, False, False),
        (None, True, False, False),
    ],
)
def test_what_it_regulates(regulated, on, keeps, lowers):
    found = case(changed(booster(), left(regulated_quantity=regulated)))
    assert loop.on_discharge_pressure(found) is on
    assert loop.keeps_discharge_pressure(found) is keeps
    assert loop.more_speed_lowers(found) is lowers


@pytest.mark.parametrize(
    ("reference", "psi"),
    # 500 ft, 152.4 m: 14.432 psi by the standard atmosphere, 14.696 psi at the sea.
    [("gauge", 0.0), ("absolute", -14.432), ("sealed_gauge", 14.696 - 14.432), (None, 0.0)],
)
def test_what_a_cell_calls_nothing(reference, psi):
    found = case(changed(booster(), {f"{SENSOR}/reference": reference}))
    ranged = loop.measuring_range(found)
    assert ranged.low == pytest.approx(psi * PSI, abs=20)
    assert ranged.high == pytest.approx((200 + psi) * PSI, abs=20)


# -- what the scaling adds --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("datum", "height", "offsets"),
    [
        ("transmitter", 3, (0.0,)),
        ("pump_datum", 3, (THREE_FEET,)),
        ("remote", 3, None),  # of a height that is not known
        (None, 3, (0.0, THREE_FEET)),
        (None, None, None),
    ],
)
def test_what_may_be_added(datum, height, offsets):
    given = {f"{SENSOR}/tapping_elevation": height and q(height, "ft")}
    found = loop.datum_offsets(case(changed(booster(), given | left(set_point_datum=datum))))
    assert found == (offsets if offsets is None else pytest.approx(offsets, rel=1e-3))


def test_a_sensor_that_stands_at_the_datum_adds_nothing():
    remote = {f"{SENSOR}/location": "remote"} | left(set_point_datum="remote")
    assert loop.datum_offsets(case(changed(booster(), remote))) == (0.0,)


def test_a_flow_has_no_height():
    changes = {f"{SENSOR}/quantity": "flow", f"{SENSOR}/lower_range_value": q("0", "gpm"),
               f"{SENSOR}/upper_range_value": q("1500", "gpm")}  # fmt: skip
    found = case(changed(booster(), changes | left(set_point_datum=None)))
    assert loop.datum_offsets(found) == (0.0,)


@pytest.mark.parametrize(
    ("lower", "upper", "datum", "offset"),
    [
        ("0", "200", None, 0.0),
        ("1.3", "201.3", None, THREE_FEET),
        ("0.6", "200.6", None, 0.0),  # nearer to nothing than to 1.30 psi
        ("0.7", "200.7", None, THREE_FEET),
        ("1.3", "201.3", "transmitter", 0.0),  # the datum tells
        ("5", "205", "remote", 5 * PSI),  # the scaling alone can tell
    ],
)
def test_what_is_added_as_far_as_known(lower, upper, datum, offset):
    ends = left(
        feedback_at_lower_signal=q(lower, "psi"), feedback_at_upper_signal=q(upper, "psi"),
        set_point_datum=datum,
    )  # fmt: skip
    found = loop.shown_offset(case(changed(booster(), ends)))
    assert found == pytest.approx(offset, rel=1e-3, abs=1e-6)


@pytest.mark.parametrize("end", ["feedback_at_lower_signal", "feedback_at_upper_signal"])
def test_without_scaling_nothing_tells_what_is_added(end):
    found = case(changed(booster(), left(set_point_datum=None, **{end: None})))
    assert loop.shown_offset(found) is None


def test_the_scaling_tells_what_is_added_to_a_range_that_begins_elsewhere():
    """20 to 200 psi shown as 25 to 205 psi, for a datum of unknown height."""
    ends = left(
        feedback_at_lower_signal=q("25", "psi"), feedback_at_upper_signal=q("205", "psi"),
        set_point_datum="remote",
    )  # fmt: skip
    ranged = {f"{SENSOR}/lower_range_value": q("20", "psi")}
    found = loop.shown_offset(case(changed(booster(), ends | ranged)))
    assert found == pytest.approx(5 * PSI, rel=1e-6)


@pytest.mark.parametrize("datum", [None, "remote"])
def test_a_scaling_in_percent_adds_nothing(datum):
    ends = left(
        feedback_at_lower_signal=q("0", "%"), feedback_at_upper_signal=q("100", "%"),
        set_point_datum=datum,
    )  # fmt: skip
    ranged = {f"{SENSOR}/lower_range_value": q("20", "psi")}
    assert loop.shown_offset(case(changed(booster(), ends | ranged))) == 0.0


@pytest.mark.parametrize(
    ("reference", "zero", "offsets"),
    [
        ("transmitter_zero", "-6.0", (0.0,)),
        ("floor", "-6.0", (0.5,)),  # the floor at -6.5 m
        ("site_datum", "-6.0", (-6.0,)),
        (None, "-6.0", None),
    ],
)
def test_levels_count_from_their_reference(reference, zero, offsets):
    changes = {"/site/wet_well_floor": q("-6.5", "m"), f"{SENSOR}/zero_elevation": q(zero, "m")}
    document = changed(lift_station(), changes | left(level_reference=reference))
    found = loop.datum_offsets(case(document))
    assert found == (offsets if offsets is None else pytest.approx(offsets))


def test_a_level_without_its_zero_is_not_guessed():
    document = changed(
        lift_station(), {f"{SENSOR}/zero_elevation": None} | left(level_reference="floor")
    )
    with pytest.raises(Missing) as raised:
        loop.datum_offsets(case(document))
    assert raised.value.places == (f"{SENSOR}/zero_elevation",)


def test_a_scaling_in_percent_tells_no_height():
    ends = left(feedback_at_lower_signal=q("0", "%"), feedback_at_upper_signal=q("100", "%"))
    remote = case(changed(booster(), ends | left(set_point_datum="remote")))
    with pytest.raises(Missing):
        loop.set_point_elevation(remote)
    unknown = case(changed(booster(), ends | left(set_point_datum=None)))
    assert loop.set_point_elevation(unknown) == pytest.approx(3 * FOOT)


# -- values of the loop -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("boost", "psi"), [(q("3", "psi"), 3), (q("2", "%"), 4), (None, 0)]
)  # fmt: skip
def test_a_boost(boost, psi):
    assert loop.boost(case(changed(booster(), left(sleep_boost=boost)))) == pytest.approx(psi * PSI)


@pytest.mark.parametrize(
    ("aim", "lower", "upper", "psi"),
    [
        (q("85", "psi"), q("0", "psi"), q("200", "psi"), 85),
        (q("42.5", "%"), q("0", "psi"), q("200", "psi"), 85),
        (q("42.5", "%"), q("10", "psi"), q("210", "psi"), 95),  # of what the drive shows
        (q("42.5", "%"), q("0", "%"), q("100", "%"), 85),
        (q("42.5", "%"), None, None, 85),
    ],
)
def test_a_set_point(aim, lower, upper, psi):
    given = left(set_point=aim, feedback_at_lower_signal=lower, feedback_at_upper_signal=upper)
    assert loop.set_point(case(changed(booster(), given))) == pytest.approx(psi * PSI)


IN_PERCENT = {"feedback_at_lower_signal": q("0", "%"), "feedback_at_upper_signal": q("100", "%")}


@pytest.mark.parametrize(
    ("datum", "scaling", "psi"),
    [
        # Half of the signal is 100 psi at the transmitter, 3 ft over the pump: 1.30 psi more there.
        ("pump_datum", IN_PERCENT, 101.30),
        ("pump_datum", {"feedback_at_lower_signal": None}, 101.30),
        ("transmitter", IN_PERCENT, 100),
        (None, IN_PERCENT, 100),
    ],
)
def test_a_set_point_in_percent_of_the_signal_counts_at_its_datum(datum, scaling, psi):
    """Hydrostatics by hand: no other reading holds the same head over the pump."""
    given = left(set_point=q("50", "%"), set_point_datum=datum, **scaling)
    found = case(changed(booster(), given))
    assert loop.set_point(found) == pytest.approx(psi * PSI, rel=1e-4)
    head = (100 - 30) * 2.3089 + 3 - 2  # ft; from 30 psi read 2 ft high
    assert loop.required_head(found, "low") == pytest.approx(head * FOOT, rel=3e-4)


def test_no_height_changes_a_difference_in_percent():
    boost = left(sleep_boost=q("2", "%"), set_point_datum="pump_datum", **IN_PERCENT)
    nowhere = {f"{SENSOR}/tapping_elevation": None}
    assert loop.boost(case(changed(booster(), boost | nowhere))) == pytest.approx(4 * PSI)


@pytest.mark.parametrize(
    ("regulated", "end", "feet"),
    [
        # 85 psi 3 ft high, less 30 or 33 psi 2 ft high.
        ("discharge_pressure", "low", 85 * 2.3089 + 3 - 30 * 2.3089 - 2),
        ("discharge_pressure", "high", 85 * 2.3089 + 3 - 33 * 2.3089 - 2),
        ("differential_pressure", "low", 85 * 2.3089),
    ],
)
def test_the_head_to_hold(regulated, end, feet):
    found = case(changed(booster(), left(regulated_quantity=regulated)))
    assert loop.required_head(found, end) == pytest.approx(feet * FOOT, rel=3e-4)


@pytest.mark.parametrize(
    ("datum", "lower", "upper", "feet"),
    [
        ("transmitter", "0", "200", 3),
        ("pump_datum", "1.3", "201.3", 0),
        (None, "0", "200", 3),
        (None, "1.3", "201.3", 0),  # shifted to the datum
        ("remote", "5", "205", 3 - 5 * 2.3089),
    ],
)
def test_the_height_at_which_the_set_point_counts(datum, lower, upper, feet):
    ends = left(
        feedback_at_lower_signal=q(lower, "psi"), feedback_at_upper_signal=q(upper, "psi"),
        set_point_datum=datum,
    )  # fmt: skip
    found = loop.set_point_elevation(case(changed(booster(), ends)))
    assert found == pytest.approx(feet * FOOT, rel=1e-3, abs=1e-3)


@pytest.mark.parametrize(
    ("aim", "upper", "ranged", "unit"),
    [
        ("psi", "bar", "kPa", "psi"), ("%", "bar", "kPa", "bar"), ("%", "%", "psi", "psi"),
        ("gpm", "bar", "kPa", "bar"),
    ],
)  # fmt: skip
def test_the_unit_that_people_read(aim, upper, ranged, unit):
    given = left(set_point=q("5", aim), feedback_at_upper_signal=q("9", upper),
                 feedback_at_lower_signal=None)  # fmt: skip
    plate = {f"{SENSOR}/upper_range_value": q("9", ranged),
             f"{SENSOR}/lower_range_value": q("0", ranged)}  # fmt: skip
    assert loop.process_unit(case(changed(booster(), given | plate))) == unit


@pytest.mark.parametrize(
    ("given", "known"),
    [
        ({}, []),
        ({"at_zero_flow": "82"}, ["at_zero_flow"]),
        ({"at_zero_flow": "82", "at_design_flow": "88"}, ["at_zero_flow", "at_design_flow"]),
    ],
)
def test_what_a_set_point_is_raised_to_is_aimed_at_where_it_is_known(given, known):
    pair = {name: q(value, "psi") for name, value in given.items()}
    found = case(changed(booster(), left(flow_compensation=pair)))
    places = tuple(f"/settings/flow_compensation/{name}" for name in known)
    assert loop.aims(found) == ("/settings/set_point", *places)


@pytest.mark.parametrize(("lower", "low", "high"), [(q("0", "%"), THREE_FEET, THREE_FEET),
                                                    (q("0", "psi"), 0.0, 0.0)])  # fmt: skip
def test_percent_of_a_feedback_scaled_in_them_counts_at_the_datum(lower, low, high):
    """0 and 100 % are then 0 and 200 psi at 3 ft, as much more at the pump's datum.

    A single end in % is a share of the transmitter's own range.
    """
    scaled = {"feedback_at_lower_signal": lower, "feedback_at_upper_signal": q("100", "%")}
    found = case(changed(booster(), left(set_point_datum="pump_datum", **scaled)))
    assert loop.displayed_range(found) == pytest.approx((low, 200 * PSI + high), abs=10)
