"""What a sealed record performed, beside it; what stood at the site, as long as it was known so."""

import json
import time
from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import finding_document, judge
from records import permissions
from records.models import PerformedTask, PieceStanding, Record
from records.selectors import due_documents, due_items
from records.selectors.due_items import Wanted
from records.selectors.rule_settings import in_si
from records.services import performed_tasks
from tests.calculations.building import booster, changed
from tests.calculations.whole_stations import lift_station
from tests.records import stations, visits
from tests.records.cast import in_days
from tests.records.due_reference import later
from tests.records.visits import q

AGAIN, AGAIN_THERE = {"kind": "re_verification"}, {"/event/kind": "re_verification"}
SINCE = in_days(-3)


@pytest.fixture
def office(cast, api):
    scopes = frozenset(["read"])
    person = cast.orla

    def enter():
        actor = permissions.Actor(person.id, "", person.organization, "", "office", scopes)
        permissions.leave()
        permissions.enter(actor)
        return actor

    return enter


def due(office, **wanted):
    return {(each.tag, each.task): each for each in due_items.items(office(), Wanted(**wanted))}


def states(office):
    return {name: (each.state, str(each.due_on)) for name, each in due(office).items()}


def at(day):
    """A visit's beginning and end, in the morning of the site."""
    begin, end = f"{day}T09:00:00-05:00", f"{day}T15:00:00-05:00"
    return {"performed_at": begin, "performed_until": end}


def change(orla, path, **patch):
    answer = orla.patch(path, patch, orla.get(path).etag)
    assert answer.status == 200, answer.json


def replace(orla, station, kind, tag, **plate):
    """Take a piece out of service, register another at its tag, join it in its place."""
    known = booster()
    change(orla, f"/{kind}s/{station.ids[tag]}", out_of_service_on=SINCE)
    document = known[kind] | {"site": station.site, "in_service_from": SINCE} | plate
    made = orla.post(f"/{kind}s", document)
    assert made.status == 201, made.json
    change(orla, f"/pump-sets/{station.pump_set}", **{kind: made.json["id"]})


# -- written when it is sealed ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        ("2026-03-14T09:30:00-05:00", "2026-03-14"),
        ("2026-03-15T02:30:00Z", "2026-03-14"),  # by the clock of the site
        ("2026-03-01T03:00:00Z", "2026-02-28"),
    ],
)
def test_rows_are_those_rebuilt_from_the_text(teo, orla, station, moment, day):
    visits.sealed(teo, orla, station, performed_at=moment, performed_until=None)
    permissions.enter_as_worker()
    [record] = Record.objects.all()
    kept = told(PerformedTask.objects.filter(record=record))
    assert kept == told(performed_tasks.rows(record, json.loads(bytes(record.canonical))))
    assert len(kept) == 17
    assert {str(row[5]) for row in kept} == {day}
    motor = next(row for row in kept if row[0] == "insulation")
    assert motor[1:5] == ("M-101", "W60-1187", station.ids["M-101"], "inside")


def told(rows):
    names = ("task", "tag", "serial", "piece", "result", "performed_on", "drive", "drive_serial",
             "as_found", "ratio", "place", "site_id", "client_id", "sealed_at")  # fmt: skip
    listed = (tuple(getattr(row, name) for name in names) for row in rows)
    return sorted(
        tuple(str(v) if n in ("piece", "drive") else v for n, v in zip(names, row, strict=True))
        for row in listed
    )


HIGH = "/site/suction_level_high"


