"""An id of another organization in any field or filter: answered like one that nobody has."""

import uuid

import pytest

from records.services import files
from records.services.kinds import KINDS
from tests.records import world as worlds
from tests.records.test_isolation import places
from tests.records.visits import new_id

NOBODYS = str(uuid.uuid4())
RELATIONS = [(kind.name, name) for kind in KINDS.values() for name in kind.relations]
IN_EVENTS = {
    "site": lambda identity: identity,
    "pump_set": lambda identity: identity,
    "sensors": lambda identity: [identity],
    "instruments": lambda identity: [identity],
    "sensor_verifications": lambda identity: [{"sensor": identity, "instrument": identity}],
    "vessel_checks": lambda identity: [{"vessel": identity}],
    "corrects": lambda identity: identity,
    "step_tests": lambda identity: [{"trace": identity}],
}
FILTERS = (
    "events?site=", "events?pump_set=", "records?site=", "records?after_number=0&site=",
    "records/bundle?site=", "records/bundle?client=",
    "rule-settings?client=", "audit?site=", "audit?subject=", "audit?person=",
    *(f"{kind}?site=" for kind in KINDS if kind not in ("sites", "instruments")),
)  # fmt: skip


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    made = worlds.of(stage)
    for content in (worlds.NOTE, worlds.ROWS):
        files.store(content)
    return made


@pytest.fixture
def foreign(world, cast):
    """Every id of Orla's side, by what it is of."""
    own = world.own
    ids = dict(places(own).ids) | {"contractor": own.contractor, "person": str(cast.orla.id)}
    return {name: identity for name, identity in ids.items() if identity}


def assert_tells_nothing(ask, foreign):
    """Status and text of the answer are those for an id that nobody has, but for the id."""
    nothing = ask(NOBODYS)
    for name, identity in foreign.items():
        answer = ask(identity)
        told = answer.content.replace(identity.encode(), NOBODYS.encode())
        assert (answer.status, told) == (nothing.status, nothing.content), name
    return nothing


@pytest.mark.parametrize(("kind", "name"), RELATIONS)
def test_in_a_field_of_the_register(world, otto, foreign, kind, name):
    identity = places(world.other).ids[kind]
    held = otto.get(f"/{kind}/{identity}")
    document = {key: value for key, value in held.json.items() if value is not None}
    document |= {key: "N-1" for key in ("tag", "code") if key in document}
    del document["id"]
    added = assert_tells_nothing(
        lambda given: otto.post(f"/{kind}", document | {name: given}), foreign
    )
    assert (added.status, f"/{name}" in added.pointers) == (400, True)
    changed = assert_tells_nothing(
        lambda given: otto.patch(f"/{kind}/{identity}", {name: given}, held.etag), foreign
    )
    assert changed.status == 400


@pytest.mark.parametrize("name", IN_EVENTS)
def test_in_a_field_of_an_event(world, tilda, foreign, name):
    event = world.other.station.event()
    reason = {"correction_reason": "It was wrong."} if name == "corrects" else {}

    def ask(identity):
        given = {"id": new_id(), name: IN_EVENTS[name](identity)}
        return tilda.post("/events", event | reason | given)

    asked = ask(NOBODYS)
    if asked.status == 201:  # a trace may come later: it is a note, and told as one
        foreign = {name: identity for name, identity in foreign.items() if name == "trace"}
        one, other = (ask(identity).json["findings"] for identity in (NOBODYS, foreign["trace"]))
        assert [(f["rule"], f["subject"]) for f in one] == [
            (f["rule"], f["subject"]) for f in other
        ]
    else:
        assert assert_tells_nothing(ask, foreign).status == 400


@pytest.mark.parametrize("path", FILTERS)
@pytest.mark.parametrize("name", ["otto", "cato"])
def test_in_a_filter(world, request, foreign, name, path):
    person = request.getfixturevalue(name)
    asked = assert_tells_nothing(lambda identity: person.get(f"/{path}{identity}"), foreign)
    assert asked.status in (200, 400, 403)  # 400 where one has to be named that is known
    if asked.status == 200:
        assert asked.json["items"] == []


def test_limits_and_tokens_are_set_for_nobody_else(world, otto, foreign):
    limit = {"rule": "motor.slip", "limit": "none", "value": {"value": "1", "unit": "%"}}
    for path, document, name in (
        ("/rule-settings", limit, "client"),
        ("/tokens", {"name": "x", "scopes": ["read"]}, "user"),
    ):
        asked = assert_tells_nothing(
            lambda identity, p=path, d=document, n=name: otto.post(p, d | {n: identity}), foreign
        )
        assert f"/{name}" in asked.pointers
