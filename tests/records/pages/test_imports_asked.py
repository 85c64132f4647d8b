"""What is asked, or refused, before the first row of a spreadsheet is tried."""

import pytest

from records.services.importing import trying
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.importing import PUMP, background, checked, send, whole
from tests.records.pages.sending import form


@pytest.fixture
def office(api, cast, station):
    return Walker.of(cast.orla)


def test_units_are_read_behind_a_heading_and_asked_for_where_none_is(office):
    pumps = [{"Station": "N-1", "Tag A": "P-1", "Type": "submersible well", "Rated speed": 3450,
              "Rated flow gpm": 120.5, "Lift": 310}]  # fmt: skip
    sent = form(send(office, whole(Pumps=pumps)), "/columns")
    assert [sent.fields[f"field.1.{i}"] for i in (1, 3, 4, 5)] == [
        [""], ["rated_speed"], ["rated_flow"], [""],
    ]  # fmt: skip
    assert sent.fields["unit.1.4"] == ["gpm"]
    told = sent.send(office, **{"field.1.1": "tag", "field.1.5": "rated_head"})
    assert told.status == 400
    assert "column F: choose its unit" in told.words
    assert "column D: choose" not in told.words  # a speed has one unit alone
    assert form(told, "/columns").send(office, **{"unit.1.5": "ft"}).status == 302
    assert "4 to be added" in background(office).words


def test_a_row_too_many_is_told_before_any_is_tried(office, monkeypatch):
    def never(*_):
        raise AssertionError("a row was tried")

    monkeypatch.setattr(trying, "MOST_ROWS", 4)
    monkeypatch.setattr(trying.Trying, "_line", never)
    pumps = [PUMP | {"Tag": f"P-{number}"} for number in range(4)]
    assert "row 5 of “Pumps” is the first too many" in checked(office, whole(Pumps=pumps)).words
