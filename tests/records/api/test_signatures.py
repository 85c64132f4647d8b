"""Signatures over the API: what each covers, what makes it void, whose it must be."""

import uuid

import pytest

from records import permissions
from records.models import Event
from records.services import signatures
from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.counting import counts
from tests.records.problems import assert_problem
from tests.records.visits import answer, found, plate_speed, sign, wrong_frequency

RULE = "drive.volts-per-hertz"


@pytest.fixture
def event(teo, station):
    """A draft with one finding to be answered."""
    return teo.post("/events", wrong_frequency(station)).json


def page(person, event):
    return person.get(f"/events/{event['id']}/signatures").json


def meanings(person, event):
    return [signature["meaning"] for signature in page(person, event)["signatures"]]


def change(teo, event, patch):
    path = f"/events/{event['id']}"
    changed = teo.patch(path, patch, teo.get(path).etag)
    assert changed.status == 200, changed.json
    return changed.json


# -- who and what -------------------------------------------------------------------------------


def test_a_signature_names_person_meaning_time_and_digest(teo, cast, event):
    digest = page(teo, event)["to_sign"]["performed"]
    signed = sign(teo, event, "performed")
    assert signed.status == 201
    signature = dict(signed.json)
    assert uuid.UUID(signature.pop("id"))
    assert signature.pop("at").endswith("Z")
    assert signature == {
        "meaning": "performed", "digest": digest, "by": {"id": str(cast.teo.id), "name": "Teo"},
        "role": "technician", "organization": "Halvorn Pump Works",
    }  # fmt: skip
    assert page(teo, event)["signatures"] == [signed.json]
    assert teo.get(f"/events/{event['id']}").json["signatures"] == [signed.json]


def test_only_what_was_read_is_signed(teo, event):
    digest = page(teo, event)["to_sign"]["performed"]
    change(teo, event, {"remarks": "later"})
    before = counts()
    path = f"/events/{event['id']}/signatures"
    now = page(teo, event)["to_sign"]
    for given in (digest, "0" * 64, "", digest.upper(), "none"):
        refused = teo.post(path, {"meaning": "performed", "digest": given})
        assert_problem(refused, 409, "/digest")
        assert "read the visit again" in refused.json["detail"]
        assert not [each for each in now.values() if each in refused.content.decode()]
    reviewed = page(teo, event)["to_sign"]["reviewed"]
    wrong = teo.post(path, {"meaning": "performed", "digest": reviewed})
    assert_problem(wrong, 409, "/digest")
    assert counts() == before


@pytest.mark.parametrize(
    ("given", "places"),
    [
        ({}, ["/meaning", "/digest"]),
        ({"meaning": "approved", "digest": 7, "by": "Teo"}, ["/meaning", "/digest", "/by"]),
        ({"meaning": None, "digest": None, "id": "7"}, ["/meaning", "/digest", "/id"]),
    ],
    ids=str,
)
def test_a_bad_signature_is_refused_at_its_places(teo, event, given, places):
    assert_problem(teo.post(f"/events/{event['id']}/signatures", given), 400, *places)


@pytest.mark.parametrize("meaning", ["reviewed", "witnessed"])
def test_the_second_signature_is_another_persons(teo, orla, event, meaning):
    early = sign(orla, event, meaning)
    assert_problem(early, 409, "/meaning")
    assert "nobody has signed yet" in early.json["detail"]
    sign(teo, event, "performed")
    same = sign(teo, event, meaning)
    assert_problem(same, 409, "/meaning")
    assert "expected another person" in same.json["detail"]
    assert sign(orla, event, meaning).status == 201


def test_who_reviewed_cannot_have_performed_as_well(teo, orla, station):
    event = visits.post(teo, station)
    visits.answer_all(orla, event)
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    assert sign(orla, event, "performed").status == 201
    assert_problem(orla.post(f"/events/{event['id']}/seal"), 409, "/signatures")
    assert sign(teo, event, "reviewed").status == 409


def test_a_person_signs_once_with_each_meaning(teo, event):
    sign(teo, event, "performed")
    before = counts()
    assert_problem(sign(teo, event, "performed"), 409, "/meaning")
    assert counts() == before


def test_there_is_nothing_to_sign_of_what_is_sealed_or_withdrawn(teo, orla, station):
    sealed, withdrawn = visits.signed(teo, orla, station), visits.post(teo, station)
    assert sorted(page(teo, withdrawn)["to_sign"]) == ["performed", "reviewed", "witnessed"]
    assert orla.post(f"/events/{sealed['id']}/seal").status == 201
    reason = {"reason": "Posted for the wrong pump."}
    assert teo.post(f"/events/{withdrawn['id']}/withdrawal", reason).status == 201
    assert page(teo, sealed)["to_sign"] is None
    assert meanings(teo, sealed) == ["performed", "reviewed"]
    assert page(teo, withdrawn) == {"to_sign": None, "signatures": []}


# -- what is covered ----------------------------------------------------------------------------


