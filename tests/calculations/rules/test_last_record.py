"""A visit against the records around it. Logic, but for what names a source."""

import pytest

from calculations.beside import Beside, Sealed
from calculations.catalogue import rule
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.rules.last_record import COMPARED
from tests.calculations.building import booster, changed, judged, lacking, of_rule, without
from tests.calculations.building_event import A_YEAR_LATER, READ_ANEW
from tests.calculations.building_plates import q

COUNTED = {
    "/event/hours_run": q("20512", "h"),
    "/event/start_count": 1600,
    "/event/energy_counter": q("301500", "kWh"),
}
LAST = changed(booster(), COUNTED | READ_ANEW | {"/event/kind": "re_verification"})
LATER = COUNTED | A_YEAR_LATER | {"/event/kind": "re_verification"}
AFTERWARDS = {
    "/event/performed_at": "2028-03-14T09:30:00-05:00",
    "/event/performed_until": "2028-03-14T15:10:00-05:00",
}


def sealed(document, number=3):
    return Sealed(read(Subject, document), number)


def verdicts(changes, of, **roles):
    """What a rule says of a visit a year after the last record, or with other records around."""
    beside = Beside(**{role: sealed(each) for role, each in ({"last": LAST} | roles).items()})
    judgement = judged(changed(booster(), LATER | changes), beside=beside)
    assert lacking(judgement, of) == []
    return [(each.severity, each.variant) for each in of_rule(judgement, of)]


# -- order ----------------------------------------------------------------------------------------


def test_a_year_later_is_in_order():
    assert verdicts({}, "record.order") == []


def test_the_same_visit_twice():
    same = {name: LAST["event"][name.rsplit("/")[-1]] for name in LATER if "step" not in name}
    assert verdicts(same, "record.order") == [("review", "twice")]


@pytest.mark.parametrize(
    ("begun", "told"),
    [("2026-03-14T09:30:00-05:00", "2026-03-14 09:30 UTC-05:00"),
     ("2026-03-14T14:30:00Z", "2026-03-14 14:30 UTC")],
)  # fmt: skip
def test_the_same_time_is_told_as_people_read_times(begun, told):
    same = changed(booster(), {"/event/performed_at": begun})
    judgement = judged(same, beside=Beside(last=sealed(booster())))
    found = next(each for each in of_rule(judgement, "record.order") if each.variant == "twice")
    assert rule("record.order").sentence(found) == (
        "This is of the same kind as record 3 of 2026-03-14, and began at the same time "
        f"({told}): the same visit was entered twice."
    )


def test_another_of_the_kind_on_the_same_day():
    at = {"/event/performed_at": "2026-03-14T13:00:00-05:00",
          "/event/performed_until": "2026-03-14T15:10:00-05:00"}  # fmt: skip
    assert verdicts(at, "record.order") == [("note", "same_day")]
    assert verdicts(at | {"/event/kind": "settings_change"}, "record.order") == []


def test_a_record_of_a_later_visit_was_sealed_before():
    later = changed(LAST, {"/event/performed_at": "2028-03-14T09:30:00-05:00"})
    assert verdicts({}, "record.order", following=later) == [("note", "before")]


# -- copied readings ------------------------------------------------------------------------------

COPIED = changed(booster(), {"/event/kind": "re_verification"})
AT_POINTS = "/event/duty_points"
"""The booster's three points have eight readings each: speed, flow, two pressures, voltages,
currents, two powers. Its tests have five: two of the supply, windings, two of the insulation."""


def of_copied(last, changes=LATER, **removed):
    document = without(changed(booster(), changes), *removed.get("without", ()))
    found = of_rule(judged(document, beside=Beside(last=sealed(last))), "record.order")
    return [(each.variant, each.parameters.get("same"), each.parameters.get("of"))
            for each in found]  # fmt: skip


