"""Files that come in while others do: none waits within its own time, none for each other."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager

import pytest

from records.services.importing import imports
from records.services.importing.progress import Progress
from tests.records.cast import NAMES
from tests.records.services.test_concurrency import together
from tests.records.services.test_order_of_locks import (
    asked_to_write,
    of_office,
    sent_table,
    state,
)

pytestmark = pytest.mark.usefixtures("transactional_db")

PUMP = "end suction;1450;45,5;32"


@pytest.fixture
def table(cast, station):
    return sent_table(cast.orla, f"B-01;P-901;{PUMP}", "B-01;P-101;end suction;1455;;")


@contextmanager
def taken(stage, what, whose):
    """While somebody else's file has what is somebody's."""
    with stage.as_owner(autocommit=False) as owner:
        owner.execute(
            "SELECT pg_advisory_xact_lock(hashtext(%s), hashtext(%s))", [what, str(whose)]
        )
        yield


def attempts(person, identity):
    return of_office(person, lambda actor: imports.get(actor, identity).attempts)


def held_since(person, identity):
    return of_office(person, lambda actor: imports.get(actor, identity).held_since)


@pytest.mark.parametrize("to_write", [False, True], ids=["tried", "written"])
def test_a_file_does_not_begin_while_another_of_its_office_is_worked_on(
    cast, table, stage, to_write
):
    """It would wait within the time that its own work has; and no attempt is lost by it."""
    if to_write:
        assert imports.go_on(table)
        asked_to_write(cast.orla, table)
    waits = "to write" if to_write else "to check"
    with taken(stage, "imports", cast.contractor):
        assert together([lambda: imports.go_on(table)]) == [False]
    assert (state(cast.orla, table), attempts(cast.orla, table)) == (waits, 0)
    assert held_since(cast.orla, table) is None  # its own office knows what it waits for
    assert imports.go_on(table)
    assert state(cast.orla, table) == ("written" if to_write else "checked")


@pytest.mark.parametrize("to_write", [False, True], ids=["tried", "written"])
def test_nor_if_another_begins_between_its_beginning_and_its_work(
    cast, table, stage, to_write, monkeypatch
):
    if to_write:
        assert imports.go_on(table)
        asked_to_write(cast.orla, table)
    waits = "to write" if to_write else "to check"
    begun = imports._begun

    with ExitStack() as others, monkeypatch.context() as patched:

        def overtaken(identity):
            found = begun(identity)
            others.enter_context(taken(stage, "imports", cast.contractor))
            return found

        patched.setattr(imports, "_begun", overtaken)
        assert not imports.go_on(table)
        assert (state(cast.orla, table), attempts(cast.orla, table)) == (waits, 0)
    assert imports.go_on(table)


def test_of_an_office_the_file_that_waits_longest_is_worked_on_and_the_next_after_it(cast, table):
    """Whoever works on nothing else meanwhile is not kept busy by files that could only wait."""
    second = sent_table(cast.orla, f"B-01;P-902;{PUMP}")
    assert [identity for (identity, _), _ in imports.missing()] == [table]
    assert imports.go_on(table)
    assert [identity for (identity, _), _ in imports.missing()] == [second]
    asked_to_write(cast.orla, table)  # it has waited for less time now
    assert [identity for (identity, _), _ in imports.missing()] == [second]


@pytest.mark.parametrize("names", [("orla", "otto"), ("otto", "orla")])
def test_of_all_offices_those_come_first_that_have_waited_longest(cast, station, names):
    sent = [sent_table(getattr(cast, name), f"B-01;P-901;{PUMP}") for name in names]
    assert [identity for (identity, _), _ in imports.missing()] == sent


# -- two offices of one client ----------------------------------------------------------------

SITES = (
    "Client;Code;Name;Kind;Time zone;Electrical practice;Supply frequency (Hz);Supply phases;"
    "Liquid kind;Suction kind;Well depth (ft)"
)


@pytest.fixture
def shared(cast, station, stage):
    """Otto's contractor works for Cleo's utility as well."""
    with stage.as_owner() as owner:
        owner.execute(
            "INSERT INTO records_clientele (contractor_id, client_id, since)"
            " VALUES (%s, %s, now())",
            [cast.other_contractor, cast.client],
        )
    return cast


def sent_stations(person, *codes):
    rest = "well;America/Denver;US (NEC);60;3;potable;well;410"
    lines = [f"{NAMES['client']};{code};Station {code};{rest}" for code in codes]
    return sent_table(person, *lines, columns=SITES)


@pytest.mark.parametrize("to_write", [False, True], ids=["tried", "written"])
def test_two_offices_that_bring_the_same_stations_of_a_client_do_not_wait_for_each_other(
    shared, stage, monkeypatch, to_write
):
    """Each would have the code that the other wants next: codes are a client's, not an office's."""
    first = sent_stations(shared.orla, "N-1", "N-2")
    second = sent_stations(shared.otto, "N-2", "N-1")
    if to_write:
        for person, identity in ((shared.orla, first), (shared.otto, second)):
            assert imports.go_on(identity)
            asked_to_write(person, identity)
    one_more, answers = Progress.one_more, []

    with ThreadPoolExecutor(1) as pool, monkeypatch.context() as patched:

        def interrupted(work):
            one_more(work)
            if not answers:
                answers.append(None)
                other = pool.submit(together, [lambda: imports.go_on(second)])
                [answers[0]] = other.result(timeout=120)

        patched.setattr(Progress, "one_more", interrupted)
        assert imports.go_on(first)
    assert answers == [False]
    assert attempts(shared.otto, second) == 0
    assert imports.go_on(second) is not to_write
    said = of_office(shared.otto, lambda actor: imports.get(actor, second))
    assert said.state == ("stopped" if to_write else "checked")
    if to_write:
        assert "the client has a site with this code already" in said.problem
    else:
        assert said.counts == {"created": 2}  # the first was only tried


@pytest.mark.parametrize("to_write", [False, True], ids=["tried", "written"])
def test_since_when_a_file_waits_for_another_office_is_kept_until_it_goes_on(
    cast, station, stage, monkeypatch, to_write
):
    sent = sent_stations(cast.orla, "N-1")
    if to_write:
        assert imports.go_on(sent)
        asked_to_write(cast.orla, sent)
    with taken(stage, "new stations", cast.client):
        assert not imports.go_on(sent)
        since = held_since(cast.orla, sent)
        assert since is not None
        assert not imports.go_on(sent)  # asked again, it has waited all the time
        assert held_since(cast.orla, sent) == since
    one_more, seen = Progress.one_more, []

    def looked(work):
        one_more(work)
        seen.extend(together([lambda: held_since(cast.orla, sent)]))

    monkeypatch.setattr(Progress, "one_more", looked)
    assert imports.go_on(sent)
    assert seen == [None]  # while it is worked on, as others see it
    assert held_since(cast.orla, sent) is None


def test_what_is_asked_for_anew_waits_anew(cast, station, stage):
    sent = sent_stations(cast.orla, "N-1")
    with taken(stage, "new stations", cast.client):
        assert not imports.go_on(sent)
    of_office(cast.orla, lambda actor: imports.stop(actor, imports.get(actor, sent)))
    of_office(cast.orla, lambda actor: imports.check_again(actor, imports.get(actor, sent)))
    assert held_since(cast.orla, sent) is None


def test_files_that_bring_no_station_of_a_client_keep_nobody_waiting(cast, table, stage):
    with taken(stage, "new stations", cast.client):
        assert together([lambda: imports.go_on(table)]) == [True]


@pytest.mark.parametrize(("codes", "goes_on"), [(("B-01",), True), (("B-01", "N-1"), False)])
def test_stations_that_are_in_the_book_already_are_brought_by_nobody(
    cast, station, stage, codes, goes_on
):
    with taken(stage, "new stations", cast.client):
        sent = sent_stations(cast.orla, *codes)
        assert together([lambda: imports.go_on(sent)]) == [goes_on]
