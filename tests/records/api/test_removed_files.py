"""A wrong upload: removed from a draft that nobody has signed, and from nothing else."""

import pytest

from tests.records import visits
from tests.records.counting import counts
from tests.records.problems import assert_problem
from tests.records.visits import rules_of, sign
from tests.records.world import ROWS

NOTE = b"Another station's certificate.\n"
KINDS = ("attachments", "traces")


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


def sent(person, event, kind: str) -> str:
    """A file of one kind, by its address."""
    path = f"/events/{event['id']}/{kind}"
    query = "?purpose=certificate&name=c.txt" if kind == "attachments" else ""
    body, media = (NOTE, "text/plain") if kind == "attachments" else (ROWS, "text/csv")
    posted = person.call("POST", path + query, body, media=media)
    assert posted.status == 201, posted.json
    return str(posted.headers["Location"])


@pytest.mark.parametrize("kind", KINDS)
def test_a_wrong_file_is_removed_from_a_draft(teo, draft, kind):
    wrong, right = sent(teo, draft, kind), sent(teo, draft, kind)
    before = teo.get(f"/events/{draft['id']}")
    assert teo.delete(wrong).status == 204
    assert_problem(teo.get(wrong), 404)
    assert_problem(teo.delete(wrong), 404)
    assert teo.get(right).status == 200
    [kept] = teo.get(f"/events/{draft['id']}/{kind}").json["items"]
    assert right.endswith(kept["id"])
    after = teo.get(f"/events/{draft['id']}")
    assert after.etag != before.etag
    assert after.json["revision"] == before.json["revision"]


def test_the_draft_is_judged_without_it(teo, station):
    event = station.event()
    del event["settings_file"]
    draft = teo.post("/events", event).json
    path = f"/events/{draft['id']}"
    posted = teo.call(
        "POST",
        f"{path}/attachments?purpose=settings_file&name=d.bin",
        b"backup",
        media="text/plain",
    )

    def lacking() -> bool:
        found = teo.get(path).json["findings"]
        said = [each["sentence"] for each in found if each["rule"] == "record.missing"]
        return any("settings file" in sentence for sentence in said)

    assert not lacking()
    assert teo.delete(posted.headers["Location"]).status == 204
    assert lacking()


def test_a_step_test_loses_the_rows_that_it_names(teo, draft):
    trace = sent(teo, draft, "traces")
    path = f"/events/{draft['id']}"
    named = {"trace": trace.rpartition("/")[2], "step_kind": "set_point"}
    assert teo.patch(path, {"step_tests": [named]}, teo.get(path).etag).status == 200
    before = teo.get(path).json
    assert teo.delete(trace).status == 204
    now = teo.get(path).json
    assert now["step_tests"] == before["step_tests"]
    about = {each["rule"] for each in now["not_evaluated"] if "/step_tests" in each["subject"]}
    assert {rule for rule in about if rule.startswith("trace.")}
    assert not [rule for rule in rules_of(now) if rule.startswith("trace.")]


@pytest.mark.parametrize("kind", KINDS)
def test_what_somebody_has_signed_stays_until_the_signature_is_withdrawn(teo, draft, kind):
    file = sent(teo, draft, kind)
    signature = sign(teo, draft, "performed").json
    before = counts()
    refused = teo.delete(file)
    assert_problem(refused, 409)
    assert "withdraws the signature" in refused.json["detail"]
    assert counts() == before
    path = f"/events/{draft['id']}/signatures/{signature['id']}"
    assert teo.delete(path).status == 204
    assert teo.delete(file).status == 204


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_sealed_or_withdrawn_keeps_its_files(teo, orla, station, kind):
    sealed, withdrawn = visits.post(teo, station), visits.post(teo, station)
    files = [sent(teo, event, kind) for event in (sealed, withdrawn)]
    visits.sign_both(teo, orla, sealed)
    assert orla.post(f"/events/{sealed['id']}/seal").status == 201
    reason = {"reason": "Posted for the wrong pump."}
    assert teo.post(f"/events/{withdrawn['id']}/withdrawal", reason).status == 201
    for file, code in zip(files, ("sealed", "withdrawn"), strict=True):
        refused = teo.delete(file)
        assert_problem(refused, 409)
        assert refused.json["type"].endswith(code)
        assert teo.get(file).status == 200


def test_the_id_of_what_was_removed_is_free_again(teo, draft):
    identity = visits.new_id()
    path = f"/events/{draft['id']}/traces?id={identity}"
    first = teo.call("POST", path, ROWS, media="text/csv")
    assert teo.delete(first.headers["Location"]).status == 204
    again = teo.call("POST", path, ROWS + b"2,62\n", media="text/csv")
    assert (again.status, again.json["rows"]) == (201, 3)


def test_a_file_of_another_event_is_not_found_here(teo, station, draft):
    file = sent(teo, draft, "attachments").rpartition("/")[2]
    other = visits.post(teo, station)
    assert_problem(teo.delete(f"/events/{other['id']}/attachments/{file}"), 404)
    assert teo.get(f"/events/{draft['id']}/attachments/{file}").status == 200
