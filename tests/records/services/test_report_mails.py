"""Reports by mail: to each address, under one Message-ID; a server that refuses or is away."""

import smtplib
import time
from datetime import UTC, datetime

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend

from records.models import ReportMail
from records.services import report_mails
from tests.records import report_book, visits
from tests.records.cast import in_days
from tests.records.client import leave
from tests.records.services import mail_server

ADDRESSES = ["works@tresk.example", "office@tresk.example"]
BEFORE = in_days(-2)  # whatever the hour: at the client it may still be yesterday


class Server(EmailBackend):
    """A mail server that does what a test wants."""

    refuses: str | None = None  # an address
    away = False
    dies_after = False

    def send_messages(self, messages):
        if self.away:
            raise ConnectionRefusedError(111, "Connection refused")
        for message in messages:
            if self.refuses in message.to:
                raise smtplib.SMTPRecipientsRefused({message.to[0]: (550, b"no such user")})
        sent = super().send_messages(messages)
        if self.dies_after:
            raise KeyboardInterrupt
        return sent


@pytest.fixture
def server(settings, monkeypatch):
    settings.EMAIL_BACKEND = f"{__name__}.Server"
    for name, value in (("refuses", None), ("away", False), ("dies_after", False)):
        monkeypatch.setattr(Server, name, value)
    return Server


@pytest.fixture
def owed(teo, orla, cast, station, server):
    """Rows of the mails of a report that is made."""
    visits.sealed(teo, orla, station)
    wanted = {"client": str(cast.client), "day": BEFORE, "addresses": ADDRESSES}
    assert orla.post("/reports", wanted).status == 202
    [row] = report_book.asked(datetime(2000, 1, 1, tzinfo=UTC))
    assert report_mails.missing() == []  # nothing is mailed that is not made
    report_book.made(row)
    leave()
    return [row for row, _ in report_mails.missing()]


def send(row):
    leave()
    return report_mails.send(row)


def told(person):
    leave()
    [report] = person.get("/reports").json["items"]
    leave()
    return {each["address"]: (each["state"], each["detail"]) for each in report["mails"]}


def test_each_address_gets_the_same_message_once(owed, cleo):
    assert [send(row) for row in owed] == [True, True]
    assert [send(row) for row in owed] == [False, False]
    assert report_mails.missing() == []
    assert [message.to for message in mail.outbox] == [[address] for address in ADDRESSES]
    messages = [message.message() for message in mail.outbox]
    assert len({message["Message-ID"] for message in messages}) == 1
    assert {message["To"] for message in messages} == {", ".join(ADDRESSES)}
    assert told(cleo) == dict.fromkeys(ADDRESSES, ("sent", ""))


def test_it_tells_the_heads_and_defers(owed, cleo, orla):
    send(owed[0])
    [message] = mail.outbox
    [record] = cleo.get("/records").json["items"]
    leave()
    assert "Heads of the records" in message.body
    assert "No record has been sealed so far" in message.body  # until then
    assert "not a safety approval" in message.body
    assert record["id"] not in message.body
    names = [attachment[0] for attachment in message.attachments]
    assert [name.rpartition(".")[2] for name in names] == ["pdf", "xlsx", "json"]


def test_of_today_it_tells_the_head_of_today(teo, orla, cleo, cast, station, server):
    sealed = visits.sealed(teo, orla, station)
    today = cleo.get("/due-items?limit=1").json["items"][0]["as_of"]
    wanted = {"client": str(cast.client), "day": today, "addresses": ADDRESSES[:1]}
    assert orla.post("/reports", wanted).status == 202
    [row] = report_book.asked(datetime(2000, 1, 1, tzinfo=UTC))
    report_book.made(row)
    leave()
    [(mailed, _)] = report_mails.missing()
    assert send(mailed)
    line = next(line for line in mail.outbox[0].body.splitlines() if "SHA-256" in line)
    assert line.startswith(f"{cleo.get('/sites').json['items'][0]['code']}: record 1, SHA-256 ")
    assert line.rpartition(" ")[2] in str(sealed)