def of_lift_station(high, severity="review", answers=(), limits=()):
    """Results of points by the depth of the water, at a station where it stands as high as told.

    Over the datum that depths count from [m]; where that is too high, nobody knows the datum.
    """
    points = {f"/event/duty_points/{at}/suction_level": None for at in range(3)}
    points |= {f"/event/duty_points/{at}/suction_level_depth": q("4.0", "m") for at in range(3)}
    document = changed(lift_station(), points | {HIGH: q(high, "m")} | AGAIN_THERE)
    judged = judge(read(Subject, document), in_si(limits), accepted={("site.datum", HIGH)})
    findings = [finding_document(each, each.rule) for each in judged.findings]
    for each in findings:
        each["severity"] = severity if each["rule"] == "site.datum" else each["severity"]
    content = {
        "event": document.pop("event"), "snapshot": document,
        "answers": [{"finding": "site.datum", "accepted": accepted} for accepted in answers],
        "judgement": {"findings": findings, "not_evaluated": [], "limits_changed": limits},
    }  # fmt: skip
    return {row.task: row.result for row in performed_tasks.rows(Record(), content)}


@pytest.mark.parametrize(
    ("severity", "answers", "result"),
    [
        ("review", [], None),
        ("review", [False], None),
        ("review", [True], "inside"),
        ("review", [True, False], None),  # the last one counts
        ("note", [True], None),  # nothing waits for a note, whatever is answered to it
    ],
)
def test_what_waited_for_a_finding_was_performed_where_that_was_accepted(severity, answers, result):
    found = of_lift_station("60", severity, answers)
    assert found["transmitter"] == "inside"
    assert found.get("pump-performance") == result


@pytest.mark.parametrize(("high", "result"), [("10", None), ("13", "inside")])
def test_what_was_performed_is_read_by_the_limits_that_applied(high, result):
    """12 m over the datum."""
    limits = [{"rule": "site.datum", "limit": "high", "value": high, "unit": "m"}]
    found = of_lift_station("12", limits=limits)
    assert found["transmitter"] == "inside"
    assert found.get("pump-performance") == result


