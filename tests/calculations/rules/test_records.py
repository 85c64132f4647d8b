"""The record itself: dates, serial numbers, adjustments, readings too good. No published source."""

import pytest

from calculations.beside import Beside, Sealed
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_event import verification
from tests.calculations.building_plates import q, sensors

AT = "/event/sensor_verifications/0"
ID = "01890a5d-ac96-774b-bcce-b302099a8057"
GOOD = ("4.00", "8.00", "12.00", "16.00", "20.00")
BAD = ("4.01", "7.90", "11.70", "15.60", "19.50")


# -- record.dates -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # Begins, is tested and ends in the same moment.
        ({"/event/performed_until": "2026-03-14T09:30:00-05:00",
          "/event/step_tests/0/time": "2026-03-14T09:30:00-05:00"}, []),
        ({"/event/performed_until": "2026-03-14T09:29:59-05:00"}, [("review", "ends_first")]),
        # 13:30 in UTC is 08:30 at -05:00: earlier, although the digits are later.
        ({"/event/performed_until": "2026-03-14T13:30:00Z"}, [("review", "ends_first")]),
        ({"/event/step_tests/0/time": "2026-03-14T09:00:00-05:00"}, [("review", "step_outside")]),
        ({"/event/step_tests/0/time": "2026-03-14T16:00:00-05:00"}, [("review", "step_outside")]),
        ({"/event/performed_until": "2026-03-28T09:30:00-05:00"}, []),  # 14 days
        ({"/event/performed_until": "2026-03-28T09:31:00-05:00"}, [("review", "too_long")]),
        ({"/event/performed_until": "2326-03-14T15:10:00-05:00"}, [("review", "too_long")]),
        ({"/event/device_time": "2026-03-20T08:00:00Z"}, []),  # sent later, without signal before
        ({"/event/device_time": "2026-03-14T08:30:00-05:00"}, []),
        ({"/event/device_time": "2026-03-14T08:29:00-05:00"}, [("review", "sent_first")]),
        ({"/event/device_time": "1700-01-01T00:00:00Z"}, [("review", "sent_first")]),
        ({"/motor/year_built": 2026}, []),
        ({"/motor/year_built": 2027}, [("review", "built_later")]),
    ],
)  # fmt: skip
def test_dates(changes, expected):
    assert verdicts(changed(booster(), changes), "record.dates") == expected


def test_dates_name_what_they_lack():
    (missing,) = lacking(judged(without(booster(), "/event/performed_at")), "record.dates")
    assert missing.needs == ("/event/performed_at",)


# -- record.in-service --------------------------------------------------------------------------


def told(changes):
    found = of_rule(judged(changed(booster(), changes)), "record.in-service")
    return [(each.severity, each.subject, each.parameters["pieces"]) for each in found]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"/pump_set/in_service_from": "2026-03-14"}, []),
        ({"/motor/out_of_service_on": "2026-03-14"}, []),
        (
            {"/pump_set/in_service_from": "2026-03-15"},
            [("review", "/pump_set", "PS-101 (from 2026-03-15)")],
        ),
        (
            {"/motor/out_of_service_on": "2026-03-13"},
            [("review", "/motor", "M-101 (to 2026-03-13)")],
        ),
        (
            {"/site/in_service_from": "2026-04-01", "/drive/in_service_from": "2026-04-02"},
            [("review", "/event/performed_at", "B-01 (from 2026-04-01); D-101 (from 2026-04-02)")],
        ),
        (
            {"/sensors/0/in_service_from": "2027-01-01"},
            [("review", "/sensors/0", "PT-101 (from 2027-01-01)")],
        ),
        (
            {"/instruments/0/out_of_service_on": "2026-01-01"},
            [("review", "/instruments/0", "I-1 (to 2026-01-01)")],
        ),
        # Lasts until the day after: the drive that was fitted then is in service.
        (
            {
                "/event/performed_until": "2026-03-15T10:00:00-05:00",
                "/drive/in_service_from": "2026-03-15",
            },
            [],
        ),
    ],
)
def test_what_was_not_in_service_is_named_once(changes, expected):
    assert told(changes) == expected


def test_a_vessel_or_sensor_that_came_later_is_not_of_the_visit():
    later = {"tag": "PT-900", "quantity": "flow", "in_service_from": "2027-01-01"}
    assert told({"/sensors/-": later, "/vessels/0/in_service_from": "2027-01-01"}) == []