def test_readings_to_the_digit_those_of_the_record_before():
    """3 x 8 + 5 = 29; told once, though it is of the same day or of the next record as well."""
    assert of_copied(COPIED) == [("copied", "29", "29")]
    of_the_day = LATER | {"/event/performed_at": "2026-03-14T13:00:00-05:00"}
    assert of_copied(COPIED, of_the_day) == [("copied", "29", "29")]
    assert verdicts({}, "record.order", last=COPIED, following=COPIED) == [
        ("review", "copied"), ("note", "before"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("day", "kind", "expected"),
    [
        ("2026-03-14", "settings_change", ("note", "shared")),
        ("2026-03-14", "re_verification", ("review", "copied")),
        ("2026-03-15", "settings_change", ("review", "copied")),
    ],
)
def test_what_was_read_once_for_two_records_of_a_day_is_noted(day, kind, expected):
    changes = {"/event/kind": kind, "/event/performed_at": f"{day}T13:00:00-05:00",
               "/event/performed_until": f"{day}T15:10:00-05:00"}  # fmt: skip
    assert verdicts(changes, "record.order", last=COPIED) == [expected]


def test_what_follows_from_the_frequency_is_no_reading():
    """What a drive shows of voltage, and a synchronous motor's speed, come with what was set.

    Of the booster's 29 readings three are speeds; three voltages of displays are added.
    """
    shown = {f"{AT_POINTS}/{index}/voltages_drive_display": [q("480", "V")] for index in range(3)}
    assert of_copied(changed(COPIED, shown), LATER | shown) == [("copied", "29", "29")]
    synchronous = {"/motor/kind": "permanent_magnet"}
    assert of_copied(changed(COPIED, synchronous), LATER | synchronous) == [("copied", "26", "26")]


def test_points_in_another_order_are_the_same_points():
    backwards = {AT_POINTS: booster()["event"]["duty_points"][::-1]}
    assert of_copied(COPIED, LATER | backwards) == [("copied", "29", "29")]


def test_the_same_visit_twice_is_not_told_as_copied():
    same = {name: COPIED["event"][name.rsplit("/")[-1]] for name in LATER if "step" not in name}
    assert [each[0] for each in of_copied(COPIED, LATER | same)] == ["twice"]


OWN_DIGITS = (
    ("0/flow", q("996", "gpm")), ("1/flow", q("703", "gpm")), ("2/flow", q("402", "gpm")),
    ("0/suction_pressure", q("31.5", "psi")), ("1/suction_pressure", q("32.0", "psi")),
    ("2/suction_pressure", q("32.5", "psi")),
)  # fmt: skip


@pytest.mark.parametrize(("read", "expected"), [(5, [("copied", "20", "25")]), (6, [])])
def test_eighty_in_a_hundred_are_copied(read, expected):
    """Of 24 readings at the points and one of the supply 20 are 80 %, 19 are 76; of the points
    alone 19 of 24 are 79 %, 18 are 75."""
    alone = {"without": ("/event/motor_tests", "/event/supply/line_to_earth_voltages")}
    changes = {f"{AT_POINTS}/{place}": value for place, value in OWN_DIGITS[:read]}
    assert of_copied(COPIED, LATER | changes, **alone) == expected


def test_points_that_were_copied_beside_tests_that_were_made():
    """24 of 24 at the points; 24 of 29 would be 83 % as well, so more tests: 24 of 31, 77 %."""
    more = {"/event/supply/dc_bus_voltage": q("648", "V"),
            "/event/supply/currents": [q("48.1", "A")] * 3}  # fmt: skip
    read = more | {
        "/event/supply/line_voltages": [q("483", "V")] * 3,
        "/event/supply/line_to_earth_voltages": [q("279", "V")] * 3,
        "/event/supply/dc_bus_voltage": q("651", "V"),
        "/event/supply/currents": [q("47.9", "A")] * 3,
        "/event/motor_tests/winding_resistance/values": [q("0.1131", "ohm")] * 3,
        "/event/motor_tests/insulation/resistance_1_min": q("2110", "Mohm"),
        "/event/motor_tests/insulation/resistance_30_s": q("1650", "Mohm"),
    }
    assert of_copied(changed(COPIED, more), LATER | read) == [("copied", "24", "24")]


@pytest.mark.parametrize(("gone", "expected"), [((), [("copied", "8", "8")]), (("flow",), [])])
def test_seven_readings_can_be_the_same_by_chance(gone, expected):
    one = {AT_POINTS: booster()["event"]["duty_points"][:1]}
    removed = ("/event/motor_tests", "/event/supply", *(f"{AT_POINTS}/0/{each}" for each in gone))
    assert of_copied(COPIED, LATER | one, without=removed) == expected


def test_two_digits_are_the_same_by_chance():
    """Of 99 half a last digit is 0.51 %, of 100 it is 0.5."""
    coarse = {f"{AT_POINTS}/{index}/{name}": q(value, unit)
              for index in range(3)
              for name, value, unit in (("flow", "99", "L/s"), ("power_drive_input", "14", "kW"),
                                        ("discharge_pressure", "5.9", "bar"))}  # fmt: skip
    (found,) = of_copied(changed(COPIED, coarse), LATER | coarse)
    assert found == ("copied", "20", "20")  # 29 without these nine
    (found,) = of_copied(changed(COPIED, {f"{AT_POINTS}/0/flow": q("100", "L/s")}),
                         LATER | {f"{AT_POINTS}/0/flow": q("100", "L/s")})  # fmt: skip
    assert found == ("copied", "29", "29")


PSI, GPM = 0.0689476, 0.2271247
"""Bar and m3/h; NIST SP 811."""


def metric(**digits):
    """Pressures and flows of the booster's points in bar and m3/h, and how far they are off."""
    changes = {}
    for index, point in enumerate(booster()["event"]["duty_points"]):
        for name, factor, unit, decimals in (
            ("suction_pressure", PSI, "bar", 3), ("discharge_pressure", PSI, "bar", 3),
            ("flow", GPM, "m3/h", 1),
        ):  # fmt: skip
            value = float(point[name]["value"]) * factor * (1 + digits.get(name, 0.0))
            changes[f"{AT_POINTS}/{index}/{name}"] = q(f"{value:.{decimals}f}", unit)
    return changes


@pytest.mark.parametrize(
    ("off", "same"),
    [
        ({}, "29"),
        ({"flow": 0.004}, "26"),  # 400 gpm to 1 gpm: what was read otherwise is off by more
        ({"flow": 0.004, "discharge_pressure": 0.004}, None),  # 23 of 29 are 79 %, 18 of 24 75 %
    ],
)
def test_a_copy_in_other_units_is_a_copy(off, same):
    found = of_copied(COPIED, LATER | metric(**off))
    assert found == ([("copied", same, "29")] if same else [])


def test_a_copy_rounded_to_fewer_digits_is_a_copy():
    finer = {f"{AT_POINTS}/{index}/power_drive_input": q(value, "kW")
             for index, value in enumerate(("36.24", "24.61", "16.08"))}  # fmt: skip
    rounded = {f"{AT_POINTS}/{index}/power_drive_input": q(value, "kW")
               for index, value in enumerate(("36.2", "24.6", "16.1"))}  # fmt: skip
    judgement = judged(
        changed(booster(), LATER | rounded), beside=Beside(last=sealed(changed(COPIED, finer), 3))
    )
    (found,) = of_rule(judgement, "record.order")
    assert (found.parameters["same"], found.parameters["of"]) == ("29", "29")
    assert "are converted or rounded, but to their last digit those of" in rule(
        "record.order"
    ).sentence(found)
    # Half of the coarser last digit is 0.05 kW: 36.26 kW would have been 36.3 kW.
    other = finer | {f"{AT_POINTS}/0/power_drive_input": q("36.26", "kW")}
    assert of_copied(changed(COPIED, other), LATER | rounded) == [("copied", "28", "29")]
    at = finer | {f"{AT_POINTS}/0/power_drive_input": q("36.25", "kW")}
    assert of_copied(changed(COPIED, at), LATER | rounded) == [("copied", "29", "29")]


AT_ONE = ("speed", "flow", "suction_pressure", "discharge_pressure")


def test_what_is_set_or_given_is_no_reading():
    """Frequencies, heights of gauges and the supply's 60.0 Hz come to the same every year."""
    removed = tuple(
        f"{AT_POINTS}/{index}/{name}"
        for index in range(3)
        for name in (*AT_ONE, "voltages_drive_output", "currents_drive_output")
    )
    found = of_copied(COPIED, LATER, without=removed)
    assert found == [("copied", "11", "11")]  # 3 x 2 powers and the five of the tests


def test_what_is_said_of_copied_readings():
    judgement = judged(changed(booster(), LATER), beside=Beside(last=sealed(COPIED, 3)))
    (found,) = of_rule(judgement, "record.order")
    assert rule("record.order").sentence(found) == (
        "29 of 29 readings are to the last digit those of record 3 of 2026-03-14: nobody reads the "
        "same twice. Were they read, or copied?"
    )


@pytest.mark.parametrize("variant", ["twice", "copied", "shared", "same_day", "before"])
def test_what_to_do_about_the_order_is_said(variant):
    assert rule("record.order").remedies[variant]


def test_a_record_without_a_date_hides_no_other():
    undated = changed(LAST, {"/event/performed_at": None})
    later = changed(LAST, {"/event/performed_at": "2028-03-14T09:30:00-05:00"})
    assert verdicts({}, "record.order", last=undated, following=later) == [("note", "before")]


def test_without_a_record_beside_it_a_visit_has_no_order():
    assert lacking(judged(changed(booster(), {"/event/performed_at": None})), "record.order") == []


# -- correction -----------------------------------------------------------------------------------

OTHER = {"/pump_set/tag": "PS-102", "/pump_set/id": "01890a5d-ac96-774b-bcce-b302099a8002"}
OWN = {"/pump_set/id": "01890a5d-ac96-774b-bcce-b302099a8001"}


@pytest.mark.parametrize(
    ("corrected", "expected"),
    [
        ({}, []),
        (OTHER, [("review", "other_set")]),
        ({"/event/kind": "start_up"}, [("review", "other_kind")]),
    ],
)
def test_what_a_correction_replaces(corrected, expected):
    replaced = changed(LAST, OWN | corrected)
    assert verdicts(OWN, "record.correction", corrected=replaced) == expected


@pytest.mark.parametrize(("tag", "expected"), [("PS-101", []), ("PS-9", ["other_set"])])
def test_a_set_without_an_id_is_told_by_its_tag(tag, expected):
    replaced = changed(LAST, {"/pump_set/tag": tag})
    found = verdicts({}, "record.correction", corrected=replaced)
    assert [variant for _, variant in found] == expected


def test_a_correction_of_another_pump_set_is_named():
    beside = Beside(corrected=sealed(changed(LAST, OTHER), 12))
    visit = changed(booster(), LATER | OWN | {"/event/kind": "start_up"})
    (found,) = of_rule(judged(visit, beside=beside), "record.correction")
    assert rule("record.correction").sentence(found) == (
        "This corrects record 12 of 2026-03-14, of PS-102 (re-verification), and is itself of "
        "PS-101 (start-up): that visit would be gone from the history of PS-102."
    )


# -- settings as found ----------------------------------------------------------------------------

FOUND = "/event/settings/as_found"


def found_with(**changes):
    return {FOUND: LAST["event"]["settings"]["as_left"] | changes}


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        (found_with(), []),
        ({FOUND: {"set_point": q("85.0", "psi")}}, []),  # what was not read has not moved
        (found_with(set_point=q("90.0", "psi")), [("note", "moved")]),
        (found_with(minimum_frequency=q("20.0", "Hz")), [("review", "moved")]),
        (found_with(regulation="hand_only"), [("review", "moved")]),
        (found_with(regulation="unknown"), []),
        (found_with(set_point=q("53", "%")), []),  # of a span that the drive tells
        (found_with(failover="in other words"), []),
    ],
)
def test_settings_as_found(found, expected):
    assert verdicts(found, "record.settings-found") == expected


