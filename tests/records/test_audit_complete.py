"""Nothing changes without an entry: every route that changes something, done once."""

import pytest

from records.models import AuditEntry
from records.services import audit, event_rows
from tests.calculations.building import booster
from tests.records import visits
from tests.records import world as worlds
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.devices import Device
from tests.records.enrolling import make_code
from tests.records.test_isolation import ROUTES, places

# Routes that look like changing something and change nothing.
CHANGES_NOTHING = {
    ("GET", "evaluations"),
    ("POST", "evaluations"),
    ("HEAD", "events/{draft}/uploads/{upload}"),
    # What is under way becomes a file, with its entry, or nothing.
    ("POST", "events/{draft}/uploads"),
    ("DELETE", "events/{draft}/uploads/{upload}"),
}


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    return worlds.of(stage)


class Deeds:
    """What is done by each route, with the action and the kind that its entry names."""

    def __init__(self, world, cast):
        self.side, self.cast = world.own, cast
        self.orla, self.teo = Api(cast.orla), Api(cast.teo)
        self.ids = places(world.own).ids

    def path(self, route):
        return "/" + route.format(**self.ids)

    # -- the register

    def add(self, route):
        known = booster()
        if route == "organizations":
            return self.orla.post("/organizations", {"name": "Brent Mill Utility"})
        documents = {
            "sites": known["site"] | {"client": self.side.client, "code": "X-77"},
            "pumps": known["pump"], "motors": known["motor"], "drives": known["drive"],
            "sensors": known["sensors"][0], "vessels": known["vessels"][0],
            "instruments": known["instruments"][0] | {"serial": "another"},
            "pump-sets": {"pump": None, "motor": None, "drive": None},
        }  # fmt: skip
        if route == "pump-sets":
            return self._add_pump_set()
        document = documents[route]
        if route not in ("sites", "instruments"):
            document |= {"site": self.side.station.site, "tag": "Z-9"}
        return self.orla.post(f"/{route}", document)

    def _add_pump_set(self):
        known = booster()
        at = {"site": self.side.station.site, "tag": "Z-9"}
        parts = {
            part: self.orla.post(f"/{part}s", known[part] | at).json["id"]
            for part in ("pump", "motor")
        }
        return self.orla.post("/pump-sets", {"drive": None} | at | parts)

    def change(self, route):
        path = self.path(route)
        patches = {"organizations": {"name": "Tresk Water"}, "instruments": {"certificate": "C-2"}}
        patch = patches.get(route.partition("/")[0], {"out_of_service_on": "2026-01-05"})
        if route.startswith("sites"):
            patch = {"name": "Another name"}
        return self.orla.patch(path, patch, self.orla.get(path).etag)

    # -- events

    def post_event(self, route):
        return self.teo.post("/events", self.side.station.event())

    def post_batch(self, route):
        return self.teo.post("/events/batch", {"events": [self.side.station.event()]})

    def change_event(self, route):
        path = self.path(route)
        return self.teo.patch(path, {"remarks": "Seen."}, self.teo.get(path).etag)

    def answer(self, route):
        return self.orla.post(self.path(route), {"text": "Is as intended."})

    def sign(self, route):
        return visits.sign(self.teo, {"id": self.side.draft}, "performed")

    def withdraw_signature(self, route):
        signed = self.sign(route).json["id"]
        return self.teo.delete(f"/events/{self.side.draft}/signatures/{signed}")

    def attach(self, route):
        path = f"{self.path(route)}?purpose=other&name=b.txt"
        return self.teo.call("POST", path, b"Another.\n", media="text/plain")

    def record(self, route):
        return self.teo.call("POST", self.path(route), worlds.ROWS, media="text/csv")

    def complete(self, route):
        offset, rest = {"Upload_Offset": "4"}, worlds.NOTE[4:]
        return self.teo.call("PATCH", self.path(route), rest, media=worlds.PARTIAL, **offset)

    def remove(self, route):
        return self.orla.delete(self.path(route))

    def withdraw(self, route):
        return self.teo.post(self.path(route), {"reason": "Entered twice."})

    def seal(self, route):
        event = visits.signed(self.teo, self.orla, self.side.station)
        return self.orla.post(f"/events/{event['id']}/seal")

    # -- rules and tokens

    def set_limit(self, route):
        wanted = visits.limit(self.side.client, "trace.overshoot", "share", "15", "%")
        return self.orla.post("/rule-settings", wanted)

    def set_interval(self, route):
        wanted = {"client": self.side.client, "task": "transmitter", "months": 9, "reason": "damp"}
        return self.orla.post("/interval-settings", wanted)

    def set_schedule(self, route):
        wanted = {"period": "week", "time_zone": "Europe/Berlin", "addresses": []}
        return self.orla.post("/report-schedules", wanted)

    def ask_for_report(self, route):
        return self.orla.post("/reports", {"day": "2026-03-01"})

    def accept_proposal(self, route):
        again = {"kind": "re_verification"}
        visits.sealed(self.teo, self.orla, self.side.station, **again)
        [proposal, *_] = self.orla.get("/interval-proposals").json["items"]
        return self.orla.post(f"/interval-proposals/{proposal['id']}/acceptance", {})

    def make_token(self, route):
        return self.orla.post("/tokens", {"name": "archive"})

    # -- people and devices

    def invite(self, route):
        wanted = {"name": "Nilo", "email": "nilo@people.example", "role": "technician"}
        return self.orla.post("/members", wanted)

    def give_role(self, route):
        return self.orla.call("PUT", self.path(route), {"role": "office"})

    def enrol(self, route):
        code = make_code(self.cast.teo, self.cast.teo)
        return Api(None).post("/enrolments", {"code": code.text, "name": "test"})

    def register_key(self, route):
        return Device().register(self.teo)

    def revoke(self, route):
        made = self.orla.post("/tokens", {"name": "archive"}).json["id"]
        return self.orla.delete(f"/tokens/{made}")


