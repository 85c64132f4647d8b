"""How a sensor changed since the first visit, or since it came."""

import pytest

from calculations.beside import Beside, Sealed
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from tests.calculations.building import changed, judged, lacking, of_rule
from tests.calculations.building_event import verification
from tests.calculations.building_plates import Document, q
from tests.calculations.rules.test_changes import FIRST, today, verdicts

AT = "/event/sensor_verifications/0"


def drifted(top: str, months: int = 12) -> Document:
    """PT-101 with inputs to a thousandth; left exact a while ago, found with this at the top."""
    found = verification("PT-101", 50, ("4.000", "8.000", "12.000", "16.000", top))
    for point in found["as_found"]:
        point["applied"]["value"] += ".000"
    return changed(today(), {AT: found})


EXACT = changed(FIRST, {AT: drifted("20.000")["event"]["sensor_verifications"][0]})


@pytest.mark.parametrize(
    ("top", "expected"),
    [
        # Published arithmetic (R02): drift = difference over time. Tolerance 0.5 % = 0.080 mA;
        # 0.039 mA in a year leave 0.041 mA, 12.6 months; 0.042 mA leave 10.9 months.
        ("20.039", []),
        ("20.041", [("review", "drifts")]),  # 11.4 months
        ("20.042", [("review", "drifts")]),
        ("19.958", [("review", "drifts")]),
        ("20.001", []),
        ("20.090", []),  # outside already: other rules speak
    ],
)
def test_drift(top, expected):
    assert verdicts(drifted(top), "trend.sensor", EXACT) == expected


@pytest.mark.parametrize(("top", "expected"), [("20.08", [("review", "drifts")]), ("20.1", [])])
def test_what_the_digits_of_that_reading_explain_is_no_drift(top, expected):
    """20.1 mA are 0.625 % of span high, of which 0.05 mA were not read: 0.3125 %, now and then.

    The other signals are read to 0.001 mA, which says nothing of this one.
    """
    assert verdicts(drifted(top), "trend.sensor", EXACT) == expected


def test_no_drift_without_time_between_the_visits():
    same = changed(drifted("20.070"), {"/event/performed_at": EXACT["event"]["performed_at"]})
    (missing, *_) = lacking(judged(same, earlier=EXACT), "trend.sensor")
    assert missing.because == "not after the earlier record"


def test_another_sensor_has_no_history_here():
    document = changed(drifted("20.070"), {"/sensors/0/serial": "S-9999"})
    (missing, *_) = lacking(judged(document, earlier=EXACT), "trend.sensor")
    assert missing.because == (
        "another sensor stood there at the first visit, and no record has readings of this one as "
        "it was left"
    )


@pytest.mark.parametrize("unread", ["now", "then"])
def test_a_serial_number_that_was_not_read_says_of_no_exchange(unread):
    bare = {"/sensors/0/serial": None}
    now, then = drifted("20.070"), EXACT
    now, then = (changed(now, bare), then) if unread == "now" else (now, changed(then, bare))
    (missing, *_) = lacking(judged(now, earlier=then), "trend.sensor")
    assert missing.because == (
        "its serial number is not known of both visits; it may be another sensor"
    )


@pytest.mark.parametrize("registered", ["S-3301", "S-9555"])
def test_of_an_exchange_the_old_one_has_its_history(registered):
    """Found 0.46 % of span high, 0.04 % from its tolerance after a year, and taken out."""
    found = drifted("20.074")["event"]["sensor_verifications"][0]
    new = drifted("20.000")["event"]["sensor_verifications"][0]["as_found"]
    exchange = {
        AT: found | {"adjusted": "replaced", "as_left": new},
        "/sensors/0/serial": registered,
        "/event/replaced": [{"resource": "sensor", "tag": "PT-101", "old_serial": "S-3301",
                             "new_serial": "S-9555"}],
    }  # fmt: skip
    assert verdicts(changed(today(), exchange), "trend.sensor", EXACT) == [("review", "drifts")]


