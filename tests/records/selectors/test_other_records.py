"""Which record a comparison begins from, where pieces were exchanged or trimmed since the first."""

import pytest

from calculations.beside import Sealed
from calculations.inputs.event import Event
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from records.selectors.other_records import Standing, anew, gathered, sensors_anew
from tests.calculations.building import booster, changed
from tests.calculations.building_plates import q

DIAMETER = "/pump/impeller_diameter"
WHOLE, LESS = {DIAMETER: q("11.00", "in")}, {DIAMETER: q("10.40", "in")}
OTHER_DRIVE = {"/drive/serial": "V77-9999"}


def standing(number, changes):
    """A record of that number, of pieces with these changes."""
    return Standing({"number": number}, Sealed(read(Subject, changed(booster(), changes)), number))


def no_sensor(tags):
    return []


def visit(changes):
    """The event of a visit with these changes."""
    return read(Event, changed(booster(), changes)["event"])


@pytest.mark.parametrize(
    ("records", "now", "begins"),
    [
        ([WHOLE, WHOLE], WHOLE, {}),
        ([WHOLE], LESS, {}),  # today is the first of it
        ([WHOLE, LESS, LESS], LESS,
         {"head": 2, "efficiency_drive_input": 2, "efficiency_drive_output": 2, "vibration": 2}),
        ([{}, OTHER_DRIVE], OTHER_DRIVE, {"efficiency_drive_input": 2}),
        # A loan came between, and what was there before came back: that begins anew as well.
        ([WHOLE, LESS, {"/pump/serial": "LOAN"} | LESS, LESS], LESS,
         {"head": 4, "efficiency_drive_input": 4, "efficiency_drive_output": 4, "vibration": 4}),
    ],
)  # fmt: skip
def test_the_first_record_of_the_same_pieces(records, now, begins):
    before = [standing(number, each) for number, each in enumerate(records, start=1)]
    found = anew(before[0], changed(booster(), now), lambda: before)
    assert {kind: each.told["number"] for kind, each in found.items()} == begins


def test_records_are_not_read_while_the_first_one_is_of_the_same_pieces():
    def unread():
        raise AssertionError("nothing is to be read")

    assert anew(standing(1, WHOLE), changed(booster(), WHOLE), unread) == {}
    assert anew(None, booster(), unread) == {}


# -- sensors --------------------------------------------------------------------------------------

AT = "/event/sensor_verifications/0"
VERIFIED = booster()["event"]["sensor_verifications"][0]
NEW = {"/sensors/0/serial": "S-9555"}
NOT_VERIFIED = {"/event/sensor_verifications": []}


def exchange(old, new, **changes):
    """PT-101 is exchanged, with what is left read or not; the register may lag behind."""
    told = {"resource": "sensor", "tag": "PT-101", "old_serial": old, "new_serial": new}
    left = {"adjusted": "replaced", "as_left": VERIFIED["as_found"]} | changes
    return {AT: VERIFIED | left, "/event/replaced": [told]}


CAME = exchange("S-3301", "S-9555")
UNREAD = exchange("S-3301", "S-9555", as_left=None)
ADJUSTED = {AT: VERIFIED | {"adjusted": "zero", "as_left": VERIFIED["as_found"]}}
NOT_READ = {AT: VERIFIED | {"adjusted": "zero", "as_left": None}}
LOAN = {"/sensors/0/serial": "S-1"}


