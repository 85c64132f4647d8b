"""Counters of a visit against those of the records around it. Logic, but for what names a source.

The last record has 20512 h, 1600 starts and 301500 kWh.
"""

import pytest

from calculations.beside import Beside
from calculations.catalogue import rule
from tests.calculations.building import booster, changed, judged, lacking, of_rule
from tests.calculations.building_plates import q
from tests.calculations.rules.test_last_record import (
    AFTERWARDS,
    COUNTED,
    LAST,
    LATER,
    sealed,
    verdicts,
)

COUNTER = "record.counters"
NO_EFFICIENCY = {"/motor/ratings/1/efficiency": None}


@pytest.mark.parametrize(
    ("read_now", "expected"),
    [
        ({"hours_run": q("20512", "h")}, []),
        ({"hours_run": q("24100", "h")}, []),
        ({"hours_run": q("20000", "h")}, ["backwards"]),
        ({"hours_run": q("4200", "h")}, ["backwards"]),
        ({"start_count": 10}, ["backwards"]),
        ({"start_count": 1600}, []),
        ({"start_count": 1599}, ["backwards"]),
        # Either may have been rounded by half an hour.
        ({"hours_run": q("20511", "h")}, []),
        ({"hours_run": q("20510", "h")}, ["backwards"]),
        ({"energy_counter": q("301500", "kWh")}, []),
        ({"energy_counter": q("300000", "kWh")}, ["backwards"]),
        # Drives show more than they have digits for in megawatt hours.
        ({"energy_counter": q("301.5", "MWh")}, []),
        ({"energy_counter": q("301.4", "MWh")}, ["backwards"]),
        # A year from 9:30 to 15:10 are 8765.7 h, and a day for clocks and long visits 8789.7 h.
        ({"hours_run": q("29302", "h")}, []),
        ({"hours_run": q("29303", "h")}, ["faster"]),
        ({"hours_run": q("70000", "h")}, ["faster"]),
    ],
)
def test_counters_after_the_last_record(read_now, expected):
    changes = {f"/event/{name}": value for name, value in read_now.items()}
    assert verdicts(changes, COUNTER) == [("review", each) for each in expected]


@pytest.mark.parametrize(
    "exchange",
    [
        {"/drive/serial": "V77-9999"},
        {"/motor/serial": "W60-9999"},
        {"/event/replaced": [{"resource": "drive", "tag": "D-101", "old_serial": "V77-5520"}]},
    ],
)
def test_an_exchanged_drive_or_motor_counts_from_nothing(exchange):
    assert verdicts({"/event/hours_run": q("12", "h")} | exchange, COUNTER) == []


def test_an_exchanged_transmitter_sets_no_hours_back():
    exchange = {"/event/replaced": [{"resource": "sensor", "tag": "PT-101"}]}
    hours = {"/event/hours_run": q("12", "h")}
    assert verdicts(hours | exchange, COUNTER) == [("review", "backwards")]


def test_a_visit_that_was_entered_late_has_no_more_than_the_next():
    following = changed(LAST, AFTERWARDS | {"/event/hours_run": q("22000", "h")})
    more = {"/event/hours_run": q("22400", "h")}
    assert verdicts(more, COUNTER, following=following) == [("review", "ahead")]
    less = {"/event/hours_run": q("21400", "h")}
    assert verdicts(less, COUNTER, following=following) == []


def test_what_the_next_visit_exchanged_counts_from_nothing_there():
    exchange = {"/event/replaced": [{"resource": "motor", "tag": "M-101"}]}
    following = changed(LAST, AFTERWARDS | exchange | {"/event/hours_run": q("12", "h")})
    assert verdicts({}, COUNTER, following=following) == []


@pytest.mark.parametrize(
    ("hours", "read_now", "expected"),
    [
        # 60 hp are 47.1 kW at 95 %: 7064 kWh in 100 h with half as much again. The hours may be two
        # more by clocks and rounding, 7206 kWh; each counter is read to half a kWh.
        ("20612", {"energy_counter": q("308700", "kWh")}, []),
        ("20612", {"energy_counter": q("308710", "kWh")}, ["energy"]),
        ("20612", {"energy_counter": q("901500", "kWh")}, ["energy"]),
        # Without an efficiency at 70 %: 63.9 kW, 9779.3 kWh and half of both last digits.
        ("20612", {"energy_counter": q("311280", "kWh"), **NO_EFFICIENCY}, []),
        ("20612", {"energy_counter": q("311281", "kWh"), **NO_EFFICIENCY}, ["energy"]),
        # 15 an hour are permitted, and four times that may be of running
        ("20612", {"start_count": 7600}, []),
        ("20612", {"start_count": 7700}, ["starts"]),
        ("20612", {"start_count": 10600}, ["starts"]),
        ("20520", {"start_count": 2600}, []),  # eight hours of tests
        # 24 hours with the rounding of both: 1440 starts
        ("20534", {"start_count": 3041}, []),
        ("20535", {"start_count": 3040}, []),
        ("20535", {"start_count": 3041}, ["starts"]),
        # Of 20612.0 h half of the last digit are 0.05 h: 100.55 h, 6033 starts.
        ("20612.0", {"start_count": 7633}, []),
        ("20612.0", {"start_count": 7634}, ["starts"]),
    ],
)
def test_energy_and_starts_fit_the_hours_run(hours, read_now, expected):
    """Common practice, no source."""
    now = {"/event/hours_run": q(hours, "h")}
    now |= {
        name if name.startswith("/") else f"/event/{name}": value
        for name, value in read_now.items()
    }
    assert verdicts(now, COUNTER) == [("review", each) for each in expected]


