"""A spreadsheet comes in: every row is tried and shown, then all or none is written."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests.records.pages.entrance.walking import Walker
from tests.records.pages.importing import (
    MOTOR,
    PUMP,
    SITE,
    background,
    checked,
    items,
    send,
    whole,
    workbook,
    written,
)
from tests.records.pages.sending import form


@pytest.fixture
def office(api, cast, station):
    return Walker.of(cast.orla)


def test_a_station_comes_in_whole_and_the_same_file_again_changes_nothing(office, orla):
    before = len(items(orla, "sites"))
    preview = checked(office, whole())
    assert "is checked, nothing is written yet: 4 to be added" in preview.words
    assert len(items(orla, "sites")) == before
    done = written(office, preview)
    assert "is written: 4 added" in done.words
    [site] = orla.get("/sites?code=N-1").json["items"]
    assert (site["electrical_practice"], site["supply_phases"]) == ("us_nec", 3)
    assert site["well_depth"] == {"value": "410", "unit": "ft"}
    [pump] = orla.get(f"/pumps?site={site['id']}").json["items"]
    assert pump["rated_flow"] == {"value": "120.5", "unit": "gpm"}
    assert pump["rated_head"] == {"value": "310", "unit": "ft"}  # the cell's own unit
    [joined] = orla.get(f"/pump-sets?site={site['id']}").json["items"]
    assert (joined["pump"], joined["drive"]) == (pump["id"], None)
    again = checked(office, whole())
    assert "4 left as they are" in again.words
    assert "There is nothing to write" in again.words


def test_who_imported_what_is_in_the_audit(office, orla):
    written(office, checked(office, whole()))
    entries = orla.get("/audit").json["items"]
    assert entries[0]["action"] == "spreadsheet imported"
    assert entries[0]["after"]["rows"] == {"created": 4}
    assert [each["action"] for each in entries[1:5]] == ["added"] * 4


def test_what_somebody_else_had_written_is_that_persons_deed(office, orla, cast):
    checked(office, whole())
    promoted = orla.call("PUT", f"/members/{cast.teo.id}/role", {"role": "office"})
    assert promoted.status == 200, promoted.content
    colleague = Walker.of(cast.teo)
    colleague.here = office.here
    assert "is written: 4 added" in written(colleague, colleague.get(colleague.here)).words
    said = orla.get("/audit?limit=6").json["items"]
    done = [each for each in said if each["action"] in ("added", "spreadsheet imported")]
    assert len(done) == 5
    assert {each["person"]["id"] for each in done} == {str(cast.teo.id)}


def test_what_is_written_is_not_checked_again(office):
    done = checked(office, whole())
    again = form(done, "/write").action.replace("/write", "/check")
    written(office, done)
    assert office.post(again).status == 409
    assert "is written: 4 added" in office.get(office.here).words


def test_what_would_change_is_shown_from_what_to_what(office, orla):
    written(office, checked(office, whole()))
    preview = checked(office, whole(Pumps=[PUMP | {"Rated flow (gpm)": 130}]))
    assert "1 to be changed, 3 left as they are" in preview.words
    assert "Rated flow: 120.5\N{NO-BREAK SPACE}gpm → 130\N{NO-BREAK SPACE}gpm" in preview.text
    written(office, preview)
    [pump] = orla.get("/pumps?tag=P-1").json["items"]
    assert pump["rated_flow"] == {"value": "130", "unit": "gpm"}
    assert pump["rated_speed"] == {"value": "3450", "unit": "rpm"}


def test_digits_that_were_entered_are_not_written_over_by_those_of_a_spreadsheet(office, orla):
    written(office, checked(office, whole()))
    [pump] = orla.get("/pumps?tag=P-1").json["items"]
    path = f"/pumps/{pump['id']}"
    exact = {"rated_flow": {"value": "120.50", "unit": "gpm"}}
    assert orla.patch(path, exact, orla.get(path).etag).status == 200
    assert "4 left as they are" in checked(office, whole()).words


def test_each_refused_row_says_sheet_row_column_and_what_was_expected(office, orla):
    pumps = [
        PUMP | {"Rated speed (rpm)": 20},
        PUMP | {"Tag": "P-2", "Type": "rotating", "Rated head": "310"},
        PUMP | {"Tag": "P-3", "Station": "N-9"},
    ]
    preview = checked(office, whole(Pumps=pumps))
    assert "4 refused, 2 to be added" in preview.words
    assert "Pumps 2 Pump N-1 P-1 E Rated speed (rpm) : expected at least 100 rpm" in (
        preview.words.replace("(rpm):", "(rpm) :")
    )
    assert "D Type: expected one of: end suction, split case," in preview.words
    assert "G Rated head: has no unit" in preview.words
    assert "A Station: there is no station of the code 'N-9'" in preview.words
    # What names a refused row is refused as well.
    assert "C Pump: there is no pump 'P-1' in service at this station" in preview.words
    assert "no station" not in str(items(orla, "pumps"))


def test_refused_rows_are_left_out_only_by_ones_own_word(office, orla):
    preview = checked(office, whole(Pumps=[PUMP | {"Rated speed (rpm)": 20}]))
    told = form(preview, "/write").send(office, without_refused="no")
    assert told.status == 400
    assert "Some rows were refused" in told.words
    done = written(office, preview, without_refused="yes")
    assert "2 left out, 2 added" in done.words
    corrected = checked(office, whole())
    assert "2 to be added, 2 left as they are" in corrected.words
    assert "2 added, 2 left as they are" in written(office, corrected).words


def test_what_another_changed_meanwhile_is_told_and_nothing_is_written(office, orla):
    written(office, checked(office, whole()))
    changed = {"Stations": [SITE | {"Name": "Northern well"}],
               "Pumps": [PUMP | {"Rated flow (gpm)": 130}]}  # fmt: skip
    preview = checked(office, whole(**changed))
    [pump] = orla.get("/pumps?tag=P-1").json["items"]
    path = f"/pumps/{pump['id']}"
    assert orla.patch(path, {"stages": 9}, orla.get(path).etag).status == 200
    told = written(office, preview)
    assert "was not written" in told.words
    assert "Row 2 of “Pumps” (N-1 P-1) was changed by somebody after it was checked" in told.words
    [site] = orla.get("/sites?code=N-1").json["items"]
    assert site["name"] == "North well"  # not half of it
    form(told, "/check").send(office)
    again = background(office)
    assert "2 to be changed" in again.words
    written(office, again)
    now = orla.get(path).json
    assert (now["stages"], now["rated_flow"]["value"]) == (9, "130")


def test_another_thing_at_a_tag_is_refused(office):
    written(office, checked(office, whole()))
    preview = checked(office, whole(Pumps=[PUMP | {"Serial number": "B-1"}]))
    assert "at this tag stands No. A-77: replace it by hand" in preview.words


def test_a_form_that_is_sent_twice_is_one_import(office):
    sent = form(office.get("/import"), "/import")
    for _ in range(2):
        file = SimpleUploadedFile("a.xlsx", whole())
        assert office.post("/import", file=file, id=sent.fields["id"][0]).status == 302
    assert office.get("/import").words.count("a.xlsx") == 1


def test_nobody_else_sees_or_does_anything_of_it(office, cast):
    send(office, whole())
    path = office.here
    for person in ("otto", "teo", "cleo"):
        other = Walker.of(getattr(cast, person))
        status = 404 if person == "otto" else 403
        assert other.get(path).status == status
        for deed in ("columns", "check", "write"):
            assert other.post(f"{path}/{deed}").status == status
    assert office.get(f"/import/{uuid.uuid4()}").status == 404


def test_what_a_row_says_nothing_of_stays_in_a_rating_as_well(office, orla):
    full = MOTOR | {"Rating 1, current (A)": 19.5, "Rating 2, voltage (V)": 230,
                    "Rating 2, power (hp)": 15}  # fmt: skip
    written(office, checked(office, whole(Motors=[full])))
    motor = {"Station": "N-1", "Tag": "M-1", "Rating 1, voltage (V)": 460,
             "Rating 1, current (A)": "", "Rating 2, current (A)": 39}  # fmt: skip
    preview = checked(office, workbook(Motors=[motor]))
    assert "1 to be changed" in preview.words
    written(office, preview)
    [held] = orla.get("/motors?tag=M-1").json["items"]
    one, two = held["ratings"]
    assert (one["power"], one["current"]) == (
        {"value": "15", "unit": "hp"}, {"value": "19.5", "unit": "A"},
    )  # fmt: skip
    assert (two["voltage"], two["current"]) == (
        {"value": "230", "unit": "V"}, {"value": "39", "unit": "A"},
    )  # fmt: skip


def test_the_same_station_twice_is_told_at_its_code_with_both_rows(office):
    preview = checked(office, whole(Stations=[SITE, SITE | {"Name": "South well"}]))
    assert "B Code : row 2 of “Stations” is about the same one" in (
        preview.words.replace("Code:", "Code :")
    )
