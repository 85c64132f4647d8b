"""The main path: from a new station to a sealed record, over the API."""

import hashlib
import json

from joserfc import jws

from tests.records import stations


def test_from_a_new_station_to_a_sealed_record(orla, teo, cleo, cast, signing_key):
    station = stations.register(orla, cast.client, code="B-02")
    record = stations.seal(teo, orla, station.event())
    assert (record["number"], record["previous_digest"]) == (1, None)

    data = cleo.get(f"/records/{record['id']}/data.json")
    assert data.status == 200
    content = json.loads(data.content)
    text = data.content[len(b'{"record":') : data.content.rindex(b',"seal":')]
    assert hashlib.sha256(text).hexdigest() == content["seal"]["digest"]
    assert jws.deserialize_compact(
        content["seal"]["signature"], signing_key, algorithms=["Ed25519"], payload=text
    )
    assert [s["meaning"] for s in content["record"]["signatures"]] == ["performed", "reviewed"]