def test_heads_that_are_left_out_are_told_and_none_else(owed, monkeypatch):
    heads = [{"station": f"S-{n}", "number": n, "digest": "ab"} for n in range(5)]  # one without
    monkeypatch.setattr(report_mails.reported, "heads", lambda window: iter(heads))
    monkeypatch.setattr(report_mails, "MOST_HEADS", 4)
    send(owed[0])
    monkeypatch.setattr(report_mails, "MOST_HEADS", 3)
    send(owed[1])
    told = ["Further stations are in the attached report" in each.body for each in mail.outbox]
    assert told == [False, True]
    assert "S-4: record 4" not in mail.outbox[1].body


def test_a_refused_address_keeps_no_other_from_its_report(owed, server, cleo):
    server.refuses = ADDRESSES[0]
    assert sorted(send(row) for row in owed) == [False, True]
    state, detail = told(cleo)[ADDRESSES[0]]
    assert state == "tried again"
    assert detail.startswith("the mail server refused it")
    assert told(cleo)[ADDRESSES[1]] == ("sent", "")
    server.refuses = None
    assert [row for row, _ in report_mails.missing()] == owed[:1]
    assert send(owed[0])
    assert len(mail.outbox) == 2


def test_a_server_that_is_away_is_told_and_tried_again(owed, server, cleo):
    server.away = True
    assert not any(send(row) for row in owed)
    words = "the mail server cannot be reached: Connection refused"
    assert told(cleo) == dict.fromkeys(ADDRESSES, ("tried again", words))
    server.away = False
    assert [attempts for _, attempts in report_mails.missing()] == [1, 1]
    assert all(send(row) for row in owed)
    assert told(cleo) == dict.fromkeys(ADDRESSES, ("sent", ""))


def test_without_a_server_it_is_told(owed, settings, cleo):
    settings.EMAIL_BACKEND = settings.NO_MAIL
    assert not send(owed[0])
    assert told(cleo)[ADDRESSES[0]] == ("tried again", "no mail server is set up here")


def test_died_between_it_is_sent_again_as_the_same_message(owed, server):
    server.dies_after = True
    with pytest.raises(KeyboardInterrupt):
        send(owed[0])
    server.dies_after = False
    leave()
    assert len(report_mails.missing()) == 2
    assert send(owed[0])
    first, second = (message.message()["Message-ID"] for message in mail.outbox)
    assert first == second


# -- a server on the loopback ---------------------------------------------------------------------


@pytest.fixture
def real(owed, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_USE_TLS, settings.EMAIL_TIMEOUT = "127.0.0.1", False, 0.8
    with mail_server.serving() as (held, settings.EMAIL_PORT):
        yield held


def test_a_server_that_takes_its_time_gets_a_message_once(real, owed, cleo):
    real.thinks = 1.2
    assert send(owed[0])
    assert told(cleo)[ADDRESSES[0]] == ("sent", "")
    assert not send(owed[0])
    assert len(real.taken) == 1


def test_a_server_that_does_not_greet_is_given_up_soon_and_told(real, owed, cleo):
    real.silent = True
    begun = time.monotonic()
    assert not send(owed[0])
    assert time.monotonic() - begun < report_mails.TAKING / 2
    state, detail = told(cleo)[ADDRESSES[0]]
    assert state == "tried again"
    assert detail.startswith("the mail server does not answer")


def test_what_the_server_says_is_told(real, owed, cleo):
    real.answer = "452 no room today"
    assert not send(owed[0])
    _, detail = told(cleo)[ADDRESSES[0]]
    assert "452" in detail
    assert "no room today" in detail


def test_files_that_are_gone_are_no_fault_of_the_mail_server(real, owed, cleo, monkeypatch):
    monkeypatch.setattr(report_mails, "stored_name", lambda digest: "gone")
    assert not send(owed[0])
    assert told(cleo)[ADDRESSES[0]] == ("tried again", "the files of the report cannot be read")
    assert real.taken == []


def test_after_days_of_refusals_it_is_given_up_and_told(owed, cleo):
    leave()
    with report_book.worker():
        ReportMail.objects.filter(row=owed[0]).update(attempts=100, last_error="refused")
    assert told(cleo)[ADDRESSES[0]] == ("given up", "refused")
    assert [row for row, _ in report_mails.missing()] == owed[1:]