def test_what_came_at_the_first_visit_is_compared_with_how_it_was_left():
    given = EXACT["event"]["sensor_verifications"][0]
    came = {
        AT: given | {"adjusted": "replaced", "as_left": given["as_found"]},
        "/event/replaced": [{"resource": "sensor", "tag": "PT-101", "old_serial": "S-1",
                             "new_serial": "S-3301"}],
    }  # fmt: skip
    first = changed(EXACT, came)
    assert verdicts(drifted("20.041"), "trend.sensor", first) == [("review", "drifts")]


def test_a_slip_of_writing_at_the_first_visit_is_no_error_to_begin_from():
    """0 to 200 psi are 0 to 13.79 bar, written down there as psi."""
    bar = ("0.000", "3.447", "6.895", "10.342", "13.790")
    applied = {f"{AT}/as_found/{n}/applied": q((*bar, *bar[::-1])[n], "psi") for n in range(10)}
    (missing, *_) = lacking(judged(drifted("20.041"), earlier=changed(EXACT, applied)),
                            "trend.sensor")  # fmt: skip
    assert missing.because == "what was written down at the first visit is in doubt"


def test_a_sensor_that_nobody_verified_at_first_has_no_history():
    first = changed(EXACT, {"/event/sensor_verifications": []})
    (missing, *_) = lacking(judged(drifted("20.041"), earlier=first), "trend.sensor")
    assert missing.because == "no record has readings of this sensor as it was left"


def put_in(top: str) -> Document:
    """A visit at which S-3301 was taken out and S-9555 left with this signal at the top."""
    left = drifted(top)["event"]["sensor_verifications"][0]["as_found"]
    found = drifted("20.000")["event"]["sensor_verifications"][0]
    return changed(
        today(),
        {
            AT: found | {"adjusted": "replaced", "as_left": left},
            "/sensors/0/serial": "S-3301",
            "/event/replaced": [{"resource": "sensor", "tag": "PT-101", "old_serial": "S-3301",
                                 "new_serial": "S-9555"}],
        },
    )  # fmt: skip


def two_years_on(top: str, serial: str = "S-9555") -> Document:
    return changed(
        drifted(top),
        {
            "/event/performed_at": "2029-03-13T21:30:00-05:00",
            "/event/performed_until": "2029-03-13T23:10:00-05:00",
            "/sensors/0/serial": serial,
        },
    )


CAME = {"sensor PT-101 S-9555": Sealed(read(Subject, put_in("20.016")), 4)}


@pytest.mark.parametrize(
    ("top", "told"),
    [
        # Published arithmetic (R02): drift = difference over time. Left 0.016 of 16 mA, +0.10 %,
        # on 2027-03-14; two years (730.5 d) later 0.070 mA, +0.4375 %: 0.169 % a year, and the
        # 0.0625 % to the tolerance of 0.5 % last 4.4 months, less than 12.
        ("20.070", ("+0.1 %", "+0.438 %", "+0.169 %", "record 4 of 2027-03-14")),
        # 0.048 mA, +0.30 %: 0.10 % a year, and 0.20 % last 24 months.
        ("20.048", None),
        # From 0.016 to 0.060 mA: 0.1375 % a year, and 0.125 % last 10.9 months; to 0.058 mA:
        # 0.131 %, and 0.1375 % last 12.6 months.
        ("20.060", ("+0.1 %", "+0.375 %", "+0.138 %", "record 4 of 2027-03-14")),
        ("20.058", None),
    ],
)
def test_drift_since_the_visit_at_which_a_sensor_came(top, told):
    now, first = read(Subject, two_years_on(top)), read(Subject, EXACT)
    judgement = judge(now, earlier=first, beside=Beside(anew=CAME))
    assert lacking(judgement, "trend.sensor") == []
    found = of_rule(judgement, "trend.sensor")
    names = ("then", "now", "rate", "record")
    assert [tuple(each.parameters[name] for name in names) for each in found] == (
        [told] if told else []
    )