@pytest.mark.parametrize(
    ("permitted", "most"),
    [
        # In 101 hours with the rounding of both 60 an hour are 6060, four times 20 are 8080.
        (None, 7660),
        (15, 7660),
        (10, 7660),
        (20, 9680),
    ],
)
def test_a_running_hour_may_have_sixty_starts_or_four_times_those_permitted(permitted, most):
    """Common practice, no source."""
    now = {
        "/event/hours_run": q("20612", "h"),
        "/motor/maximum_starts_per_hour": permitted,
        "/pump/maximum_starts_per_hour": permitted,
    }
    assert verdicts(now | {"/event/start_count": most}, COUNTER) == []
    assert verdicts(now | {"/event/start_count": most + 1}, COUNTER) == [("review", "starts")]


def test_counters_are_held_against_the_last_record_that_has_them():
    """Settings were changed between, and no counter was read."""
    bare = changed(LAST, dict.fromkeys(COUNTED) | {"/event/kind": "settings_change"})
    beside = Beside(last=sealed(bare, 4), anew={"counters": sealed(LAST)})
    now = changed(booster(), LATER | {"/event/hours_run": q("20000", "h")})
    (found,) = of_rule(judged(now, beside=beside), COUNTER)
    assert (found.variant, found.parameters["record"]) == ("backwards", "record 3 of 2026-03-14")


@pytest.mark.parametrize(
    ("then", "now"),
    [
        ({"/event/energy_counter": None}, {}),
        ({}, {"/event/energy_counter": None}),
        ({}, {"/motor/ratings/1/power": None}),
        ({"/event/hours_run": None}, {}),
        ({}, {"/event/hours_run": None}),
    ],
)
def test_energy_is_held_against_hours_where_both_were_read_twice(then, now):
    """400,000 kWh more in 100 h, by a motor of 47.1 kW."""
    read = {"/event/hours_run": q("20612", "h"), "/event/energy_counter": q("701500", "kWh")}
    assert verdicts(read, COUNTER) == [("review", "energy")]
    assert verdicts(read | now, COUNTER, last=changed(LAST, then)) == []


def test_counters_that_the_last_record_lacks_are_not_judged():
    bare = changed(LAST, dict.fromkeys(COUNTED))
    judgement = judged(changed(booster(), LATER), beside=Beside(last=sealed(bare)))
    (missing,) = lacking(judgement, COUNTER)
    assert missing.because == "no counter was read by record 3 of 2026-03-14 as well"
    unread = changed(booster(), LATER | dict.fromkeys(COUNTED))
    judgement = judged(unread, beside=Beside(last=sealed(LAST)))
    assert (of_rule(judgement, COUNTER), lacking(judgement, COUNTER)) == (
        [],
        [],
    )


@pytest.mark.parametrize("drive", ["V77-5520", "V77-0001"])
def test_the_next_record_alone_can_tell(drive):
    """Whether none lies before, or one of another drive."""
    last = changed(LAST, {"/drive/serial": drive}) if drive == "V77-0001" else None
    following = changed(LAST, AFTERWARDS)
    beside = Beside(last=last and sealed(last), following=sealed(following, 4))
    visit = changed(booster(), LATER | {"/event/start_count": 1601})
    judgement = judged(visit, beside=beside)
    found = {rule_: [each.variant for each in of_rule(judgement, rule_)]
             for rule_ in (COUNTER, "record.order")}  # fmt: skip
    assert found == {COUNTER: ["ahead"], "record.order": ["before"]}


@pytest.mark.parametrize("undated", ["last", "now"])
def test_hours_between_visits_without_a_date_are_not_counted(undated):
    bare = {"/event/performed_at": None, "/event/performed_until": None}
    now = {"/event/hours_run": q("70000", "h")} | (bare if undated == "now" else {})
    last = changed(LAST, bare) if undated == "last" else LAST
    assert verdicts(now, COUNTER, last=last) == []


def test_a_counter_is_told_with_the_record():
    visit = changed(booster(), LATER | {"/event/hours_run": q("20000", "h")})
    (found,) = of_rule(judged(visit, beside=Beside(last=sealed(LAST))), COUNTER)
    assert rule(COUNTER).sentence(found) == (
        "The counter of hours run shows 20000 h and showed 20512 h by record 3 of 2026-03-14: a "
        "counter does not run backwards."
    )


@pytest.mark.parametrize(
    ("hours", "read_now", "told"),
    [
        # 100 h by the counters, 101 h with their rounding
        ("20612", {"start_count": 7700},
         {"now": "7700", "before": "1600", "started": "6100", "run": "101 h"}),
        ("20612", {"energy_counter": q("309500", "kWh")},
         {"now": "309500 kWh", "before": "301500 kWh", "taken": "8000 kWh", "run": "101 h",
          "mean": "106 hp", "power": "60 hp"}),  # 8000 kWh / 101 h = 79.2 kW
        ("70000", {},
         {"now": "70000 h", "before": "20512 h", "run": "49500 h", "passed": "8770 h"}),
    ],
)  # fmt: skip
def test_what_is_told_of_the_counters(hours, read_now, told):
    changes = {"/event/hours_run": q(hours, "h")}
    changes |= {f"/event/{name}": value for name, value in read_now.items()}
    visit = changed(booster(), LATER | changes)
    (found,) = of_rule(judged(visit, beside=Beside(last=sealed(LAST))), COUNTER)
    assert told.items() <= found.parameters.items()
