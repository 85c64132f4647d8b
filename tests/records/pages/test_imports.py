"""A spreadsheet comes in: its columns are said, every row is tried, then all or none is written."""

import io
import uuid

import openpyxl
import pytest
import xlsxwriter
from django.core.files.uploadedfile import SimpleUploadedFile

from records.models import Import, Pump
from records.services.importing import imports
from records.services.importing.progress import Progress
from tests.records.client import leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.sending import form, forms

# One station with one pump set, as an office types it; headings are the template's.
SITE = {
    "Client": "Tresk Water District", "Code": "N-1", "Name": "North well", "Kind": "well",
    "Time zone": "America/Denver", "Electrical practice": "US (NEC)",
    "Supply frequency (Hz)": 60, "Supply phases": 3, "Liquid kind": "potable",
    "Suction kind": "well", "Well depth (ft)": 410,
}  # fmt: skip
PUMP = {
    "Station": "N-1", "Tag": "P-1", "Serial number": "A-77", "Type": "submersible well",
    "Rated speed (rpm)": 3450, "Rated flow (gpm)": 120.5, "Rated head": "310 ft",
}  # fmt: skip
MOTOR = {
    "Station": "N-1", "Tag": "M-1", "Kind": "induction", "Phases": 3, "Immersed": "yes",
    "Rating 1, voltage (V)": 460, "Rating 1, power (hp)": 15, "Rating in use": 1,
}  # fmt: skip
SET = {"Station": "N-1", "Tag": "PS-1", "Pump": "P-1", "Motor": "M-1"}


@pytest.fixture
def office(api, cast, station):
    return Walker.of(cast.orla)


def workbook(**sheets):
    """Sheets of rows that are dictionaries of headings."""
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        for name, rows in sheets.items():
            page = book.add_worksheet(name.replace("_", " "))
            page.write_row(0, 0, list(rows[0]))
            for index, row in enumerate(rows, 1):
                page.write_row(index, 0, list(row.values()))
    return file.getvalue()


def whole(**changes):
    sheets = {"Stations": [SITE], "Pumps": [PUMP], "Motors": [MOTOR], "Pump_sets": [SET]}
    return workbook(**sheets | changes)


def send(office, content, name="stations.xlsx"):
    """Send a file; the page that it leads to."""
    sent = form(office.get("/import"), "/import")
    answer = office.post("/import", file=SimpleUploadedFile(name, content), id=sent.fields["id"][0])
    office.here = office.at
    return office.get(office.here) if answer.status == 302 else answer


def stored(of):
    """Where its file lies: with its own office's, whatever id another's form holds."""
    return f"imports/{of.contractor_id}/{of.id}"


def background(office):
    """What the worker does meanwhile; the page after it."""
    leave()
    for (identity, _), _ in imports.missing():
        imports.go_on(identity)
    leave()
    return office.get(office.here)


def checked(office, content, name="stations.xlsx"):
    """The preview of a file whose columns are right as they were read."""
    page = send(office, content, name)
    assert page.faults == []
    assert form(page, "/columns").send(office).status == 302
    working = office.get(office.here)
    assert "is being checked" in working.words
    assert 'http-equiv="refresh" content="2;' in working.html  # where no script runs
    preview = background(office)
    assert preview.faults == []
    return preview


def written(office, preview, **typed):
    form(preview, "/write").send(office, **typed)
    assert "is being written" in office.get(office.here).words
    return background(office)


def items(orla, kind):
    return orla.get(f"/{kind}").json["items"]


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


def test_the_template_comes_back_with_its_examples_skipped(office):
    answer = office.client.get("/import/template/si.xlsx")
    book = openpyxl.load_workbook(io.BytesIO(answer.content))
    assert book.sheetnames[:2] == ["Stations", "Pumps"]
    page = send(office, answer.content)
    assert page.faults == []
    assert form(page, "/columns").send(office).status == 302
    assert "no row was found" in background(office).words
    [row] = Import.objects.all()
    unread = [head["head"] for sheet in row.layout for head in sheet["heads"]
              if sheet["kind"] and not head["field"]]  # fmt: skip
    assert set(unread) == {"Remark (not read)"}


def test_a_person_corrects_the_columns_and_that_is_remembered(office):
    pumps = [{"Station": "N-1", "Tag": "P-1", "Type": "submersible well", "Rpm": 3450,
              "Rated flow": 120.5, "Rated head (ft)": 310}]  # fmt: skip
    page = send(office, whole(Pumps=pumps))
    sent = form(page, "/columns")
    assert sent.fields["field.1.3"] == [""]
    chosen = {"field.1.3": "rated_speed", "field.1.4": "rated_flow", "unit.1.4": "gpm"}
    # The unit is asked for once the field is known.
    sent.send(office, **chosen, **{"unit.1.3": "rpm"})
    assert "4 to be added" in background(office).words
    again = form(send(office, whole(Pumps=pumps)), "/columns")
    assert again.fields["field.1.3"] == ["rated_speed"]
    assert again.fields["unit.1.3"] == ["rpm"]