def test_what_was_performed_is_changed_by_nobody(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    office()
    for words in ("UPDATE {} SET result = 'outside'", "DELETE FROM {}"):
        with pytest.raises(Exception, match="permission denied"), transaction.atomic():
            connection.cursor().execute(words.format("records_performedtask"))


# -- due again ----------------------------------------------------------------------------------


def test_a_draft_fulfils_nothing(teo, orla, station, office):
    visits.signed(teo, orla, station)
    found = due(office)
    assert {each.state for each in found.values()} == {"never_verified"}
    assert {str(each.due_on) for each in found.values()} == {later_than_today(3)}
    assert ("PS-101", "first-follow-up") not in found


def later_than_today(months):
    """Of the day that the station was taken over, which is today."""

    today = PieceStanding.objects.filter(kind="site").latest("row").registered_on
    return str(later(today, months))


def test_a_sealed_start_up(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    assert states(office) == {
        ("D-101", "settings-audit"): ("current", "2028-03-14"),
        ("FT-101", "flow-meter"): ("never_verified", later_than_today(3)),
        ("M-101", "insulation"): ("current", "2027-03-14"),
        ("M-101", "rotation"): ("current", "None"),
        ("M-101", "overload"): ("current", "2028-03-14"),
        ("M-101", "protection.motor-overtemperature"): ("current", "2027-03-14"),
        ("P-101", "pump-performance"): ("current", "2029-03-14"),
        ("P-101", "vibration"): ("never_verified", later_than_today(3)),
        ("PS-101", "earth-continuity"): ("current", "2028-03-14"),
        ("PS-101", "first-follow-up"): ("overdue", "2026-06-14"),
        ("PS-101", "protection.low-suction"): ("current", "2027-03-14"),
        ("PS-101", "protection.high-pressure"): ("current", "2027-03-14"),
        ("PS-101", "protection.loss-of-feedback"): ("current", "2027-03-14"),
        ("PS-101", "protection.power-loss-restart"): ("current", "2027-03-14"),
        ("PS-101", "protection.emergency-stop"): ("current", "2027-03-14"),
        ("PS-101", "protection.local-isolator"): ("current", "2027-03-14"),
        ("PT-100", "transmitter"): ("current", "2027-03-14"),
        ("PT-101", "transmitter"): ("current", "2027-03-14"),
        ("V-1", "pre-charge"): ("current", "2027-03-14"),
    }


OF_THE_MOTOR = {
    ("M-101", "insulation"), ("M-101", "rotation"), ("M-101", "overload"),
    ("M-101", "protection.motor-overtemperature"),
}  # fmt: skip
OF_THE_DRIVE = {
    ("D-101", "settings-audit"), ("M-101", "overload"),
    ("M-101", "protection.motor-overtemperature"), ("PS-101", "protection.low-suction"),
    ("PS-101", "protection.high-pressure"), ("PS-101", "protection.loss-of-feedback"),
    ("PS-101", "protection.power-loss-restart"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "tag", "depends"),
    [
        ("motor", "M-101", OF_THE_MOTOR),
        ("drive", "D-101", OF_THE_DRIVE),
        ("pump", "P-101", {("P-101", "pump-performance"), ("P-101", "vibration")}),
    ],
)
def test_a_replaced_piece_makes_due_what_depends_on_it_and_nothing_else(
    teo, orla, station, office, kind, tag, depends
):
    for place in ("motors/{M-101}", "drives/{D-101}"):
        change(orla, "/" + place.format(**station.ids), in_service_from="2026-01-10")
    change(orla, f"/pump-sets/{station.pump_set}", in_service_from="2026-01-10")
    visits.sealed(teo, orla, station)
    before = states(office)
    replace(orla, station, kind, tag, serial="ANOTHER-1")
    after = states(office)
    changed = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
    assert changed == depends
    assert {after[name] for name in depends} == {("overdue", SINCE)}


def test_another_serial_number_is_another_thing(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    before = states(office)
    change(orla, f"/sensors/{station.ids['PT-101']}", serial="ANOTHER-2")
    after = states(office)
    assert {name for name in before if before[name] != after[name]} == {("PT-101", "transmitter")}


def test_other_firmware_makes_the_settings_due(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    before = states(office)
    change(orla, f"/drives/{station.ids['D-101']}", firmware="4.0")
    after = states(office)
    assert {name for name in before if before[name] != after[name]} == {("D-101", "settings-audit")}


OF_THE_WINDING = {
    ("M-101", "insulation"), ("M-101", "rotation"), ("M-101", "protection.motor-overtemperature"),
}  # fmt: skip


def test_a_new_winding_makes_due_what_was_proven_of_the_old_one(teo, orla, station, office):
    """The visit was on 14 March. A repairer joins the ends of the winding anew."""
    for place in (f"/motors/{station.ids['M-101']}", f"/drives/{station.ids['D-101']}"):
        change(orla, place, in_service_from="2026-01-10")
    visits.sealed(teo, orla, station)
    before = states(office)
    assert "due again when it is replaced or rewound" in why(office, "rotation")
    change(orla, f"/motors/{station.ids['M-101']}", rewound_on="2026-06-01")
    after = states(office)
    assert {name for name in before if before[name] != after[name]} == OF_THE_WINDING
    assert {after[name] for name in OF_THE_WINDING} == {("overdue", "2026-06-01")}
    assert "due at once, from 2026-06-01 on" in why(office, "rotation")
    visits.sealed(teo, orla, station, performed_at="2026-06-02T09:30:00Z", performed_until=None)
    assert states(office)["M-101", "rotation"] == ("current", "None")


def why(office, task):
    return due_documents.why(due(office)["M-101", task])


@pytest.mark.parametrize(("day", "anew"), [("2026-03-14", False), ("2026-03-15", True)])
def test_what_was_proven_on_the_day_of_the_new_winding_is_of_that(
    teo, orla, station, office, day, anew
):
    visits.sealed(teo, orla, station)
    before = states(office)
    change(orla, f"/motors/{station.ids['M-101']}", rewound_on=day)
    assert (states(office) != before) is anew


def test_never_verified_since_a_new_winding_is_due_at_once_and_of_before_the_station_came_later(
    orla, station, office
):
    """Whoever takes a station over has three months, whatever was done to its motors before."""
    office()
    registered = PieceStanding.objects.filter(kind="site").latest("row").registered_on
    at = f"/motors/{station.ids['M-101']}"
    change(orla, at, rewound_on=str(registered))
    assert states(office)["M-101", "rotation"] == ("never_verified", later_than_today(3))
    next_day = str(registered + timedelta(days=1))
    change(orla, at, rewound_on=next_day)
    assert states(office)["M-101", "rotation"] == ("never_verified", next_day)
    assert states(office)["M-101", "overload"] == ("never_verified", later_than_today(3))


def test_what_is_out_of_service_is_not_due(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    change(orla, f"/vessels/{station.ids['V-1']}", out_of_service_on=SINCE)
    assert ("V-1", "pre-charge") not in due(office)
    change(orla, f"/sites/{station.site}", out_of_service_on=SINCE)
    assert due(office) == {}


def test_found_outside_halves_and_left_outside_stays_due(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    event = station.event(**AGAIN, **at("2026-09-14"))
    checks = event["sensor_verifications"]
    points = [dict(point) for point in checks[0]["as_found"]]
    checks[0] |= {"adjusted": "span", "as_left": points}
    checks[0]["as_found"] = [*points[:4], points[4] | {"signal": q("20.160", "mA")}, *points[5:]]
    checks[1]["as_found"][4]["signal"] = q("20.800", "mA")
    stations.seal(teo, orla, event)
    found = due(office)
    halved, outside = found["PT-101", "transmitter"], found["PT-100", "transmitter"]
    assert (halved.months, halved.halved, str(halved.due_on)) == (6, True, "2027-03-14")
    assert "As found it was outside its tolerance: half of 12 months, and what was read since" in (
        due_documents.why(halved)
    )
    assert (outside.state, str(outside.due_on)) == ("overdue", "2026-09-14")
    assert str(outside.good_on) == "2026-03-14"
    assert ("PS-101", "first-follow-up") not in found


def test_not_possible_stays_due_and_says_why(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    event = station.event(**AGAIN, **at("2026-09-14"))
    del event["motor_tests"]
    event["not_possible"] = [{"task": "insulation", "reason": "The pump could not be spared."}]
    stations.seal(teo, orla, event)
    item = due(office)["M-101", "insulation"]
    assert (item.tried_result, item.tried_reason) == (
        "not_possible", "The pump could not be spared.",
    )  # fmt: skip
    assert (str(item.good_on), str(item.due_on)) == ("2026-03-14", "2027-03-14")


def test_settings_that_had_moved_halve_and_no_reading_rests_on_them(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    event = station.event(**AGAIN, **at("2026-09-14"))
    left = event["settings"]["as_left"]
    event["settings"]["as_found"] = left | {"maximum_frequency": q("58", "Hz")}
    stations.seal(teo, orla, event)
    item = due(office)["D-101", "settings-audit"]
    assert (item.months, item.as_found) == (12, "outside")
    assert due_documents.why(item).endswith("As found settings had moved: half of 24 months.")


def test_what_was_left_outside_stays_due_until_it_is_left_inside(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    event = station.event(**AGAIN, **at("2026-06-14"))
    event["sensor_verifications"][1]["as_found"][4]["signal"] = q("20.800", "mA")
    stations.seal(teo, orla, event)
    event = station.event(**AGAIN, **at("2026-09-14"))
    del event["sensor_verifications"][1]
    event["not_possible"] = [{"task": "sensor verification of PT-100", "reason": "Full."}]
    stations.seal(teo, orla, event)
    item = due(office)["PT-100", "transmitter"]
    assert (item.tried_result, str(item.good_on)) == ("not_possible", "2026-03-14")
    assert (item.state, str(item.due_on)) == ("overdue", "2026-06-14")
    assert "Left outside its tolerance on 2026-06-14 (record 2)" in due_documents.why(item)
    stations.seal(teo, orla, station.event(**AGAIN, **at("2026-10-14")))
    assert str(due(office)["PT-100", "transmitter"].due_on) == "2027-10-14"


def test_what_was_never_done_is_not_due_because_it_was_not_possible(teo, orla, station, office):
    event = station.event(not_possible=[{"task": "bypass", "reason": "None is fitted."}])
    stations.seal(teo, orla, event)
    performed = PerformedTask.objects
    office()
    assert performed.get(task="protection.bypass").result == "not_possible"
    assert ("PS-101", "protection.bypass") not in due(office)


def test_a_correction_takes_the_place_of_what_it_corrects(teo, orla, station, office):
    first = visits.sealed(teo, orla, station)
    event = station.event(corrects=first["id"], correction_reason="Wrong day.",
                          **at("2026-02-10"))  # fmt: skip
    del event["earth_tests"]
    stations.seal(teo, orla, event)
    found = due(office)
    assert str(found["M-101", "insulation"].due_on) == "2027-02-10"
    assert found["PS-101", "earth-continuity"].state == "never_verified"


# -- any past day says what it said -------------------------------------------------------------


def test_what_comes_later_changes_nothing_of_what_was_said(teo, orla, station, office):
    visits.sealed(teo, orla, station)
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        [then] = cursor.fetchone()
    time.sleep(1)  # records are sealed at a whole second
    said = due_items.items(office(), Wanted(now=then))
    replace(orla, station, "motor", "M-101", serial="ANOTHER-3")
    change(orla, f"/sites/{station.site}", kind="lift_station", liquid_kind="sewage")
    change(orla, f"/pump-sets/{station.pump_set}", tag="PS-9")
    visits.sealed(teo, orla, station, **AGAIN, **at("2026-04-14"))
    change(orla, f"/vessels/{station.ids['V-1']}", out_of_service_on="2026-01-01")
    assert due_items.items(office(), Wanted()) != said
    assert due_items.items(office(), Wanted(now=then)) == said


def test_each_change_is_kept_once_for_as_long_as_it_was_so(orla, station, office):
    path = f"/motors/{station.ids['M-101']}"
    change(orla, path, serial="ANOTHER-4")
    change(orla, path, maker_text="Another maker")  # nothing that due dates go by
    office()
    [before, after] = PieceStanding.objects.filter(piece=station.ids["M-101"]).order_by("row")
    assert (before.serial, after.serial) == ("W60-1187", "ANOTHER-4")
    assert before.known_until == after.known_from
    assert after.known_until is None


@pytest.mark.parametrize(
    ("power", "unit", "large"),
    [("75", "kW", True), ("74.9", "kW", False), ("100.6", "hp", True), ("100.5", "hp", False),
     ("102", "hp_metric", True), ("101.9", "hp_metric", False), ("0.08", "MW", True)],
)  # fmt: skip
def test_a_motor_of_75_kw_or_more_is_large(orla, station, office, power, unit, large):
    # 1 hp = 0.7457 kW, 1 metric hp = 0.7355 kW: NIST SP 811.
    path = f"/motors/{station.ids['M-101']}"
    ratings = orla.get(path).json["ratings"]
    ratings[1]["power"] = q(power, unit)
    change(orla, path, ratings=ratings)
    office()
    stands = PieceStanding.objects.get(piece=station.ids["M-101"], known_until=None)
    assert ("motor.large" in stands.traits) is large


def test_nobody_rewrites_what_stood(orla, station, stage):
    with stage.as_owner(autocommit=False) as owner:
        for words in (
            "UPDATE records_piecestanding SET serial = 'x'", "DELETE FROM records_piecestanding",
            "UPDATE records_piecestanding SET known_from = now() - interval '9 days',"
            " known_until = now()",
        ):  # fmt: skip
            with pytest.raises(Exception, match=r"refused|only ended"), owner.transaction():
                owner.execute(words)
        owner.rollback()


def test_a_performed_task_belongs_to_the_parties_of_its_record(teo, orla, station, office, cast):
    visits.sealed(teo, orla, station)
    office()
    row = PerformedTask.objects.first()
    row.row, row.id, row.task, row.client_id = None, visits.new_id(), "x", cast.other_client
    with pytest.raises(IntegrityError, match="same_parties"), transaction.atomic():
        row.save(force_insert=True)