KINDS = {
    "organizations": "organization", "sites": "site", "pumps": "pump", "motors": "motor",
    "drives": "drive", "sensors": "sensor", "vessels": "vessel", "pump-sets": "pump set",
    "instruments": "instrument",
}  # fmt: skip
NEVER_GONE = ("organizations", "sites", "instruments")  # here, that is
ON_EVENTS = {
    ("POST", "events"): (Deeds.post_event, "added"),
    ("POST", "events/batch"): (Deeds.post_batch, "added"),
    ("PATCH", "events/{draft}"): (Deeds.change_event, "changed"),
    ("POST", "events/{draft}/findings/{finding}/answer"): (Deeds.answer, "finding answered"),
    ("POST", "events/{draft}/signatures"): (Deeds.sign, "signed"),
    ("DELETE", "events/{sealed_event}/signatures/{signature}"): (
        Deeds.withdraw_signature,
        "signature withdrawn",
    ),
    ("POST", "events/{draft}/attachments"): (Deeds.attach, "file added"),
    ("DELETE", "events/{draft}/attachments/{attachment}"): (Deeds.remove, "file removed"),
    ("POST", "events/{draft}/traces"): (Deeds.record, "file added"),
    ("DELETE", "events/{draft}/traces/{trace}"): (Deeds.remove, "file removed"),
    ("PATCH", "events/{draft}/uploads/{upload}"): (Deeds.complete, "file added"),
    ("POST", "events/{draft}/withdrawal"): (Deeds.withdraw, "withdrawn"),
    ("POST", "events/{draft}/seal"): (Deeds.seal, "sealed"),
}
DONE = {
    **{("POST", name): (Deeds.add, "added", word) for name, word in KINDS.items()},
    **{
        ("PATCH", f"{name}/{{{name if name != 'organizations' else 'client'}}}"): (
            Deeds.change,
            "changed" if name in NEVER_GONE else "taken out of service",
            word,
        )
        for name, word in KINDS.items()
    },
    **{route: (*deed, "event") for route, deed in ON_EVENTS.items()},
    ("POST", "rule-settings"): (Deeds.set_limit, "limit set", "rule setting"),
    ("DELETE", "rule-settings/{rule_setting}"): (Deeds.remove, "limit removed", "rule setting"),
    ("POST", "interval-settings"): (Deeds.set_interval, "interval set", "interval setting"),
    ("DELETE", "interval-settings/{interval_setting}"): (
        Deeds.remove, "interval removed", "interval setting",
    ),
    ("POST", "report-schedules"): (
        Deeds.set_schedule, "report schedule set", "report schedule",
    ),
    ("DELETE", "report-schedules/{report_schedule}"): (
        Deeds.remove, "report schedule ended", "report schedule",
    ),
    ("POST", "reports"): (Deeds.ask_for_report, "report asked for", "report"),
    ("POST", "interval-proposals/{performed_task}/acceptance"): (
        Deeds.accept_proposal, "interval set", "interval setting",
    ),
    ("POST", "tokens"): (Deeds.make_token, "token made", "token"),
    ("POST", "members"): (Deeds.invite, "person invited", "person"),
    ("PUT", "members/{member}/role"): (Deeds.give_role, "role changed", "person"),
    ("DELETE", "members/{member}"): (Deeds.remove, "person removed", "person"),
    ("POST", "enrolments"): (Deeds.enrol, "device enrolled", "token"),
    ("DELETE", "tokens/{token}"): (Deeds.revoke, "token revoked", "token"),
    ("PUT", "me/key"): (Deeds.register_key, "changed", "token"),
}  # fmt: skip


