"""The page of reports: schedules and reports by form, told in words; a client reads them alone."""

import pytest
from django.test import Client

from tests.records import report_book, visits
from tests.records.cast import in_days
from tests.records.client import leave
from tests.records.sessions import sign_in


@pytest.fixture
def browser(api, cast):
    def of(name):
        client = Client(raise_request_exception=False)
        sign_in(client, getattr(cast, name))
        leave()
        return client

    return of


def page(browser, query=""):
    leave()
    answer = browser.get(f"/reports{query}")
    assert answer.status_code == 200
    leave()
    return answer.content.decode()


def test_until_somebody_sets_one_none_is_made(browser):
    assert "No schedule is set" in page(browser("orla"))


def test_a_schedule_that_is_never_is_told_and_not_dropped(browser, station):
    form = {"period": "", "time_zone": "Mars/Base", "addresses": "works@tresk.example"}
    told = browser("orla").post("/reports/schedule", form).content.decode()
    assert "expected every week or every month" in told
    assert "Mars/Base" in told
    assert "works@tresk.example" in told


def test_a_schedule_is_set_and_taken_away_by_form(browser, cast, station):
    orla = browser("orla")
    form = {"client": str(cast.client), "period": "week", "time_zone": "America/Denver",
            "addresses": "works@tresk.example\r\n\r\noffice@tresk.example\r\n"}  # fmt: skip
    assert orla.post("/reports/schedule", form).status_code == 302
    for name in ("orla", "cleo"):
        shown = page(browser(name))
        assert "every week" in shown
        assert "works@tresk.example, office@tresk.example" in shown
    chosen = page(orla, f"?client={cast.client}")
    assert 'value="week" selected' in chosen
    assert 'rows="3">works@tresk.example\noffice@tresk.example</textarea>' in chosen
    assert "{{" not in chosen
    assert orla.post("/reports/schedule", form | {"period": ""}).status_code == 302
    assert "No schedule is set" in page(orla)


def test_what_cannot_be_set_comes_back_with_words(browser, cast, station):
    form = {"client": str(cast.client), "period": "week", "time_zone": "Europe/Nowhere",
            "addresses": "works@tresk.example\nworks"}  # fmt: skip
    answer = browser("orla").post("/reports/schedule", form)
    told = answer.content.decode()
    assert answer.status_code == 400
    assert "Time zone: there is no time zone" in told
    assert "Mail to, line 2: expected a mail address" in told
    assert 'value="Europe/Nowhere"' in told


def test_without_an_address_it_says_that_nobody_is_mailed(browser, cast, station):
    form = {"client": str(cast.client), "period": "month", "time_zone": "UTC", "addresses": ""}
    browser("orla").post("/reports/schedule", form)
    assert "nobody: no address is given" in page(browser("orla"))


def test_a_report_is_asked_for_and_then_there(browser, cast, teo, orla, station):
    visits.sealed(teo, orla, station)
    office = browser("orla")
    leave()
    answer = office.post("/reports", {"client": str(cast.client), "day": in_days(-2)})
    assert answer.status_code == 302
    assert "waits to be made" in page(office)
    with report_book.worker():
        [row] = [row for row, _ in report_book.reports.missing()]
    report_book.made(row)
    shown = page(browser("cleo"))
    assert "document.pdf" in shown
    assert "asked for by Orla" in shown
    assert "Ask for it" not in shown


def test_a_day_to_come_is_refused_in_words(browser, cast, station):
    answer = browser("orla").post("/reports", {"day": in_days(5)})
    assert answer.status_code == 400
    assert "Day: expected a day that has come" in answer.content.decode()