@pytest.mark.parametrize("serial", ["S-9555", "S-3301"])
def test_a_second_reading_after_an_exchange_is_of_the_new_sensor(serial):
    """Whichever of both the register has: read 0.042 mA high just after the new one was put in."""
    second = drifted("20.042")["event"]["sensor_verifications"][0]
    visit = changed(put_in("20.000"), {"/sensors/0/serial": serial})
    visit["event"]["sensor_verifications"].append(second)
    judgement = judged(visit, earlier=EXACT)
    assert of_rule(judgement, "trend.sensor") == []
    (missing,) = lacking(judgement, "trend.sensor")
    assert missing.needs == ("/event/sensor_verifications/2",)  # 1 is of PT-100


@pytest.mark.parametrize("registered", ["S-3301", "S-9555"])
def test_a_reading_before_the_exchange_is_entered_is_of_the_old_sensor(registered):
    visit = put_in("20.000")
    first = drifted("20.042")["event"]["sensor_verifications"][0]
    visit["event"]["sensor_verifications"].insert(0, first)
    visit = changed(visit, {"/sensors/0/serial": registered, f"{AT[:-1]}1/as_found": None})
    (found,) = of_rule(judged(visit, earlier=EXACT), "trend.sensor")
    assert found.subject == AT


ADJUSTED = changed(
    put_in("20.016"),
    {f"{AT}/adjusted": "zero", "/event/replaced": [], f"{AT}/sensor": "PT-101"},
)


@pytest.mark.parametrize(
    ("top", "told"),
    [
        # Published arithmetic (R02): drift = difference over time, here since the adjustment.
        # Left 0.016 of 16 mA (+0.10 %) on 2027-03-14; two years later 0.060 mA, +0.375 %: 0.1375 %
        # a year, and 0.125 % last 10.9 months. From the +0.000 of the first visit, three years
        # ago, it were 0.125 % a year and 12.0 months.
        ("20.060", ("+0.1 %", "+0.375 %", "+0.138 %", "record 4 of 2027-03-14")),
        # 0.048 mA, +0.30 %: 0.10 % a year, and 0.20 % last 24 months.
        ("20.048", None),
    ],
)
def test_drift_is_counted_from_the_last_adjustment(top, told):
    now, first = read(Subject, two_years_on(top, "S-3301")), read(Subject, EXACT)
    beside = Beside(anew={"sensor PT-101 S-3301": Sealed(read(Subject, ADJUSTED), 4)})
    for earlier in (first, None):  # None: a visit for sensors alone has no record of its set
        found = of_rule(judge(now, earlier=earlier, beside=beside), "trend.sensor")
        names = ("then", "now", "rate", "record")
        assert [tuple(each.parameters[name] for name in names) for each in found] == (
            [told] if told else []
        )


def test_what_was_adjusted_and_not_read_tells_of_no_drift():
    unread = changed(ADJUSTED, {f"{AT}/as_left": None})
    beside = Beside(anew={"sensor PT-101 S-3301": Sealed(read(Subject, unread), 4)})
    now = read(Subject, two_years_on("20.070", "S-3301"))
    (missing, *_) = lacking(judge(now, earlier=read(Subject, EXACT), beside=beside), "trend.sensor")
    assert missing.because == "not read as record 4 of 2027-03-14 left it"


def test_another_range_than_then_has_other_shares_of_it():
    """Errors are shares of span, and 0.04 of 170 psi are another error than 0.04 of 200."""
    first = changed(EXACT, {"/sensors/0/upper_range_value": q("170", "psi")})
    (missing, *_) = lacking(judged(drifted("20.041"), earlier=first), "trend.sensor")
    assert missing.because is not None
    assert missing.because.startswith("another range than by the first visit")


def test_what_was_adjusted_before_at_the_same_visit_did_not_drift():
    visit = drifted("20.041")
    again = visit["event"]["sensor_verifications"][0]
    visit = changed(visit, {f"{AT}/adjusted": "span", f"{AT}/as_left": again["as_found"]})
    visit["event"]["sensor_verifications"].append(again)
    judgement = judged(visit, earlier=EXACT)
    assert [each.subject for each in of_rule(judgement, "trend.sensor")] == [AT]
    (missing,) = [m for m in lacking(judgement, "trend.sensor") if m.needs != ()]
    assert missing.because == "adjusted before at the same visit"