def test_performed_covers_the_document(teo, orla, event):
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    change(teo, event, {"remarks": "one word more"})
    assert meanings(teo, event) == []
    change(teo, event, {"remarks": None})
    assert meanings(teo, event) == []  # void stays void
    assert sign(teo, event, "performed").status == 201


def test_a_change_that_changes_nothing_leaves_the_signatures(teo, orla, event):
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    change(teo, event, {"kind": "start_up"})
    assert meanings(teo, event) == ["performed", "reviewed"]


def test_answers_are_covered_by_the_review_alone(teo, orla, event):
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    sign(orla, event, "witnessed")
    assert answer(orla, event, found(event, RULE)).status == 201
    assert meanings(teo, event) == ["performed"]
    assert sign(orla, event, "reviewed").status == 201
    assert meanings(teo, event) == ["performed", "reviewed"]


@pytest.mark.parametrize("part", ["document", "snapshot", "catalogue", "findings"])
def test_each_part_of_what_was_performed_is_in_its_digest(cast, api, teo, event, part):
    permissions.enter_as_worker()
    row = Event.objects.get(id=event["id"])
    before = signatures.digests(row)
    if part == "findings":
        finding = row.findings.get(rule=RULE)
        finding.document = finding.document | {"sentence": "another sentence"}
        as_contractor(cast)
        finding.save(update_fields=["document"])
    elif part == "catalogue":
        row.catalogue = "another"
    else:
        getattr(row, part)["more"] = "1"
    after = signatures.digests(row)
    assert all(after[meaning] != before[meaning] for meaning in before)


def as_contractor(cast):
    permissions.enter(
        permissions.Actor(
            cast.orla.id, "Orla", cast.contractor, "", "office", frozenset(("read", "write"))
        )
    )


# -- snapshot -----------------------------------------------------------------------------------


def test_the_register_changes_unsigned_drafts_alone(teo, orla, station):
    unsigned, signed = visits.post(teo, station), visits.post(teo, station)
    sealed_event = visits.post(teo, station)
    visits.answer_all(orla, sealed_event)
    sign(teo, signed, "performed")
    for person, meaning in ((teo, "performed"), (orla, "reviewed")):
        sign(person, sealed_event, meaning)
    assert orla.post(f"/events/{sealed_event['id']}/seal").status == 201
    before = {e["id"]: teo.get(f"/events/{e['id']}").json for e in (signed, sealed_event)}
    beside_the_record = teo.get(f"/events/{unsigned['id']}").json["revision"]

    plate_speed(orla, station, "1600")

    now = teo.get(f"/events/{unsigned['id']}").json
    assert found(now, "motor.slip")["severity"] == "review"
    assert now["snapshot"]["motor"]["ratings"][1]["speed"] == q("1600", "rpm")
    assert now["revision"] == beside_the_record + 1
    for identity, stood in before.items():
        assert teo.get(f"/events/{identity}").json == stood
    assert meanings(teo, signed) == ["performed"]


def test_a_new_visit_takes_the_plates_as_they_are_now(teo, orla, station):
    plate_speed(orla, station, "1600")
    assert found(visits.post(teo, station), "motor.slip")


def test_without_a_valid_signature_the_snapshot_is_free_again(teo, orla, station):
    event = visits.post(teo, station)
    sign(teo, event, "performed")
    change(teo, event, {"remarks": "later"})
    plate_speed(orla, station, "1600")
    assert found(teo.get(f"/events/{event['id']}").json, "motor.slip")


def test_a_piece_that_a_draft_names_can_go_out_of_service(teo, orla, station):
    event = visits.post(teo, station)
    path = f"/sensors/{station.ids['PT-100']}"
    out = orla.patch(path, {"out_of_service_on": "2026-03-15"}, orla.get(path).etag)
    assert out.status == 200, out.json
    now = teo.get(f"/events/{event['id']}").json
    assert [s["tag"] for s in now["snapshot"]["sensors"]] == ["FT-101", "PT-101"]
    assert now["sensor_verifications"] == event["sensor_verifications"]


# -- repeats ------------------------------------------------------------------------------------


def test_the_same_signature_again_changes_nothing(teo, orla, event):
    identity = visits.new_id()
    first = sign(teo, event, "performed", id=identity)
    before = counts()
    again = sign(teo, event, "performed", id=identity)
    assert (first.status, again.status, again.json) == (201, 200, first.json)
    assert_problem(sign(teo, event, "witnessed", id=identity), 409, "/id")
    assert_problem(sign(orla, event, "performed", id=identity), 409, "/id")
    assert counts() == before


def test_an_id_of_a_signature_that_is_void_is_not_answered_as_if_signed(teo, event):
    identity = visits.new_id()
    assert sign(teo, event, "performed", id=identity).status == 201
    assert teo.delete(f"/events/{event['id']}/signatures/{identity}").status == 204
    again = sign(teo, event, "performed", id=identity)
    assert_problem(again, 409, "/id")
    assert "taken back" in again.json["detail"]
    assert meanings(teo, event) == []
    assert sign(teo, event, "performed", id=visits.new_id()).status == 201