def newest(orla):
    return orla.get("/audit?limit=1").json["items"]


def test_every_route_that_changes_something_is_done_here():
    changing = {route for route in ROUTES if route[0] != "GET"}
    assert changing - CHANGES_NOTHING == set(DONE)


@pytest.mark.parametrize("route", DONE, ids=" ".join)
def test_each_leaves_an_entry_that_says_what_was_done(world, api, cast, orla, route):
    deed, action, kind = DONE[route]
    before = newest(orla)
    answered = deed(Deeds(world, cast), route[1])
    assert 200 <= answered.status < 300, answered.content
    entry = newest(orla)
    assert entry != before
    [entry] = entry
    assert (entry["action"], entry["subject"]["kind"]) == (action, kind)
    roles = {"Orla": "office", "Teo": "technician"}
    assert entry["person"]["role"] == roles[entry["person"]["name"]]
    assert entry["device"]["address"] == "127.0.0.1"
    assert entry["device"]["token"]["name"] == "test"


@pytest.mark.parametrize("route", DONE, ids=" ".join)
def test_an_omission_is_noticed(world, api, cast, monkeypatch, route):
    monkeypatch.setattr(audit, "write", lambda *_, **__: None)
    monkeypatch.setattr(audit, "_INTO", "")  # an entry that is written beside is read alone
    monkeypatch.setattr(event_rows, "_statement", event_rows._statement.__wrapped__)
    with pytest.raises(AssertionError, match="without an entry"):
        DONE[route][0](Deeds(world, cast), route[1])


def test_what_is_refused_or_repeated_leaves_none(world, api, cast, orla, teo):
    event = world.own.station.event()
    teo.post("/events", event)
    before = newest(orla)
    assert teo.post("/events", event).status == 200
    assert teo.post("/events", event | {"remarks": "other"}).status == 409
    assert teo.post("/events", {}).status == 400
    assert newest(orla) == before


def test_no_secret_comes_into_an_entry(world, api, cast, orla):
    """The texts of tokens, made and used, and the cast's password."""
    made = orla.post("/tokens", {"name": "archive"}).json
    by_it = Person("archive", "office", cast.contractor, secret=made["token"])
    Api(by_it).get("/sites")
    orla.delete(f"/tokens/{made['id']}")
    every = str(orla.get("/audit?limit=200").content)
    assert "archive" in every
    for secret in (made["token"], *(person.secret for person in cast.people), "correct horse"):
        assert secret not in every


def test_entries_hold_no_copy_of_a_posted_event(world, api, orla, teo):
    posted = teo.post("/events", world.own.station.event()).json
    [entry] = orla.get(f"/audit?subject={posted['id']}").json["items"]
    assert set(entry["after"]) == {"revision", "digest"}
    assert entry["before"] is None


def test_the_model_knows_every_word_that_is_written(world, api, orla):
    words = {choice for choice, _ in AuditEntry._meta.get_field("action").choices}
    written = {row["action"] for row in orla.get("/audit?limit=200").json["items"]}
    assert written <= words