@pytest.mark.parametrize("name", ["failover", "feedback_terminal", "cleaning_cycle"])
def test_the_same_in_other_words_has_not_moved(name):
    """Free text names one terminal as "AI 1" or as "analogue input 1"."""
    at = f"/event/settings/as_left/{name}"
    last = changed(LAST, {at: "AI 1"})
    visit = changed(booster(), LATER | found_with(**{name: "analogue input 1"}))
    judgement = judged(visit, beside=Beside(last=sealed(last)))
    assert of_rule(judgement, "record.settings-found") == []


def test_numbers_and_words_of_a_list_are_held_against_each_other():
    assert {"motor_poles", "reverse_inhibited", "overload_class", "set_point"} <= set(COMPARED)
    texts = {"failover", "feedback_terminal", "cleaning_cycle", "set_point_alternatives"}
    assert not texts & set(COMPARED)


def test_settings_in_another_unit_have_not_moved():
    """85.0 psi are 5.861 bar."""
    assert verdicts(found_with(set_point=q("5.861", "bar")), "record.settings-found") == []


def test_an_exchanged_drive_is_found_as_it_came():
    other = found_with(minimum_frequency=q("0.0", "Hz")) | {"/drive/serial": "V77-9999"}
    assert verdicts(other, "record.settings-found") == []


