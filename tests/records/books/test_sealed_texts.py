"""What was sealed is believed from its text alone: a table that says otherwise is refused."""

import json

import pytest

from records.errors import Conflict
from tests.records.books.test_refused import assert_as_it_began, forged, rows_of

EARLIER = "2020-01-01T00:00:00+00:00"
CHANGED = {
    "events": [
        {"performed_at": EARLIER}, {"kind": "investigation"}, {"pump_set_id": None},
        {"catalogue": "other"}, {"judgement": {}},
    ],
    "findings": [{"rule": "another.rule"}, {"subject": "/another"}],
    "answers": [{"at": EARLIER}, {"by_role": "client"}],
    "signatures": [
        {"at": EARLIER}, {"by_role": "client"}, {"by_organization": "Another"},
        {"device": {"digest": "0" * 64}},
    ],
    "attachments": [{"content_type": "text/html"}, {"purpose": "gauge"}],
    "traces": [{"rows": 7}, {"columns": []}],
}  # fmt: skip
CASES = [(name, change) for name, changes in CHANGED.items() for change in changes]
WORDS = "(the tables say|says) other things of (visit|record)"


@pytest.mark.parametrize(("name", "change"), CASES)
def test_a_column_that_says_otherwise_is_refused(book, elsewhere, take_in, tmp_path, name, change):
    file = forged(book, tmp_path / "forged.zip", rows_of(name, **change))
    with pytest.raises(Conflict, match=WORDS):
        take_in(file)
    assert_as_it_began(elsewhere)


def _rows(inside, name):
    return [json.loads(line) for line in inside[f"tables/{name}.jsonl"].splitlines()]


def by_each_other(inside, package):
    """Each of both signatures by the other one's account, under its own name."""
    first, second = _rows(inside, "signatures")
    first["by_id"], second["by_id"] = second["by_id"], first["by_id"]
    lines = [json.dumps(row).encode() + b"\n" for row in (first, second)]
    inside["tables/signatures.jsonl"] = b"".join(lines)


def of_another_finding(inside, package):
    """The first answer is to another finding of the same visit."""
    answered = _rows(inside, "answers")[0]["finding_id"]
    other = next(row["row"] for row in _rows(inside, "findings") if row["row"] != answered)
    rows_of("answers", finding_id=other)(inside, package)


@pytest.mark.parametrize("change", [by_each_other, of_another_finding])
def test_a_row_that_leads_elsewhere_is_refused(book, elsewhere, take_in, tmp_path, change):
    with pytest.raises(Conflict, match=WORDS):
        take_in(forged(book, tmp_path / "forged.zip", change))
    assert_as_it_began(elsewhere)
