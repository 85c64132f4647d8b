"""A spreadsheet that comes in on its pages: made, sent, checked, written as an office does it."""

import io

import xlsxwriter
from django.core.files.uploadedfile import SimpleUploadedFile

from records.services.importing import imports
from tests.records.client import leave
from tests.records.pages.sending import form

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
