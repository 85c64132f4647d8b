"""Of what no seal speaks for, a book brings nothing that could not have been entered here."""

import json

import pytest

from records.errors import Conflict
from tests.records import visits
from tests.records.books.test_refused import all_rows_of, assert_as_it_began, forged, rows_of


def within(name, column, which=lambda row: True, **changes):
    """Changes a document's fields in the first row of a table that is wanted."""

    def change(inside, package):
        rows = [json.loads(line) for line in inside[f"tables/{name}.jsonl"].splitlines()]
        row = next(row for row in rows if which(row))
        row[column] = row[column] | changes
        inside[f"tables/{name}.jsonl"] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)

    return change


def of_a_draft(row):
    return row["state"] == "draft"


def of_draft(table, **changes):
    """Changes columns of what hangs on the draft, or of the draft itself."""

    def change(inside, package):
        events = [json.loads(line) for line in inside["tables/events.jsonl"].splitlines()]
        [draft] = [row["row"] for row in events if of_a_draft(row)]
        key = "row" if table == "events" else "event_id"
        rows = [json.loads(line) for line in inside[f"tables/{table}.jsonl"].splitlines()]
        rows = [row | changes if row[key] == draft else row for row in rows]
        inside[f"tables/{table}.jsonl"] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)

    return change


def plate(kind, **changes):
    """Changes a plate in what the draft is judged against; None takes a field away."""

    def change(inside, package):
        rows = [json.loads(line) for line in inside["tables/events.jsonl"].splitlines()]
        [draft] = [row for row in rows if of_a_draft(row)]
        held = draft["snapshot"].get(kind, {}) | changes
        draft["snapshot"][kind] = {name: value for name, value in held.items() if value is not None}
        inside["tables/events.jsonl"] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)

    return change


def signed_by_a_device(**changes):
    """A signature of the draft that a device is said to have made, in a form that none has."""

    def change(inside, package):
        events = [json.loads(line) for line in inside["tables/events.jsonl"].splitlines()]
        [draft] = [row["row"] for row in events if of_a_draft(row)]
        first = json.loads(inside["tables/signatures.jsonl"].splitlines()[0])
        told = {"statement": {}, "digest": "", "signature": "", "public_key": {}, "key_since": ""}
        new = {"row": 900_000, "id": visits.new_id(), "event_id": draft, "device": told | changes}
        inside["tables/signatures.jsonl"] += json.dumps(first | new).encode() + b"\n"

    return change


NOBODY = "11111111-1111-4111-8111-111111111111"


def of_a_piece_that_is_nowhere(inside, package):
    site = json.loads(inside["tables/sites.jsonl"].splitlines()[0])["row"]
    rows_of("interval_settings", site_id=site, piece=NOBODY, tag="M-1")(inside, package)


REGISTER = {
    "a value outside of its limits": (
        within("pumps", "plate", rated_speed={"value": "-5", "unit": "rpm"}), "/rated_speed: ",
    ),
    "a value in a unit of something else": (
        within("motors", "plate", insulation_class={"value": "1", "unit": "m"}),
        "/insulation_class: ",
    ),
    "a field that is none": (within("drives", "plate", colour="red"), "/colour: there is no such"),
    "a document without what it needs": (rows_of("pumps", plate={}), "this field is required"),
    "a column that says otherwise": (rows_of("pumps", tag="P-99"), "/tag: the column says"),
    "another revision of a plate": (
        within("instruments", "plate", serial="0000"), "/serial: the column says",
    ),
    "a pump set of other parts": (
        within("pump_sets", "plate", pump=NOBODY), "/pump: the column says",
    ),
    "a plate that is no object": (rows_of("sensors", plate=5), "/plate: expected an object"),
    "a plate that is missing": (rows_of("sites", plate=None), "/plate: expected an object"),
    "a quantity without its parts": (
        rows_of("sites", elevation={"a": {"b": None}}), "/elevation: expected a quantity within",
    ),
    "a quantity that is a list": (
        rows_of("pumps", rated_flow=["value", "unit", "si"]), "/rated_flow: expected a quantity",
    ),
    "nothing where a value stands": (
        rows_of("rule_settings", value=None), "/value: expected a value",
    ),
    "a limit in another unit": (rows_of("rule_settings", unit="m"), "/value/unit: "),
    "a limit that counts for another": (rows_of("rule_settings", si=7.0), "/si: expected what"),
    "an interval of no task": (
        rows_of("interval_settings", task="sweeping"), "/task: there is no such task",
    ),
    "an interval of what is done once": (
        rows_of("interval_settings", task="rotation"), "/task: this is done once",
    ),
    "a safety task's interval, longer than the catalogue's": (
        rows_of("interval_settings", task="overload", months=36, catalogue_months=36, safety=True),
        "/months: expected at most 24 months",
    ),
    "a safety task that is called none": (
        rows_of("interval_settings", task="overload", months=36, safety=False),
        "/safety: expected True",
    ),
    "an interval of a piece that is nowhere": (
        of_a_piece_that_is_nowhere, "/piece: there is no such piece",
    ),
    "what stood before a change, as no object": (
        all_rows_of("audit", before=[[1]]), "/before: expected an object, or null",
    ),
    "what stands after a change, as no object": (
        all_rows_of("audit", after=5), "/after: expected an object, or null",
    ),
}  # fmt: skip
DRAFTS = {
    "a visit with a field that is none": (
        within("events", "document", of_a_draft, colour="red"), "/colour: there is no such field",
    ),
    "a visit of another kind than its column": (
        within("events", "document", of_a_draft, kind="investigation"), "/kind: the columns say",
    ),
    "a visit on another day than its column": (
        within("events", "document", of_a_draft, performed_at="2021-01-01T10:00:00Z"),
        "/document: the columns say",
    ),
    "a visit that replaces a record of nobody": (
        within("events", "document", of_a_draft, corrects=NOBODY, correction_reason="Wrong."),
        "/corrects: there is no such record",
    ),
    "nameplates that are no object": (
        of_draft("events", snapshot=[[1]]), "/snapshot: expected an object",
    ),
    "nameplates of no field": (plate("colour"), "/snapshot/colour: there is no such field"),
    "nameplates of another place": (
        plate("pump_set", id=NOBODY), "/snapshot/pump_set: expected that of the visit",
    ),
    "nameplates of nowhere": (of_draft("events", snapshot={}), "/snapshot/site: expected that of"),
    "nameplates with a visit": (plate("event"), "/snapshot/event: there is no such field"),
    "a plate without what it needs": (
        plate("pump_set", tag=None), "/snapshot/pump_set/tag: this field is required",
    ),
    "columns of a trace that its file has not": (
        of_draft("traces", columns=[{"name": "time", "unit": "s"}]), "/columns: expected what its",
    ),
    "columns of a trace that are none": (
        of_draft("traces", columns=5), "/columns: expected what its file holds",
    ),
    "more rows of a trace than its file has": (of_draft("traces", rows=7), "/rows: expected what"),
    "a trace whose name is two lines": (
        of_draft("traces", name="a\r\nX: b"), "/name: expected a name in one line",
    ),
    "a trace at another pace": (
        of_draft("traces", sample_interval=0.1), "/sample_interval: expected what its file",
    ),
    "a file that is called a page": (
        of_draft("attachments", content_type="text/html"), "/content_type: expected one of",
    ),
    "a file whose name is two lines": (
        of_draft("attachments", name="a\r\nX: b"), "/name: expected a name in one line",
    ),
    "a file that came as nothing": (
        of_draft("attachments", sent_sha256="\\x00"), "/sent_sha256: expected a SHA-256",
    ),
    "what a device never signed": (signed_by_a_device(), "/device/statement/form: this field"),
    "what no device keeps": (signed_by_a_device(colour="red"), "/device: expected an object of"),
}  # fmt: skip