def test_what_moved_is_told_with_both_values():
    visit = changed(
        booster(), LATER | found_with(set_point=q("90.0", "psi"), minimum_frequency=q("20", "Hz"))
    )
    (found,) = of_rule(judged(visit, beside=Beside(last=sealed(LAST))), "record.settings-found")
    assert found.subject == f"{FOUND}/minimum_frequency"
    left = LAST["event"]["settings"]["as_left"]
    was = left["minimum_frequency"]["value"], left["set_point"]["value"]
    assert found.parameters["changes"] == (
        f"minimum frequency 20 Hz (left {was[0]} Hz); set point 90.0 psi (left {was[1]} psi)"
    )


MOVED = {
    "regulation": "hand_only", "minimum_frequency": q("20", "Hz"), "set_point": q("90", "psi"),
    "ramp_up_time": q("3", "s"), "ramp_down_time": q("4", "s"), "wake_delay": q("77", "s"),
    "maximum_frequency": q("50", "Hz"),
}  # fmt: skip


@pytest.mark.parametrize(("count", "end"), [(6, ""), (7, "; and 1 more")])
def test_of_many_settings_that_moved_six_are_told(count, end):
    found = found_with(**dict(list(MOVED.items())[:count]))
    visit = changed(booster(), LATER | found)
    (told,) = of_rule(judged(visit, beside=Beside(last=sealed(LAST))), "record.settings-found")
    assert told.parameters["changes"].count("(left ") == 6
    assert told.parameters["changes"].rpartition(")")[2] == end