@pytest.mark.parametrize(
    ("records", "now", "begins"),
    [
        ([{}, {}], {}, {}),
        ([{}, CAME, NEW, NEW], NEW, {"sensor PT-101 S-9555": 2}),
        ([{}, CAME | NEW, NEW], NEW, {"sensor PT-101 S-9555": 2}),
        ([{}, UNREAD, NEW, NEW], NEW, {"sensor PT-101 S-9555": 3}),
        ([{}], NEW, {}),  # nobody has read it yet
        ([{}], CAME | NEW, {}),  # found was the old one, left at the first
        ([LOAN, {}, CAME], CAME | NEW, {"sensor PT-101 S-3301": 2}),
        ([NOT_VERIFIED, {}], {}, {"sensor PT-101 S-3301": 2, "sensor PT-100 S-3300": 2}),
        ([NOT_VERIFIED, {}], NOT_VERIFIED, {}),
        # What came back was read as it was put in again.
        ([{}, CAME, NEW, exchange("S-9555", "S-3301")], {}, {"sensor PT-101 S-3301": 4}),
        # Drift is difference over the time since the last adjustment (common practice; the
        # verifications between them that adjusted nothing belong to it).
        ([{}, ADJUSTED, {}], {}, {"sensor PT-101 S-3301": 2}),
        ([{}, ADJUSTED, ADJUSTED, {}], {}, {"sensor PT-101 S-3301": 3}),
        ([ADJUSTED, {}], {}, {}),  # that is the first one of all
        # Adjusted and not read: nobody knows what it began from, until it is read again.
        ([{}, NOT_READ], {}, {"sensor PT-101 S-3301": 2}),
        ([{}, NOT_READ, {}, {}], {}, {"sensor PT-101 S-3301": 3}),
    ],
)
def test_the_record_that_a_sensors_drift_is_counted_from(records, now, begins):
    before = [standing(number, each) for number, each in enumerate(records, start=1)]
    now = changed(booster(), now), visit(now)
    found = sensors_anew(before[0], now[1], now[0], lambda tags: before)
    assert {kind: each.told["number"] for kind, each in found.items()} == begins


def test_a_visit_for_sensors_alone_has_no_first_record_and_its_sensors_have():
    before, asked = [standing(1, {}), standing(2, {})], []

    def verified(tags):
        asked.append(tags)
        return before

    found = sensors_anew(None, visit({}), booster(), verified)
    assert {kind: each.told["number"] for kind, each in found.items()} == {
        "sensor PT-100 S-3300": 1, "sensor PT-101 S-3301": 1,
    }  # fmt: skip
    assert asked == [{"PT-100", "PT-101"}]


# -- settings -------------------------------------------------------------------------------------

FOUND = {"/event/settings/as_found": booster()["event"]["settings"]["as_left"]}
BARE = {"/event/settings": None}
ONLY_FOUND = FOUND | {"/event/settings/as_left": None}


@pytest.mark.parametrize(
    ("records", "now", "left"),
    [
        ([{}, {}, BARE], FOUND, 2),
        ([{}, BARE, ONLY_FOUND], FOUND, 1),
        ([BARE, BARE], FOUND, None),
        ([], FOUND, None),
        ([{}, {}], FOUND, None),  # the last one has them
        ([{}, BARE], {}, None),  # nothing was found to be compared
    ],
)
def test_the_last_record_that_has_settings_as_left(records, now, left):
    before = [standing(number, each) for number, each in enumerate(records, start=1)]
    roles = {"first": before[0], "last": before[-1]} if before else {}
    found = gathered(roles, visit(now), changed(booster(), now), lambda: before, no_sensor)
    assert (found.told("left") or {"number": None})["number"] == left
    assert found.beside.left == (before[left - 1].sealed if left else None)


def test_those_between_are_read_once():
    before, asked = [standing(1, {}), standing(2, OTHER_DRIVE), standing(3, BARE | OTHER_DRIVE)], []

    def read_now():
        asked.append(1)
        return before

    now = FOUND | OTHER_DRIVE
    roles = {"first": before[0], "last": before[-1]}
    found = gathered(roles, visit(now), changed(booster(), now), read_now, no_sensor)
    assert (found.told("left"), list(found.anew)) == ({"number": 2}, ["efficiency_drive_input"])
    assert asked == [1]


# -- counters -------------------------------------------------------------------------------------

HOURS = {"/event/hours_run": q("20512", "h")}
UNCOUNTED = dict.fromkeys(("/event/hours_run", "/event/start_count", "/event/energy_counter"))


@pytest.mark.parametrize(
    ("records", "now", "counted"),
    [
        ([HOURS, HOURS, UNCOUNTED], HOURS, 2),
        ([HOURS, UNCOUNTED, UNCOUNTED], HOURS, 1),
        ([UNCOUNTED, UNCOUNTED], HOURS, None),
        ([HOURS, HOURS], HOURS, None),  # the last one read them
        ([HOURS, UNCOUNTED], UNCOUNTED, None),  # none is read now
    ],
)
def test_the_last_record_that_read_a_counter(records, now, counted):
    before = [standing(number, each) for number, each in enumerate(records, start=1)]
    roles = {"first": before[0], "last": before[-1]}
    found = gathered(roles, visit(now), changed(booster(), now), lambda: before, no_sensor)
    assert {kind: each.told["number"] for kind, each in found.anew.items()} == (
        {"counters": counted} if counted else {}
    )
