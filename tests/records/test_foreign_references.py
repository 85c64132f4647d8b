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
}
FILTERS = (
    "events?site=", "events?pump_set=", "records?site=", "records?after_number=0&site=",
    "records/bundle?site=", "records/bundle?client=",
    "due-items?site=", "due-items?client=", "due-items?piece=",
    "interval-settings?client=", "interval-proposals?site=", "interval-proposals?piece=",
    "reports?client=",
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


def told_apart(ask, foreign):
    """Which ids answer otherwise than one that nobody has, in status or text, but for the id."""
    nothing = ask(NOBODYS)
    apart = []
    for name, identity in foreign.items():
        answer = ask(identity)
        told = answer.content.replace(identity.encode(), NOBODYS.encode())
        if (answer.status, told) != (nothing.status, nothing.content):
            apart.append(name)
    return apart


@pytest.mark.parametrize(("kind", "name"), RELATIONS)
def test_in_a_field_of_the_register(world, otto, foreign, kind, name):
    identity = places(world.other).ids[kind]
    held = otto.get(f"/{kind}/{identity}")

    def change(given):
        return otto.patch(f"/{kind}/{identity}", {name: given}, held.etag)

    add = adding(otto, kind, name, held.json)
    added = add(NOBODYS)
    assert (added.status, f"/{name}" in added.pointers) == (400, True)
    assert change(NOBODYS).status == 400
    assert told_apart(add, foreign) == told_apart(change, foreign) == []


def adding(person, kind, name, held):
    """Adds the like of what is there, with an id in one of its fields."""
    document = {key: value for key, value in held.items() if value is not None and key != "id"}
    document |= {key: "N-1" for key in ("tag", "code") if key in document}
    return lambda given: person.post(f"/{kind}", document | {name: given})


@pytest.mark.parametrize("name", IN_EVENTS)
def test_in_a_field_of_an_event(world, tilda, foreign, name):
    ask = posting(world, tilda, name)
    assert ask(NOBODYS).status == 400
    assert told_apart(ask, foreign) == []


def posting(world, person, name):
    """Posts an event with an id in one of its fields."""
    event = world.other.station.event()
    reason = {"correction_reason": "It was wrong."} if name == "corrects" else {}

    def ask(identity):
        given = {"id": new_id(), name: IN_EVENTS[name](identity)}
        return person.post("/events", event | reason | given)

    return ask


def test_in_a_step_test_of_an_event(world, tilda, foreign):
    """A trace may come later: it is a note, and told as one."""
    said = []
    for identity in (NOBODYS, foreign["trace"]):
        step = {"step_tests": [{"trace": identity}]}
        posted = tilda.post("/events", world.other.station.event(**step))
        assert posted.status == 201
        said.append([(each["rule"], each["subject"]) for each in posted.json["findings"]])
    assert said[0] == said[1]


@pytest.mark.parametrize("path", FILTERS)
@pytest.mark.parametrize("name", ["otto", "cato"])
def test_in_a_filter(world, request, foreign, name, path):
    person = request.getfixturevalue(name)

    def ask(identity):
        return person.get(f"/{path}{identity}")

    assert told_apart(ask, foreign) == []
    asked = ask(NOBODYS)
    assert asked.status in (200, 400, 403)  # 400 where one has to be named that is known
    if asked.status == 200:
        assert asked.json["items"] == []


INTERVAL = {"task": "insulation", "months": 3, "reason": "damp"}
SET_FOR = {
    "a limit": (
        "/rule-settings",
        {"rule": "motor.slip", "limit": "none", "value": {"value": "1", "unit": "%"}},
        "client",
    ),
    "an interval": ("/interval-settings", INTERVAL, "client"),
    "an interval of a piece": ("/interval-settings", INTERVAL, "piece"),
    "a schedule": ("/report-schedules", {"period": "week", "time_zone": "UTC"}, "client"),
    "a report": ("/reports", {"day": "2026-03-31"}, "client"),
    "a token": ("/tokens", {"name": "x", "scopes": ["read"]}, "user"),
}


@pytest.mark.parametrize("what", SET_FOR)
def test_nothing_is_set_or_made_for_anybody_else(world, otto, foreign, what):
    path, document, name = SET_FOR[what]
    own = {"client": world.other.client} if what.startswith("an interval") else {}

    def ask(identity):
        return otto.post(path, own | document | {name: identity})

    assert f"/{name}" in ask(NOBODYS).pointers
    assert told_apart(ask, foreign) == []


@pytest.mark.parametrize("path", ["/report-schedules", "/reports", "/interval-settings"])
def test_an_id_that_is_taken_elsewhere_is_free(world, otto, foreign, path):
    documents = {
        "/report-schedules": {"period": "month", "time_zone": "UTC"},
        "/reports": {"day": "2026-03-31"},
        "/interval-settings": INTERVAL | {"client": world.other.client},
    }
    for name in ("report_schedule", "report", "interval_setting"):
        answer = otto.post(path, documents[path] | {"id": foreign[name]})
        assert answer.status in (201, 202)
        assert answer.json["id"] == foreign[name]