@pytest.mark.parametrize("case", [*REGISTER, *DRAFTS])
def test_what_could_not_be_entered_is_refused(take_out, elsewhere, take_in, tmp_path, case):
    change, words = (REGISTER | DRAFTS)[case]
    file = forged(take_out(drafts=case in DRAFTS), tmp_path / "forged.zip", change)
    with pytest.raises(Conflict) as refused:
        take_in(file)
    assert "nothing is taken in: tables/" in refused.value.detail
    assert words in refused.value.detail
    assert_as_it_began(elsewhere)


def with_an_accepted_finding(inside, package):
    """As if somebody had accepted what the draft's finding says."""
    tables = {
        name: [json.loads(line) for line in inside[f"tables/{name}.jsonl"].splitlines()]
        for name in ("events", "findings", "answers")
    }
    [draft] = [row for row in tables["events"] if of_a_draft(row)]
    finding = next(
        row
        for row in tables["findings"]
        if row["event_id"] == draft["row"] and row["severity"] != "note" and row["present"]
    )
    answer = tables["answers"][0]
    same = {name: finding[name] for name in ("event_id", "compared_digest")}
    tables["answers"].append(
        answer | same | {"row": 900_000, "id": visits.new_id(), "finding_id": finding["row"]}
    )
    lines = [json.dumps(row).encode() + b"\n" for row in tables["answers"]]
    inside["tables/answers.jsonl"] = b"".join(lines)


def test_nobody_here_has_accepted_what_a_draft_brings(cast, take_out, elsewhere, take_in, tmp_path):
    file = forged(take_out(drafts=True), tmp_path / "accepted.zip", with_an_accepted_finding)
    assert take_in(file, cast.contractor).not_accepted == 1
    table = "records_answer AS a JOIN records_event AS e ON e.row = a.event_id"
    told = "array_agg(DISTINCT accepted)"
    assert elsewhere.rows(table, told, "e.state = 'draft'") == [False]
    assert elsewhere.rows(table, told, "e.state = 'sealed'") == [True]
    after = elsewhere.rows(
        "records_auditentry", "after",
        f"action = 'book taken in' AND contractor_id = '{cast.contractor}'",
    )  # fmt: skip
    assert after["answers_not_accepted"] == 1


def test_each_contractors_audit_says_what_came_in_of_its_own(cast, book, elsewhere, take_in):
    """The contractor in the file looks after nothing here, and has its limits and instruments."""
    take_in(book)
    after = elsewhere.rows(
        "records_auditentry", "after",
        f"action = 'book taken in' AND contractor_id = '{cast.contractor}'",
    )  # fmt: skip
    assert after["limits"] == ["trace.overshoot, share: 20 %"]
    serials = elsewhere.rows("records_instrument", "array_agg(serial ORDER BY row)")
    assert after["instruments"] == serials