def test_what_was_verified_is_of_the_visit_whatever_it_is_for():
    """No sensor of the pump set, but it was checked on the day; the site's own are named apart."""
    gone = sensors()[1] | {"tag": "PT-7", "serial": "S-7", "out_of_service_on": "2026-03-13"}
    checked = verification("PT-7", 15, GOOD)
    changes = {"/sensors/-": gone, "/event/sensor_verifications/-": checked}
    assert told(changes) == [("review", "/sensors/3", "PT-7 (to 2026-03-13)")]
    assert told({"/sensors/-": gone}) == []


def test_a_visit_over_night_counts_its_last_day():
    """Taken out on the first of two days: it was there; in from the second: it was there too."""
    ended = {"/event/performed_until": "2026-03-15T02:00:00-05:00"}
    assert told(ended | {"/drive/out_of_service_on": "2026-03-14"}) == []
    assert told(ended | {"/drive/in_service_from": "2026-03-15"}) == []


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"/event/performed_until": "2026-03-30T21:30:00-05:00"},  # 16 days and a half
         {"begun": "2026-03-14T09:30:00-05:00", "lasted": "16.5 d"}),
        ({"/event/performed_until": "2026-03-14T08:00:00-05:00"},
         {"begun": "2026-03-14T09:30:00-05:00", "ended": "2026-03-14T08:00:00-05:00"}),
        ({"/motor/year_built": 2027}, {"built": "2027", "visit": "2026"}),
        ({"/event/device_time": "2026-03-14T08:00:00-05:00"},
         {"sent": "2026-03-14T08:00:00-05:00", "begun": "2026-03-14T09:30:00-05:00"}),
    ],
)  # fmt: skip
def test_which_dates_disagree_is_told(changes, told):
    (found,) = of_rule(judged(changed(booster(), changes)), "record.dates")
    assert told.items() <= found.parameters.items()


def test_the_step_that_lies_outside_is_the_one_named():
    early = {**booster()["event"]["step_tests"][0], "time": "2026-03-14T09:00:00-05:00"}
    undated = {key: value for key, value in early.items() if key != "time"}
    document = changed(booster(), {"/event/step_tests/-": undated})
    document = changed(document, {"/event/step_tests/-": early})
    found = of_rule(judged(document), "record.dates")
    assert [each.subject for each in found] == ["/event/step_tests/2"]


# -- record.isolation ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answer", "expected", "missing"),
    [(True, [], 0), (False, [("stop", "no")], 0), (None, [], 1)],
)
def test_isolation_answered_with_no_is_not_missing(answer, expected, missing):
    """29 CFR 1910.147(d), 1910.333(b)."""
    document = changed(booster(), {"/event/isolation_confirmed": answer})
    assert verdicts(document, "record.isolation") == expected
    assert len(verdicts(document, "record.missing")) == missing


# -- record.serial ------------------------------------------------------------------------------


def exchanged(**values: str):
    piece = {
        "resource": "motor",
        "tag": "M-101",
        "old_serial": "W60-0001",
        "new_serial": "W60-1187",
    }
    return changed(booster(), {"/event/replaced": [piece | values], "/event/kind": "replacement"})


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({}, []),
        ({"new_serial": "w60 - 1187".replace(" ", "")}, []),  # case is not evidence
        ({"new_serial": "W60-1178"}, [("review", "other")]),
        ({"old_serial": "W60-1187", "new_serial": "W60-2000"}, [("review", "not_entered")]),
        ({"old_serial": "W60-1187"}, [("review", "unchanged")]),
        ({"resource": "sensor", "tag": "PT-101", "new_serial": "S-3301"}, []),
        ({"resource": "sensor", "tag": "PT-101", "new_serial": "S-9999"}, [("review", "other")]),
        ({"resource": "sensor", "tag": "PT-900", "new_serial": "S-9999"}, []),  # not registered
    ],
)
def test_serial_numbers(values, expected):
    assert verdicts(exchanged(**values), "record.serial") == expected


