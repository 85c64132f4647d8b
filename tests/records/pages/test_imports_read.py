"""Files that somebody has, and what their columns mean: read, asked about, remembered."""

import io

import openpyxl
import pytest
import xlsxwriter

from records.models import Import
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.importing import (
    SITE,
    background,
    checked,
    send,
    whole,
    workbook,
    written,
)
from tests.records.pages.sending import form, forms


@pytest.fixture
def office(api, cast, station):
    return Walker.of(cast.orla)


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


def test_a_broken_file_is_told_and_nothing_is_kept(office):
    told = send(office, b"%PDF-1.7 ...", "plan.pdf")
    assert told.status == 400
    assert told.faults == []
    assert "Nothing was taken. The file is a PDF document; expected a workbook" in told.words
    assert len(forms(told)) >= 2


def test_a_station_may_be_called_like_an_example(office):
    site = {"Name": "Example Hill", **{n: v for n, v in SITE.items() if n != "Name"}}
    assert "4 to be added" in checked(office, whole(Stations=[site])).words


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
