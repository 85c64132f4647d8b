"""An import that is under way is stopped by its people: at once, and nothing of it is written."""

from uuid import uuid4

import pytest

from records import permissions
from records.errors import Conflict
from records.models import Pump
from records.services.importing import imports, progress
from records.services.importing.progress import Progress
from records.services.importing.sheets import NoSpreadsheet
from tests.records.client import leave
from tests.records.enrolling import by_token
from tests.records.services.test_concurrency import together

pytestmark = [pytest.mark.commits, pytest.mark.usefixtures("cleared_afterwards")]

COLUMNS = "Station;Tag;Type;Rated speed (rpm);Rated flow (m3/h);Rated head (m)"
TAGS = ("P-901", "P-902", "P-903")
OTHERS = ("P-911", "P-912", "P-913")
"""What one test writes stays for the next: each that writes has tags of its own."""


@pytest.fixture
def orla(cast, station, signing_key, monkeypatch):
    monkeypatch.setattr(progress, "TELL_EVERY", 1)
    return cast.orla


def of_office(person, do):
    """What somebody of the office does, in a transaction of its own."""
    actor = by_token(person)
    try:
        with permissions.inside(actor):
            return do(actor)
    finally:
        leave()


def sent(person, tags=TAGS):
    identity = uuid4()
    lines = [COLUMNS, *(f"B-01;{tag};end suction;1450;45,5;32" for tag in tags)]
    table = "\r\n".join(lines).encode()
    of_office(person, lambda actor: imports.take(actor, "pumps.csv", table, identity))
    columns(person, identity)
    return identity


def got(person, identity):
    return of_office(person, lambda actor: imports.get(actor, identity))


def columns(person, identity):
    def say(actor):
        imports.choose(actor, imports.get(actor, identity), {}, {}, {})

    of_office(person, say)


def check_again(person, identity):
    of_office(person, lambda actor: imports.check_again(actor, imports.get(actor, identity)))


def write(person, identity):
    def ask(actor):
        imports.ask_to_write(actor, imports.get(actor, identity), without_refused=False)

    of_office(person, ask)


def stop(person, identity):
    of_office(person, lambda actor: imports.stop(actor, imports.get(actor, identity)))


def meanwhile(monkeypatch, do, row=2):
    """Have something done from another connection while this row is worked on."""
    one_more, at = Progress.one_more, []

    def interrupted(work):
        at.append(work)
        if len(at) == row:
            together([do])
        one_more(work)

    monkeypatch.setattr(Progress, "one_more", interrupted)
    return at


def pumps(tags=TAGS):
    return Pump.objects.filter(tag__in=tags).count()


def test_what_is_being_written_is_stopped_and_nothing_of_it_stays(orla, monkeypatch):
    identity = sent(orla)
    assert imports.go_on(identity)
    write(orla, identity)
    with monkeypatch.context() as patched:
        seen = meanwhile(patched, lambda: stop(orla, identity))
        assert not imports.go_on(identity)
    assert len(seen) == 2  # it went no further
    of = got(orla, identity)
    assert (of.state, of.problem) == ("stopped", "Orla stopped it. Nothing was written.")
    assert of_office(orla, lambda actor: pumps()) == 0
    assert imports.missing() == []
    check_again(orla, identity)  # it can be gone on with
    assert imports.go_on(identity)
    write(orla, identity)
    assert imports.go_on(identity)
    assert got(orla, identity).state == "written"
    assert of_office(orla, lambda actor: pumps()) == len(TAGS)


def test_a_stop_before_the_last_step_is_in_time(orla, monkeypatch):
    """Between the last look and the end: the end itself looks again."""
    identity = sent(orla)
    monkeypatch.setattr(progress, "TELL_EVERY", 100)
    meanwhile(monkeypatch, lambda: stop(orla, identity), row=3)
    assert not imports.go_on(identity)
    assert got(orla, identity).state == "stopped"


def test_so_is_one_after_the_last_row_was_written(orla, monkeypatch):
    identity = sent(orla, OTHERS)
    assert imports.go_on(identity)
    write(orla, identity)
    monkeypatch.setattr(progress, "TELL_EVERY", 100)
    meanwhile(monkeypatch, lambda: stop(orla, identity), row=3)
    assert not imports.go_on(identity)
    assert got(orla, identity).state == "stopped"
    assert of_office(orla, lambda actor: pumps(OTHERS)) == 0


def test_what_was_asked_anew_is_not_answered_by_the_attempt_before(orla, monkeypatch):
    identity = sent(orla)

    def stopped_and_asked_anew():
        stop(orla, identity)
        columns(orla, identity)

    with monkeypatch.context() as patched:
        seen = meanwhile(patched, stopped_and_asked_anew)
        assert not imports.go_on(identity)
    assert len(seen) == 2
    assert got(orla, identity).state == "to check"
    assert imports.go_on(identity)
    assert got(orla, identity).state == "checked"


def test_what_was_asked_anew_does_not_end_with_what_went_wrong_before(orla, monkeypatch):
    identity = sent(orla)

    def stopped_and_asked_anew():
        stop(orla, identity)
        columns(orla, identity)

    def broken(work):
        together([stopped_and_asked_anew])
        raise NoSpreadsheet("It ends in the middle.")

    with monkeypatch.context() as patched:
        patched.setattr(Progress, "one_more", broken)
        assert not imports.go_on(identity)
    of = got(orla, identity)
    assert (of.state, of.problem) == ("to check", "")
    assert imports.go_on(identity)
    assert got(orla, identity).state == "checked"


def test_what_is_written_is_not_stopped_and_what_waits_is_at_once(orla):
    identity = sent(orla, ["P-921"])
    stop(orla, identity)
    stop(orla, identity)  # the form was sent twice
    assert got(orla, identity).state == "stopped"
    assert not imports.go_on(identity)
    check_again(orla, identity)
    imports.go_on(identity)
    write(orla, identity)
    imports.go_on(identity)
    with pytest.raises(Conflict, match="before it could be stopped"):
        stop(orla, identity)
    assert got(orla, identity).state == "written"
