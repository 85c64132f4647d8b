"""An import that is checked or written just now: its page, a stop, forms that come too late."""

import pytest

from records.models import Import, Pump
from records.services.importing import imports
from records.services.importing.progress import Progress
from tests.records.cast import NAMES
from tests.records.client import leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.importing import PUMP, background, checked, send, whole, written
from tests.records.pages.sending import form
from tests.records.services.test_imports_at_once import taken


@pytest.fixture
def office(api, cast, station):
    return Walker.of(cast.orla)


def test_an_import_whose_attempts_are_killed_is_given_up(office, monkeypatch):
    page = send(office, whole())
    form(page, "/columns").send(office)

    def killed(*_):
        raise KeyboardInterrupt  # nothing of ours sees it, like a kill

    with monkeypatch.context() as patched:
        patched.setattr(imports, "opened", killed)
        for _ in range(3):
            leave()
            [((identity, _), _)] = imports.missing()
            with pytest.raises(KeyboardInterrupt):
                imports.go_on(identity)
    told = background(office)
    assert "was not written" in told.words
    assert imports.missing() == []
    form(told, "/check").send(office)
    assert "4 to be added" in background(office).words


def test_what_is_under_way_is_stopped_on_its_page(office):
    page = send(office, whole())
    form(page, "/columns").send(office)
    working = office.get(office.here)
    assert working.faults == []
    form(working, "/stop").send(office)
    told = office.get(office.here)
    assert "Orla stopped it. Nothing was written." in told.words
    form(told, "/check").send(office)
    assert "4 to be added" in background(office).words


def test_a_second_file_says_what_it_waits_for_and_comes_after_it(office):
    first = send(office, whole())
    form(first, "/columns").send(office)
    before = office.here
    assert "It waits for" not in office.get(before).words
    second = send(office, whole(), "second.xlsx")
    form(second, "/columns").send(office)
    waiting = office.get(office.here)
    assert waiting.faults == []
    assert "“second.xlsx” waits to be checked" in waiting.words
    assert "It waits for “stations.xlsx”, whose turn is before it" in waiting.words
    listed = office.get("/import")
    assert listed.faults == []
    assert "waits for “stations.xlsx”" in listed.words
    assert listed.words.count("being checked") == 1
    after = background(office)  # the first is checked
    assert "It waits for" not in after.words
    assert "is being checked" in after.words
    assert "4 to be added" in office.get(before).words
    assert "4 to be added" in background(office).words


def test_a_file_that_waits_for_another_office_says_why_and_since_when(office, cast, stage):
    form(send(office, whole()), "/columns").send(office)
    before = office.get(office.here).words
    assert "another office" not in before
    with taken(stage, "new stations", cast.client):
        for (identity, _), _ in imports.missing():
            assert not imports.go_on(identity)
        leave()
        waiting = office.get(office.here)
        listed = office.get("/import")
    since = Import.objects.get().held_since.strftime("%Y-%m-%d %H:%M UTC")
    assert waiting.faults == listed.faults == []
    assert "“stations.xlsx” waits to be checked" in waiting.words
    assert f"It has waited since {since} for a file of another office" in waiting.words
    assert f"waits for a file of another office since {since}" in listed.words
    assert NAMES["other_contractor"] not in waiting.words + listed.words


def test_the_same_columns_sent_twice_are_one_check(office):
    sent = form(send(office, whole()), "/columns")
    for _ in range(2):
        assert sent.send(office).status == 302
        assert office.at == office.here
    assert "4 to be added" in background(office).words


def test_other_columns_while_it_is_checked_come_back_with_what_was_chosen(office):
    """Two windows of one file: the second is told, and sends again without choosing anew."""
    sent = form(send(office, whole()), "/columns")
    sent.send(office)
    told = sent.send(office, **{"field.1.2": ""})
    assert told.status == 409
    assert told.faults == []
    assert "The file is being worked on" in told.words
    again = form(told, "/columns")
    assert again.fields["field.1.2"] == [""]
    again.send(office, "Stop it, and check every row with these columns")
    assert office.at == office.here
    assert "4 to be added" in background(office).words
    assert form(office.get(f"{office.here}?columns"), "/columns").fields["field.1.2"] == [""]


def test_what_is_stopped_for_columns_that_are_refused_goes_on(office):
    """Stopping and saying the columns anew are one thing: both are done, or neither."""
    sent = form(send(office, whole()), "/columns")
    sent.send(office)
    busy = form(sent.send(office, **{"field.1.2": ""}), "/columns")
    stop = "Stop it, and check every row with these columns"
    told = busy.send(office, stop, **{"field.1.2": busy.fields["field.1.1"]})
    assert told.status == 400
    assert told.faults == []
    assert "is being checked" in office.get(office.here).words
    assert "4 to be added" in background(office).words


def test_what_is_written_just_now_is_stopped_for_other_columns(office, orla):
    preview = checked(office, whole())
    before = form(office.get(f"{office.here}?columns"), "/columns")
    form(preview, "/write").send(office)
    told = before.send(office, **{"field.1.2": ""})
    assert told.status == 409
    form(told, "/columns").send(office, "Stop it, and check every row with these columns")
    assert "nothing is written yet: 4 to be added" in background(office).words
    assert orla.get("/sites?code=N-1").json["items"] == []


def test_a_form_that_is_refused_while_it_is_checked_says_so_beside_how_far_it_is(office):
    sent = form(send(office, whole()), "/columns")
    sent.send(office)
    told = office.post(f"{office.here}/write")
    assert told.status == 409
    assert told.faults == []
    assert "The file has to be checked first" in told.words
    assert "is being checked" in told.words
    # It looks at its own address, not at that of the form.
    assert f'data-address="{office.here}"' in told.html
    assert f'content="2;url={office.here}"' in told.html


def test_whoever_changes_a_piece_by_hand_does_not_wait_for_a_check(office, orla, monkeypatch):
    written(office, checked(office, whole()))
    revisions = []
    one_more = Progress.one_more

    def looked(progress):
        one_more(progress)
        revisions.append(Pump.objects.get(tag="P-1").revision)

    monkeypatch.setattr(Progress, "one_more", looked)
    preview = checked(office, whole(Pumps=[PUMP | {"Rated flow (gpm)": 130}]))
    assert "1 to be changed" in preview.words
    assert revisions == [1] * 4