def test_two_columns_of_one_name_are_asked_about(office):
    content = io.BytesIO()
    with xlsxwriter.Workbook(content) as book:
        page = book.add_worksheet("Pumps")
        page.write_row(0, 0, ["Station", "Tag", "Serial number", "Serial number"])
        page.write_row(1, 0, ["N-1", "P-1", "A", "B"])
    page = send(office, content.getvalue())
    assert "Several columns are called “Serial number”" in page.words
    sent = form(page, "/columns")
    assert sent.fields["field.0.2"] == sent.fields["field.0.3"] == [""]
    both = {"field.0.2": "serial", "field.0.3": "serial"}
    told = sent.send(office, **both)
    assert told.status == 400
    assert "column D and column C are the same field" in told.words


def test_a_table_with_semicolons_and_decimal_commas(office, orla):
    lines = ["Station;Tag;Type;Rated speed (rpm);Rated flow (m3/h);Rated head (m)",
             "B-01;P-77;submersible_well;2900;27,4;94,5",
             "B-01;P-78;submersible_well;2900;1.234;94,5"]  # fmt: skip
    content = "\r\n".join(lines).encode("cp1252")
    page = send(office, content, "pumps.csv")
    sent = form(page, "/columns")
    assert sent.fields["kind.0"] == ["pumps"]
    sent.send(office)
    preview = background(office)
    assert "1.234 can mean 1234 or 1.234: write one of these" in preview.words
    written(office, preview, without_refused="yes")
    [pump] = orla.get("/pumps?tag=P-77").json["items"]
    assert pump["rated_flow"] == {"value": "27.4", "unit": "m3/h"}


def test_a_comma_in_degrees_is_a_decimal_one(office, orla):
    site = SITE | {"Latitude": "47,100", "Longitude": "-102.250", "Notes": "a"}
    content = io.BytesIO()
    with xlsxwriter.Workbook(content) as book:
        page = book.add_worksheet("Stations")
        page.write_row(0, 0, [*site, "Notes"])
        page.write_row(1, 0, [*site.values(), "b"])
    preview = checked(office, content.getvalue())
    assert "1 to be added" in preview.words
    written(office, preview)
    [made] = orla.get("/sites?code=N-1").json["items"]
    assert (made["latitude"], made["longitude"]) == ("47.100", "-102.250")


def test_columns_that_mean_nothing_may_have_one_name(office):
    content = io.BytesIO()
    with xlsxwriter.Workbook(content) as book:
        book.add_worksheet("Pumps").write_row(0, 0, ["Station", "Tag", "Notes", "Notes"])
    assert "Several columns" not in send(office, content.getvalue()).words


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


def test_a_broken_file_is_told_and_nothing_is_kept(office):
    told = send(office, b"%PDF-1.7 ...", "plan.pdf")
    assert told.status == 400
    assert told.faults == []
    assert "Nothing was taken. The file is a PDF document; expected a workbook" in told.words
    assert len(forms(told)) >= 2


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


def test_a_station_may_be_called_like_an_example(office):
    site = {"Name": "Example Hill", **{n: v for n, v in SITE.items() if n != "Name"}}
    assert "4 to be added" in checked(office, whole(Stations=[site])).words


def test_the_same_station_twice_is_told_at_its_code_with_both_rows(office):
    preview = checked(office, whole(Stations=[SITE, SITE | {"Name": "South well"}]))
    assert "B Code : row 2 of “Stations” is about the same one" in (
        preview.words.replace("Code:", "Code :")
    )


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


def test_progress_is_looked_at_where_it_is_told_whatever_was_sent_last(office):
    sent = form(send(office, whole()), "/columns")
    sent.send(office)
    again = sent.send(office)
    assert "is being checked" in again.words
    assert f'data-address="{office.here}"' in again.html
    assert f'content="2;url={office.here}"' in again.html


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


def test_a_text_with_zeros_in_it_is_no_table(office):
    told = send(office, "\ufeffStation,Tag\r\nB-01,P-\x001".encode("utf-16-le"), "a.csv")
    assert told.status == 400
    assert "neither a workbook (.xlsx) nor a table as text" in told.words


def test_a_line_of_words_above_the_headings_does_not_part_the_table(office):
    lines = ["Pumps, all of them, 2026", "", "Station;Tag;Type;Rated speed (rpm);Rated flow (m3/h)",
             "B-01;P-77;submersible_well;2900;27,4"]  # fmt: skip
    page = send(office, "\r\n".join(lines).encode(), "pumps.csv")
    assert form(page, "/columns").fields["field.0.4"] == ["rated_flow"]
    assert "Headings in row 3" in page.words


def test_a_heading_with_a_unit_that_is_none_is_told(office):
    page = send(office, workbook(Pumps=[{"Station": "B-01", "Tag": "P-1", "Rated flow (bu/h)": 9}]))
    assert "The column “Rated flow (bu/h)” is not read: bu/h is no unit of it" in page.words