def test_without_settings_as_left_it_is_not_judged():
    bare = changed(LAST, {"/event/settings": None})
    visit = changed(booster(), LATER | found_with())
    (missing,) = lacking(
        judged(visit, beside=Beside(last=sealed(bare))), "record.settings-found"
    )  # fmt: skip
    assert missing.because == (
        "neither record 3 of 2026-03-14 nor one before it has settings as left"
    )


@pytest.mark.parametrize(
    ("found", "expected"),
    [(found_with(), []), (found_with(minimum_frequency=q("20.0", "Hz")), ["record 2"])],
)
def test_the_last_record_that_has_settings_is_looked_at(found, expected):
    bare = changed(LAST, {"/event/settings": None})
    beside = Beside(last=sealed(bare), left=sealed(LAST, 2))
    judgement = judged(changed(booster(), LATER | found), beside=beside)
    assert lacking(judgement, "record.settings-found") == []
    told = [each.parameters["record"] for each in of_rule(judgement, "record.settings-found")]
    assert [each.partition(" of ")[0] for each in told] == expected


# -- the old serial number ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "expected"),
    [("V77-5520", []), ("v77 -5520", []), ("V77-5250", [("review", "old_other")])],
)
def test_the_old_serial_number_is_that_of_the_last_record(old, expected):
    exchange = {
        "/drive/serial": "V77-9999",
        "/event/replaced": [
            {"resource": "drive", "tag": "D-101", "old_serial": old, "new_serial": "V77-9999"}
        ],
    }
    assert verdicts(exchange, "record.serial") == expected


@pytest.mark.parametrize(
    ("old", "before"),
    [
        (None, LAST),  # nobody read it
        ("V77-5250", without(LAST, "/drive")),  # the record knew of no drive
        (None, without(LAST, "/drive")),
    ],
)
def test_an_old_serial_number_with_nothing_beside_it_is_told_of_nobody(old, before):
    exchange = {
        "/drive/serial": "V77-9999",
        "/event/replaced": [
            {"resource": "drive", "tag": "D-101", "old_serial": old, "new_serial": "V77-9999"}
        ],
    }
    judgement = judged(changed(booster(), LATER | exchange), beside=Beside(last=sealed(before)))
    assert of_rule(judgement, "record.serial") == lacking(judgement, "record.serial") == []
