"""A visit against the records around it. Logic, but for what names a source."""

import pytest

from calculations.beside import Beside, Sealed
from calculations.catalogue import rule
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.rules.last_record import COMPARED
from tests.calculations.building import booster, changed, judged, lacking, of_rule
from tests.calculations.building_event import A_YEAR_LATER
from tests.calculations.building_plates import q

COUNTED = {
    "/event/hours_run": q("20512", "h"),
    "/event/start_count": 1600,
    "/event/energy_counter": q("301500", "kWh"),
}
LAST = changed(booster(), COUNTED | {"/event/kind": "re_verification"})
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


def test_another_of_the_kind_on_the_same_day():
    at = {"/event/performed_at": "2026-03-14T13:00:00-05:00",
          "/event/performed_until": "2026-03-14T15:10:00-05:00"}  # fmt: skip
    assert verdicts(at, "record.order") == [("note", "same_day")]
    assert verdicts(at | {"/event/kind": "settings_change"}, "record.order") == []


def test_a_record_of_a_later_visit_was_sealed_before():
    later = changed(LAST, {"/event/performed_at": "2028-03-14T09:30:00-05:00"})
    assert verdicts({}, "record.order", following=later) == [("note", "before")]


@pytest.mark.parametrize("variant", ["twice", "same_day", "before"])
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


# -- a trimmed impeller ---------------------------------------------------------------------------

DIAMETER = "/pump/impeller_diameter"


def trimmed(changes):
    first = changed(LAST, {DIAMETER: q("210", "mm")})
    visit = changed(booster(), LATER | changes)
    judgement = judged(visit, earlier=first, beside=Beside(last=sealed(first)))
    return of_rule(judgement, "curve.impeller")


def test_a_trimmed_impeller_has_another_curve():
    """Affinity laws, HI engineering data: (198/210)^2 = 0.889."""
    (found,) = trimmed({DIAMETER: q("198", "mm")})
    assert (found.severity, found.parameters["share"]) == ("review", "88.9 %")


def test_the_first_record_tells_where_the_last_has_another_curve():
    first = changed(LAST, {DIAMETER: q("210", "mm")})
    last = changed(first, {"/pump/curve_points/0/head": q("231", "ft")})
    visit = changed(booster(), LATER | {DIAMETER: q("198", "mm")})
    beside = Beside(last=sealed(last), first_number=1)
    (found,) = of_rule(judged(visit, earlier=first, beside=beside), "curve.impeller")
    assert found.parameters["record"] == "record 1 of 2026-03-14"


@pytest.mark.parametrize(
    ("last", "told"),
    [
        ({DIAMETER: q("198", "mm")}, False),  # a diameter that was corrected on paper
        ({DIAMETER: None}, True),
        ({DIAMETER: q("198", "mm"), "/pump/curve_points/0/head": q("231", "ft")}, True),
        ({DIAMETER: q("198", "mm"), "/pump/serial": "K71-0099"}, True),
    ],
)
def test_it_is_asked_once_whether_the_curve_goes_with_the_diameter(last, told):
    """Logic: who signed the last record answered for this diameter with this curve."""
    first = changed(LAST, {DIAMETER: q("210", "mm")})
    visit = changed(booster(), LATER | {DIAMETER: q("198", "mm")})
    beside = Beside(last=sealed(changed(first, last)), first_number=1)
    found = of_rule(judged(visit, earlier=first, beside=beside), "curve.impeller")
    assert [each.parameters["record"] for each in found] == (
        ["record 1 of 2026-03-14"] if told else []
    )


@pytest.mark.parametrize(
    "changes",
    [
        {DIAMETER: q("210", "mm")},
        {DIAMETER: q("198", "mm"), "/pump/curve_points/0/head": q("231", "ft")},
        {DIAMETER: q("198", "mm"), "/pump/serial": "K71-0099"},
    ],
)
def test_the_same_impeller_another_curve_or_another_pump(changes):
    assert trimmed(changes) == []