@pytest.mark.parametrize(
    ("values", "tag", "registered"),
    [
        ({"new_serial": "X-1"}, "M-101", "W60-1187"),
        ({"resource": "vessel", "tag": None, "new_serial": "X-1"}, "V-1", "T-118"),  # the only one
        ({"resource": "drive", "tag": None, "new_serial": "X-1"}, "D-101", "U-5521"),
    ],
)
def test_the_piece_that_the_register_has_is_told(values, tag, registered):
    document = changed(exchanged(**values), {"/drive/serial": "U-5521"})
    (found,) = of_rule(judged(document), "record.serial")
    assert (found.parameters["tag"], found.parameters["registered"]) == (tag, registered)
    assert found.subject == "/event/replaced/0"


def test_without_a_tag_one_of_several_sensors_is_not_guessed():
    several = exchanged(resource="sensor", tag=None, new_serial="X-1")
    assert verdicts(several, "record.serial") == []


def test_nothing_exchanged_nothing_to_compare():
    assert lacking(judged(booster()), "record.serial") == []


# -- record.unadjusted --------------------------------------------------------------------------


def adjusted(kind: str, found: tuple[str, ...], left: tuple[str, ...] | None):
    document = verification("PT-101", 50, found) | {"adjusted": kind}
    if left is not None:
        document["as_left"] = verification("PT-101", 50, left)["as_found"]
    return changed(booster(), {AT: document})


@pytest.mark.parametrize(
    ("kind", "found", "left", "expected"),
    [
        ("none", GOOD, None, []),
        ("span", BAD, GOOD, []),
        ("span", BAD, None, [("review", "no_readings")]),
        ("span", BAD, BAD, [("review", "identical")]),
        ("zero", GOOD, GOOD, [("review", "copied")]),  # nothing was wrong, and nothing changed
        ("replaced", GOOD, GOOD, [("review", "copied")]),
        ("replaced", BAD, GOOD, [("review", "by_which")]),
        ("none", BAD, GOOD, [("review", "not_said")]),
        ("none", GOOD, GOOD, []),
    ],
)
def test_adjusted_or_not(kind, found, left, expected):
    assert verdicts(adjusted(kind, found, left), "record.unadjusted") == expected


def test_three_readings_that_stay_as_they_are_are_few():
    document = adjusted("zero", GOOD, GOOD)
    for state in ("as_found", "as_left"):
        points = document["event"]["sensor_verifications"][0][state][:3]
        document["event"]["sensor_verifications"][0][state] = points
    assert verdicts(document, "record.unadjusted") == []


@pytest.mark.parametrize(
    ("replaced", "expected"),
    [
        ({"resource": "sensor", "tag": "PT-101", "new_serial": "S-3301"}, []),
        ({"resource": "sensor", "tag": "PT-101"}, [("review", "by_which")]),
        ({"resource": "sensor", "tag": "PT-9", "new_serial": "S-3301"}, [("review", "by_which")]),
    ],
)
def test_which_sensor_came(replaced, expected):
    document = changed(adjusted("replaced", BAD, GOOD), {"/event/replaced": [replaced]})
    assert verdicts(document, "record.unadjusted") == expected


@pytest.mark.parametrize("kind", ["after_repair", "replacement"])
def test_of_a_repair_that_says_nothing_of_what_came_another_rule_asks(kind):
    repaired = changed(adjusted("replaced", BAD, GOOD), {"/event/kind": kind})
    assert verdicts(repaired, "record.unadjusted") == []
    pump = {"resource": "pump", "tag": "P-101", "old_serial": "K-1", "new_serial": "K-2"}
    assert verdicts(changed(repaired, {"/event/replaced": [pump]}), "record.unadjusted") == [
        ("review", "by_which")
    ]


# -- record.too-perfect ---------------------------------------------------------------------------


def test_the_sensor_that_was_adjusted_is_told_by_tag_or_serial():
    document = adjusted("span", BAD, None)
    (found,) = of_rule(judged(document), "record.unadjusted")
    assert (found.parameters["sensor"], found.parameters["adjusted"]) == ("PT-101", "span")
    by_serial = changed(document, {
        "/sensors/0/id": ID, "/sensors/0/tag": None, "/pump_set/regulating_sensor": ID,
        f"{AT}/sensor": ID,
    })  # fmt: skip
    (found,) = of_rule(judged(by_serial), "record.unadjusted")
    assert found.parameters["sensor"] == booster()["sensors"][0]["serial"]


