"""The page of a sealed record: its content, who signed, its digest, what there is to take along."""

import json
import re

from records import permissions
from records.models import RecordDocument
from tests.records import visits
from tests.records.client import leave
from tests.records.documents.reading_back import in_print, squeezed


def opened(page, record, name="cleo"):
    return page(name, f"/records/{record['id']}")


def test_it_shows_what_was_sealed_and_who_signed(page, teo, orla, station):
    remarks = "Soft knock of the check valve at stop."
    record = visits.sealed(teo, orla, station, remarks=remarks)
    seen = opened(page, record)
    assert seen.status == 200
    assert seen.headings[0][1].startswith("Record 1: Pump set PS-101: start-up")
    for said in (remarks, "Teo, technician, Halvorn Pump Works", "Orla, office",
                 "Settings of the drive", "Duty points", "How to check it"):  # fmt: skip
        assert said in seen.words
    assert seen.faults == []


def test_the_seal_can_be_read_off_and_the_record_taken_along(page, teo, orla, cleo, station):
    record = visits.sealed(teo, orla, station)
    seen = opened(page, record)
    assert f"SHA-256 of the sealed text {record['seal']['digest']}" in seen.words
    assert seen.to("JSON") == [f"/api/v1/records/{record['id']}/data.json"]
    assert seen.to("XLSX") == [f"/api/v1/records/{record['id']}/workbook.xlsx"]
    assert seen.to("CSV") == [f"/api/v1/records/{record['id']}/readings.csv"]
    # No worker runs in this test: the PDF is asked for and not there.
    assert "The PDF is being made" in seen.words
    leave()
    permissions.enter_as_worker()
    RecordDocument.objects.update(sha256=b"\1" * 32, size=1)
    assert opened(page, record).to("PDF") == [f"/api/v1/records/{record['id']}/document.pdf"]


def test_it_leads_to_its_station_its_neighbours_and_for_the_contractor_to_the_visit(
    page, teo, orla, station
):
    first, second = (visits.sealed(teo, orla, station) for _ in range(2))
    seen = opened(page, second, "teo")
    assert seen.to("Record 1") == [f"/records/{first['id']}"]
    assert seen.to("The visit’s own page") == [f"/events/{second['event']}"]
    assert f"/stations/{station.site}" in [where for where, _ in seen.links]
    assert opened(page, first, "teo").to("Record 2") == [f"/records/{second['id']}"]
    assert opened(page, second, "cleo").to("The visit’s own page") == []


def test_a_replaced_record_says_by_which_and_why(page, teo, orla, station):
    first = visits.sealed(teo, orla, station)
    again = {"corrects": first["id"], "correction_reason": "the wrong pump was named"}
    second = visits.sealed(teo, orla, station, **again)
    assert opened(page, first).to("record 2") == [f"/records/{second['id']}"]
    later = opened(page, second)
    assert f"/records/{first['id']}" in later.to("record 1")
    assert "Reason: the wrong pump was named" in later.words


def test_the_sealed_figures_are_on_the_page(page, teo, orla, cleo, station):
    record = visits.sealed(teo, orla, station)
    words = opened(page, record).words
    sealed = json.loads(cleo.get(f"/records/{record['id']}/data.json").content)["record"]
    for point in sealed["event"]["duty_points"]:
        assert point["discharge_pressure"]["value"] in words
    for each in sealed["signatures"]:
        assert each["digest"] in words
    for each in sealed["judgement"]["derived"]:
        assert in_print(each["formula"]) in squeezed(words)


def test_others_find_no_such_page(page, teo, orla, station):
    record = visits.sealed(teo, orla, station)
    for name in ("otto", "tilda", "cato"):
        assert opened(page, record, name).status == 404


def test_a_pdf_that_cannot_be_made_is_told_and_not_why(page, teo, orla, station):
    """Why may name what is whoever's that runs the service."""
    record = visits.sealed(teo, orla, station)
    leave()
    permissions.enter_as_worker()
    RecordDocument.objects.update(attempts=1, last_error="OSError: /srv/files/.unfinished")
    seen = opened(page, record)
    assert "The PDF could not be made so far, and is tried again" in seen.words
    assert "/srv/files" not in seen.html


def test_annexes_are_closed_at_first(page, teo, orla, station):
    seen = opened(page, visits.sealed(teo, orla, station))
    closed = re.findall(r'<details class="annex"><summary><h2 id="[^"]*">([^<]*)</h2>', seen.html)
    assert closed == [
        "Derived values", "Limits that applied", "Station and nameplates", "Identifiers",
    ]  # fmt: skip
