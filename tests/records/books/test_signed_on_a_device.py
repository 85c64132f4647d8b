"""A record that was signed on a device goes along with its client's book."""

import json

import pytest

from records.services import documents
from tests.records import visits
from tests.records.client import Api
from tests.records.devices import Device


@pytest.fixture
def record(world, cast, stage):
    """Sealed, with its documents, after the technician's device has signed."""
    teo, orla, phone = Api(cast.teo), Api(cast.orla), Device()
    assert phone.register(teo).status == 201
    event = visits.post(teo, world.own.station)
    by = {"id": str(cast.teo.id), "name": cast.teo.username.title()}
    body = phone.signed(phone.state(event, by))
    assert teo.post(f"/events/{event['id']}/signatures", body).status == 201
    visits.answer_all(orla, event)
    assert visits.sign(orla, event, "reviewed").status == 201
    sealed = orla.post(f"/events/{event['id']}/seal")
    assert sealed.status == 201, sealed.json
    for identity, _ in documents.missing():
        assert documents.make(identity)
    return sealed.json


def test_it_reads_the_same_there(record, cast, take_out, elsewhere, take_in, settings):
    path = f"/records/{record['id']}/data.json"
    before = json.loads(Api(cast.cleo).get(path).content)
    take_in(take_out(), cast.contractor)
    with elsewhere.as_owner() as owner:
        elsewhere.engage(owner, cast.cleo)
    with elsewhere.entered(settings):
        after = json.loads(Api(cast.cleo).get(path).content)
    assert after == before
    performed = next(s for s in after["record"]["signatures"] if s["meaning"] == "performed")
    assert performed["device"]["statement"]["event"] == record["event"]
