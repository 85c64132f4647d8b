"""Reports of periods and of days: asked for once, made once, the same whenever they are made."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.utils import timezone

from records.models import Report, ReportMail, ReportSchedule
from records.services import report_work, reports
from tests.records import report_book
from tests.records.client import leave
from tests.records.due_reference import Reference

ADDRESSES = ["works@tresk.example", "office@tresk.example"]


@pytest.fixture
def book(stage, cast, station, request, cleared_afterwards):
    made = stage.keep("report book", lambda cast: report_book.write(stage, cast))
    request.getfixturevalue("db")
    return made


@pytest.fixture
def schedule(book, orla, cast):
    """Set a schedule as it would have been on a past day."""

    def put(begins, period="month", zone="Europe/Berlin", client=True, addresses=()):
        row = ReportSchedule(
            contractor_id=cast.contractor, client_id=cast.client if client else None,
            period=period, time_zone=zone, addresses=list(addresses), next_begins=begins,
            due_at=datetime.combine(begins, datetime.min.time(), UTC), created_digest=b"",
            set_by_id=cast.orla.id, set_by_name="Orla", set_at=timezone.now(),
        )  # fmt: skip
        row.due_at = reports.due_at(begins, period, reports.ZoneInfo(zone))
        orla.get("/me")  # takes the office's place
        row.save(force_insert=True)
        leave()
        return row

    return put


def told_of(report):
    """What a report says, without what it is."""
    return {name: value for name, value in report_book.data(report).items() if name != "report"}


def by_hand(orla, cast, day, **more):
    answer = orla.post("/reports", {"client": str(cast.client), "day": day, **more})
    assert answer.status == 202, answer.content
    leave()
    with report_book.worker():
        row = Report.objects.get(id=answer.json["id"]).row
    return report_book.made(row)


# -- which periods -------------------------------------------------------------------------------


def test_each_period_that_is_over_is_asked_for_once(schedule):
    schedule(date(2026, 1, 1))
    assert report_book.asked(datetime(2026, 1, 31, 22, tzinfo=UTC)) == []
    assert report_book.asked(datetime(2026, 1, 31, 23, 14, tzinfo=UTC)) == []  # 00:14 in Berlin
    assert len(report_book.asked(datetime(2026, 1, 31, 23, 15, tzinfo=UTC))) == 1
    assert len(report_book.asked(datetime(2026, 2, 1, tzinfo=UTC))) == 1
    # Nobody looked for months: each that was missed is made up.
    assert len(report_book.asked(datetime(2026, 6, 15, tzinfo=UTC))) == 5
    with report_book.worker():
        begun = list(Report.objects.order_by("row").values_list("period_begins", "as_of"))
    assert begun[:2] == [
        (date(2026, 1, 1), date(2026, 1, 31)),
        (date(2026, 2, 1), date(2026, 2, 28)),
    ]


def test_weeks_begin_on_monday_and_last_over_the_change_of_clocks(schedule):
    """Clocks go forward in Berlin on 29 March 2026 (Directive 2000/84/EC, article 2)."""
    schedule(date(2026, 3, 23), "week")
    report_book.asked(datetime(2026, 3, 30, tzinfo=UTC))
    with report_book.worker():
        [report] = Report.objects.all()
    assert (report.period_begins, report.as_of) == (date(2026, 3, 23), date(2026, 3, 29))
    assert report.until - report.since == timedelta(days=7, hours=-1)


def test_an_ended_schedule_still_gets_what_was_over(schedule, orla):
    row = schedule(date(2026, 1, 1))
    assert orla.delete(f"/report-schedules/{row.id}").status == 204
    leave()
    assert len(report_book.asked(datetime(2027, 6, 1, tzinfo=UTC))) == 10  # January to October
    assert report_book.asked(datetime(2027, 8, 1, tzinfo=UTC)) == report_book.asked(
        datetime(2028, 8, 1, tzinfo=UTC)
    )


def test_a_period_is_lost_by_no_change_of_the_schedule(schedule, orla, cast):
    row = schedule(date(2026, 1, 1))
    wanted = {"client": str(cast.client), "period": "month", "time_zone": "Pacific/Auckland"}
    assert orla.post("/report-schedules", wanted).status == 201
    leave()
    report_book.asked(datetime(2027, 2, 1, tzinfo=UTC))
    with report_book.worker():
        found = Report.objects.order_by("period_begins").values_list("period_begins", "schedule")
        begun, by = zip(*found, strict=True)
    assert begun == (*(date(2026, month, 1) for month in range(1, 13)), date(2027, 1, 1))
    assert by[:10] == (row.row,) * 10
    assert row.row not in by[10:]


# -- what a report says ---------------------------------------------------------------------------


def test_it_says_what_the_reference_does(schedule, book, cast):
    schedule(date(2025, 2, 1))
    [row] = report_book.asked(datetime(2025, 3, 2, tzinfo=UTC))
    told = told_of(report_book.made(row))
    until = datetime(2025, 2, 28, 23, tzinfo=UTC)
    wanted = Reference(book, "contractor_id", cast.contractor, date(2025, 2, 28), until).items()
    counted = dict.fromkeys(told["counts"], 0)
    for *_, state, _, _, _, impossible in wanted:
        counted[state] += 1
        counted["not_possible"] += impossible
    assert told["counts"] == counted
    assert counted["overdue"] > 3
    assert [len(told[name]) for name in ("overdue", "due_soon", "never_verified")] == [
        counted[name] for name in ("overdue", "due_soon", "never_verified")
    ]
    by_station = {each["station"]: each["overdue"] for each in told["stations"]}
    assert sum(by_station.values()) == counted["overdue"]
    lines = [each["station"] for each in told["overdue"]]
    assert all(lines.count(station) == number for station, number in by_station.items())


def test_its_changes_are_those_of_the_time(schedule, book, cast):
    schedule(date(2025, 9, 1))
    [row] = report_book.asked(datetime(2025, 10, 2, tzinfo=UTC))
    told = told_of(report_book.made(row))
    # A month of Berlin's summer time.
    since, until = (datetime(2025, 8, 31, 22, tzinfo=UTC), datetime(2025, 9, 30, 22, tzinfo=UTC))
    ours = [each for each in book.done if each.contractor_id == cast.contractor]
    within = [each for each in ours if since < each.sealed_at <= until]
    assert len(told["done"]) == len(within) > 0
    out = [each for each in within if "outside" in (each.result, each.as_found)]
    assert len(told["outside"]) == len(out) > 0
    sealed = [
        each for each in book.records
        if each.contractor_id == cast.contractor and since < each.sealed_at <= until
    ]  # fmt: skip
    assert [each["record"] for each in told["sealed"]] == [
        str(each.id) for each in sorted(sealed, key=lambda each: (each.sealed_at, each.row))
    ]


def test_new_is_what_was_not_overdue_as_the_day_before_ended(book, orla, cast):
    """Of any first day, the day after something was due included, and what was learnt later.

    A test of 16 February that failed was sealed on the 27th: until then nobody had verified it.
    """
    then = told_of(by_hand(orla, cast, "2025-02-28"))["overdue"]
    latest = max(date.fromisoformat(each["due_on"]) for each in then)
    for first in (latest, latest + timedelta(days=1), latest + timedelta(days=2)):
        told = told_of(by_hand(orla, cast, "2025-02-28", since=str(first)))
        before = told_of(by_hand(orla, cast, str(first - timedelta(days=1))))["overdue"]
        were = {(each["piece"], each["task"], each["due_on"]) for each in before}
        new = [each for each in told["overdue"] if each["new"]]
        assert new == [each for each in told["overdue"]
                       if (each["piece"], each["task"], each["due_on"]) not in were]  # fmt: skip
        assert told["changes"]["became_overdue"] == len(new)
        by_day = [each for each in new
                  if first <= date.fromisoformat(each["due_on"]) + timedelta(days=1)]  # fmt: skip
        assert bool(by_day) == (first <= latest + timedelta(days=1))
        assert [each["task"] for each in new if each not in by_day] == ["protection.float-backup"]


def test_heads_are_those_of_the_day(schedule, book, cast):
    schedule(date(2025, 1, 1))
    [row] = report_book.asked(datetime(2025, 2, 2, tzinfo=UTC))
    told = told_of(report_book.made(row))
    until = datetime(2025, 1, 31, 23, tzinfo=UTC)
    highest = {}
    codes = {each.site_id: each.tag for each in book.stands if each.kind == "site"}
    for each in book.records:
        if each.contractor_id == cast.contractor and each.sealed_at <= until:
            code = codes[each.site_id]
            highest[code] = max(highest.get(code, 0), each.number)
    told_heads = {each["station"]: each["number"] for each in told["heads"] if each["number"]}
    assert told_heads == {code: n for code, n in highest.items() if code in told_heads}
    assert len(told_heads) > 5


def test_by_hand_a_past_day_says_what_it_said_then(schedule, orla, cast, book):
    schedule(date(2025, 2, 1))
    [row] = report_book.asked(datetime(2025, 3, 2, tzinfo=UTC))
    then = told_of(report_book.made(row))
    later = {"client": str(cast.client), "task": "vibration", "months": 1, "reason": "drawn"}
    assert orla.post("/interval-settings", later).status == 201
    now = told_of(by_hand(orla, cast, "2025-02-28", time_zone="Europe/Berlin"))
    assert now == then
    another = told_of(by_hand(orla, cast, "2025-02-27", time_zone="Europe/Berlin"))
    assert another != then


def test_made_again_it_is_the_same_to_the_byte(schedule, book, tmp_path):
    schedule(date(2025, 2, 1))
    [row] = report_book.asked(datetime(2025, 3, 2, tzinfo=UTC))
    report = report_book.made(row)
    with report_book.worker():
        again = report_work.work(report, tmp_path)
    for name in ("json", "xlsx", "pdf"):
        assert bytes(again[f"{name}_sha256"]) == bytes(getattr(report, f"{name}_sha256")), name


def test_of_a_contractor_it_holds_every_client_and_no_other(schedule, book, cast, orla):
    schedule(date(2025, 2, 1), client=False)
    [row] = report_book.asked(datetime(2025, 3, 2, tzinfo=UTC))
    told = told_of(report_book.made(row))
    assert {each["client"] for each in told["clients"]} == {str(cast.client)}
    theirs = {each.tag for each in book.stands
              if each.kind == "site" and each.contractor_id == cast.other_contractor}  # fmt: skip
    assert theirs.isdisjoint(each["station"] for each in told["heads"])


# -- made once ------------------------------------------------------------------------------------


def test_it_is_made_once(schedule):
    schedule(date(2025, 2, 1))
    [row] = report_book.asked(datetime(2025, 3, 2, tzinfo=UTC))
    report_book.made(row)
    leave()
    assert not reports.make(row)
    assert reports.missing() == []


def test_what_fails_is_told_and_tried_again(schedule, monkeypatch, cleo, orla):
    schedule(date(2025, 2, 1), addresses=ADDRESSES)
    [row] = report_book.asked(datetime(2025, 3, 2, tzinfo=UTC))

    def broken(*_):
        raise OSError(28, "No space left on device", "/srv/files/.unfinished/tmp1")

    with monkeypatch.context() as patched:
        patched.setattr(report_work, "store", broken)
        assert not reports.make(row)
    [report] = cleo.get("/reports").json["items"]
    assert (report["state"], report["made_at"], report["files"]) == ("failing", None, [])
    assert report["detail"] == "the report could not be made so far, and is tried again"
    assert "srv" not in str(report)
    leave()
    assert reports.missing() == [(row, 1)]
    report_book.made(row)
    [report] = cleo.get("/reports").json["items"]
    assert (report["state"], len(report["files"])) == ("made", 3)
    leave()
    with report_book.worker():
        assert sorted(ReportMail.objects.values_list("address", flat=True)) == sorted(ADDRESSES)