def test_a_reading_that_is_fine_enough_to_show_an_error():
    """Half a digit of 0.1 mA is 0.31 % of span, a tenth of 0.5 % is 0.05 %; of 4 %: 0.4 %."""
    coarse = adjusted("none", ("4.0", "8.0", "12.0", "16.0", "20.0"), None)
    assert verdicts(coarse, "record.too-perfect") == []
    wide = changed(coarse, {"/sensors/0/tolerance_percent_of_span": q("4", "%")})
    assert verdicts(wide, "record.too-perfect") == [("note", "zero")]


@pytest.mark.parametrize(("count", "expected"), [(4, [("note", "zero")]), (3, [])])
def test_three_readings_may_all_be_right(count, expected):
    document = changed(adjusted("none", GOOD, None), {f"{AT}/as_found": exact_points()[:count]})
    assert verdicts(document, "record.too-perfect") == expected


@pytest.mark.parametrize(("count", "expected"), [(4, [("note", "copied")]), (3, [])])
def test_three_readings_may_be_those_of_another_visit(count, expected):
    few = {f"{AT}/as_found": verification("PT-101", 50, BAD)["as_found"][:count]}
    now = changed(adjusted("none", BAD, None), few)
    first = changed(now, {"/event/performed_at": "2025-03-14T09:30:00-05:00"})
    told = [
        (each.severity, each.variant)
        for each in of_rule(judged(now, earlier=first), "record.too-perfect")
        if each.subject == AT
    ]
    assert told == expected


def exact_points():
    return verification("PT-101", 50, GOOD)["as_found"]


@pytest.mark.parametrize(
    ("signals", "expected"),
    [
        (GOOD, [("note", "zero")]),
        (("4.00", "8.00", "12.01", "16.00", "20.00"), []),
        (("4", "8", "12", "16", "20"), []),  # too coarse to show an error
    ],
)
def test_too_perfect(signals, expected):
    assert verdicts(adjusted("none", signals, None), "record.too-perfect") == expected


def test_exact_readings_of_a_scale_that_loses_its_last_bit():
    """37.5 of 150 psi at 8 mA: exact, though Pa / Pa is not 0.25 to the last bit."""
    document = verification("PT-101", 50, GOOD)
    for point in document["as_found"]:
        point["applied"] = q(f"{float(point['applied']['value']) * 0.75:.1f}", "psi")
        point["indicated"] = q(f"{float(point['indicated']['value']) * 0.75:.2f}", "psi")
    smaller = {"/sensors/0/upper_range_value": q("150", "psi"), AT: document}
    assert verdicts(changed(booster(), smaller), "record.too-perfect") == [("note", "zero")]


@pytest.mark.parametrize(
    ("signals", "day", "expected"),
    [
        (BAD, "2025-03-14", [("note", "copied")]),
        (("4.01", "7.90", "11.71", "15.60", "19.50"), "2025-03-14", []),
        (BAD, "2026-03-14", []),  # the first record is this visit
    ],
)
def test_readings_of_another_visit(signals, day, expected):
    first = changed(adjusted("none", BAD, None), {"/event/performed_at": f"{day}T09:30:00-05:00"})
    found = judged(adjusted("none", signals, None), earlier=first)
    told = [each for each in found.findings if each.rule == "record.too-perfect"]
    assert [(each.severity, each.variant) for each in told if each.subject == AT] == expected


def test_readings_of_the_last_visit_where_the_first_had_others():
    first, last = (
        changed(adjusted("none", signals, None), {"/event/performed_at": f"{day}T09:30:00-05:00"})
        for signals, day in ((GOOD, "2024-03-14"), (BAD, "2025-03-14"))
    )
    beside = Beside(last=Sealed(read(Subject, last), 2))
    found = judged(adjusted("none", BAD, None), earlier=first, beside=beside)
    told = next(each for each in of_rule(found, "record.too-perfect") if each.subject == AT)
    assert (told.variant, told.parameters["day"]) == ("copied", "2025-03-14")


def test_a_zero_without_digits_proves_nothing():
    found = verification("PT-101", 50, GOOD)
    for point in found["as_found"]:
        del point["signal"]
        point["indicated"] = q(point["applied"]["value"], "psi")
    assert verdicts(changed(booster(), {AT: found}), "record.too-perfect") == []
