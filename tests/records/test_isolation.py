"""Who sees what: every route for every person, for what is theirs and for what is another's."""

import uuid
from dataclasses import dataclass

import pytest
from django.db import IntegrityError, ProgrammingError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import URLPattern, get_resolver

from records import permissions
from records.models import Clientele, Event, Membership, Record, Site, User
from records.selectors import sealed
from records.services import files, register
from records.services.kinds import KINDS
from tests.records import world as worlds
from tests.records.client import Api, leave
from tests.records.problems import assert_problem

PEOPLE = ("orla", "teo", "cleo", "otto", "tilda", "cato")
OWN = ("orla", "teo", "cleo")

# Status that (orla, teo, cleo) get for what is theirs, that (otto, tilda, cato) get for it, and
# that nobody signed in gets. 400 stands for a body that was looked at: the door was open. Orla
# comes last: what another has removed is gone for her.
ROUTES = {
    ("GET", "organizations"): ((200, 200, 200), (200, 200, 200)),
    ("POST", "organizations"): ((400, 403, 403), (400, 403, 403)),
    ("PATCH", "organizations/{client}"): ((428, 428, 428), (428, 428, 428)),
    ("GET", "organizations/{client}"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "evaluations"): ((405, 405, 405), (405, 405, 405)),
    ("POST", "evaluations"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "sites/{sites}/visit-pack"): ((200, 200, 403), (404, 404, 403)),
    ("GET", "sites/{sites}/labels.pdf"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "pump-sets/{pump-sets}/visit-sheet.pdf"): ((200, 200, 403), (404, 404, 403)),
    ("GET", "pump-sets/{pump-sets}/trends"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "sensors/{sensors}/trends"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "events"): ((200, 200, 403), (200, 200, 403)),
    ("POST", "events"): ((400, 400, 403), (400, 400, 403)),
    ("POST", "events/batch"): ((400, 400, 403), (400, 400, 403)),
    ("GET", "events/{draft}"): ((200, 200, 403), (404, 404, 403)),
    ("PATCH", "events/{draft}"): ((428, 428, 428), (428, 428, 428)),
    ("GET", "events/{draft}/findings"): ((200, 200, 403), (404, 404, 403)),
    ("POST", "events/{draft}/findings/{finding}/answer"): ((400, 400, 403), (404, 404, 403)),
    ("GET", "events/{draft}/signatures"): ((200, 200, 403), (404, 404, 403)),
    ("POST", "events/{draft}/signatures"): ((400, 400, 403), (404, 404, 403)),
    ("DELETE", "events/{sealed_event}/signatures/{signature}"): (
        (409, 403, 403),
        (404, 404, 403),
    ),
    ("GET", "events/{draft}/attachments"): ((200, 200, 403), (404, 404, 403)),
    ("POST", "events/{draft}/attachments"): ((400, 400, 403), (404, 404, 403)),
    ("GET", "events/{draft}/attachments/{attachment}"): ((200, 200, 403), (404, 404, 403)),
    ("DELETE", "events/{draft}/attachments/{attachment}"): ((404, 204, 403), (404, 404, 403)),
    ("GET", "events/{draft}/traces"): ((200, 200, 403), (404, 404, 403)),
    ("POST", "events/{draft}/traces"): ((400, 400, 403), (404, 404, 403)),
    ("GET", "events/{draft}/traces/{trace}"): ((200, 200, 403), (404, 404, 403)),
    ("DELETE", "events/{draft}/traces/{trace}"): ((404, 204, 403), (404, 404, 403)),
    ("GET", "events/{draft}/uploads"): ((200, 200, 403), (404, 404, 403)),
    ("POST", "events/{draft}/uploads"): ((400, 400, 403), (404, 404, 403)),
    ("GET", "events/{draft}/uploads/{upload}"): ((200, 200, 403), (404, 404, 403)),
    ("HEAD", "events/{draft}/uploads/{upload}"): ((204, 204, 403), (404, 404, 403)),
    ("PATCH", "events/{draft}/uploads/{upload}"): ((400, 400, 403), (404, 404, 403)),
    ("DELETE", "events/{draft}/uploads/{upload}"): ((404, 204, 403), (404, 404, 403)),
    ("POST", "events/{draft}/withdrawal"): ((400, 400, 403), (404, 404, 403)),
    ("POST", "events/{draft}/seal"): ((409, 409, 403), (404, 404, 403)),
    ("GET", "records"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "records/bundle"): ((400, 400, 200), (400, 400, 200)),  # a contractor names a client
    ("GET", "records/{record}"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "records/{record}/data.json"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "records/{record}/workbook.xlsx"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "records/{record}/readings.csv"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "records/readings.csv"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "records/{record}/files/{file}"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "records/{record}/document.pdf"): ((202, 202, 202), (404, 404, 404)),
    ("GET", "operations/{operation}"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "keys"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "rules"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "rules/motor.slip"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "rule-settings"): ((200, 200, 200), (200, 200, 200)),
    ("POST", "rule-settings"): ((400, 403, 403), (400, 403, 403)),
    ("GET", "rule-settings/{rule_setting}"): ((200, 200, 200), (404, 404, 404)),
    ("DELETE", "rule-settings/{rule_setting}"): ((204, 403, 403), (404, 403, 403)),
    ("GET", "verification-tasks"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "due-items"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "due-items/counts"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "performed-tasks/{performed_task}"): ((200, 200, 200), (404, 404, 404)),
    ("GET", "interval-settings"): ((200, 200, 200), (200, 200, 200)),
    ("POST", "interval-settings"): ((400, 403, 403), (400, 403, 403)),
    ("GET", "interval-settings/{interval_setting}"): ((200, 200, 200), (404, 404, 404)),
    ("DELETE", "interval-settings/{interval_setting}"): ((204, 403, 403), (404, 403, 403)),
    ("GET", "interval-proposals"): ((200, 200, 200), (200, 200, 200)),
    # A start-up, of which nothing is proposed.
    ("POST", "interval-proposals/{performed_task}/acceptance"): (
        (404, 403, 403),
        (404, 403, 403),
    ),
    ("GET", "report-schedules"): ((200, 200, 200), (200, 200, 200)),
    ("POST", "report-schedules"): ((400, 403, 403), (400, 403, 403)),
    ("GET", "report-schedules/{report_schedule}"): ((200, 200, 200), (404, 404, 404)),
    ("DELETE", "report-schedules/{report_schedule}"): ((204, 403, 403), (404, 403, 403)),
    ("GET", "reports"): ((200, 200, 200), (200, 200, 200)),
    ("POST", "reports"): ((400, 403, 403), (400, 403, 403)),
    ("GET", "reports/{report}"): ((200, 200, 200), (404, 404, 404)),
    # It is not made yet: test_reports.py downloads one that is.
    ("GET", "reports/{report}/document.pdf"): ((404, 404, 404), (404, 404, 404)),
    ("GET", "reports/{report}/workbook.xlsx"): ((404, 404, 404), (404, 404, 404)),
    ("GET", "reports/{report}/data.json"): ((404, 404, 404), (404, 404, 404)),
    ("GET", "units"): ((200, 200, 200), (200, 200, 200)),
    ("GET", "me"): ((200, 200, 200), (200, 200, 200)),
    ("PUT", "me/key"): ((400, 400, 403), (400, 400, 403)),
    ("GET", "members"): ((200, 403, 403), (200, 403, 403)),
    ("POST", "members"): ((400, 403, 403), (400, 403, 403)),
    ("DELETE", "members/{member}"): ((204, 403, 403), (404, 403, 403)),
    ("PUT", "members/{member}/role"): ((400, 403, 403), (400, 403, 403)),
    ("POST", "enrolments"): ((400, 400, 400), (400, 400, 400)),  # a code says who it is
    ("GET", "tokens"): ((200, 403, 403), (200, 403, 403)),
    ("POST", "tokens"): ((400, 403, 403), (400, 403, 403)),
    ("DELETE", "tokens/{token}"): ((204, 403, 403), (404, 403, 403)),
    ("GET", "audit"): ((200, 403, 403), (200, 403, 403)),
}
for _kind in KINDS:
    _seen = 403 if _kind == "instruments" else 200
    _away = 403 if _kind == "instruments" else 404
    _write = 403 if _kind == "sites" else 400
    ROUTES |= {
        ("GET", _kind): ((200, 200, _seen), (200, 200, _seen)),
        ("POST", _kind): ((400, _write, 403), (400, _write, 403)),
        ("GET", f"{_kind}/{{{_kind}}}"): ((200, 200, _seen), (404, 404, _away)),
        ("PATCH", f"{_kind}/{{{_kind}}}"): ((428, 428, 428), (428, 428, 428)),
    }
PUBLIC = {"schema", "docs", "record-schema.json", "<path:rest>"}
FOR_NOBODY_KNOWN = {("POST", "enrolments"): 400}
TAGS = {
    "pumps": "P-101", "motors": "M-101", "drives": "D-101", "sensors": "PT-101",
    "vessels": "V-1", "instruments": "I-1",
}  # fmt: skip


@dataclass(frozen=True)
class Places:
    """Ids of one side, by the words that stand in the table of routes."""

    ids: dict[str, str]

    def path(self, route: str) -> str:
        """A route with this side's ids."""
        return "/" + route.format(**self.ids)


def places(side: worlds.Side) -> Places:
    """Where one side's things are."""
    station = side.station
    known = {kind: station.ids[tag] for kind, tag in TAGS.items()}
    known |= {"sites": station.site, "pump-sets": station.pump_set}
    named = (
        "client",
        "draft",
        "sealed_event",
        "signature",
        "finding",
        "record",
        "operation",
        "token",
        "rule_setting",
        "interval_setting",
        "report_schedule",
        "report",
        "performed_task",
        "attachment",
        "trace",
        "upload",
        "file",
        "member",
    )
    return Places(known | {name: getattr(side, name) for name in named})


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    made = worlds.of(stage)
    for content in (worlds.NOTE, worlds.ROWS):
        files.store(content)  # where this test keeps its files
    return made


@pytest.fixture
def people(world, api, cast):
    return {name: api(getattr(cast, name)) for name in PEOPLE} | {"nobody": api(None)}


def routes() -> set[str]:
    """Every path of the API, as the table writes them."""
    patterns = get_resolver("records.api.urls").url_patterns
    return {str(p.pattern) for p in patterns if isinstance(p, URLPattern)} - PUBLIC


# What an address names within an event.
SECOND = ("finding", "signature", "attachment", "trace", "upload", "file")


def written(route: str) -> str:
    """A route of the table as the resolver writes it."""
    first, *rest = route.split("/")
    second = next((word for word in SECOND if f"{{{word}}}" in route), "")
    names = iter(("<str:id>", f"<str:{second}>"))
    steps = [next(names) if "{" in step or step == "motor.slip" else step for step in rest]
    return "/".join((first, *steps))


def test_every_route_is_in_the_table():
    assert {written(route) for _, route in ROUTES} == routes()


@pytest.mark.parametrize(("method", "route"), ROUTES, ids=lambda word: word)
def test_each_person_gets_what_is_theirs_and_nothing_else(people, world, method, route):
    path = places(world.own).path(route)
    body = None if method in ("GET", "HEAD", "DELETE") or route.endswith("/seal") else {}
    got = {name: people[name].call(method, path, body) for name in people if name != "orla"}
    got["orla"] = people["orla"].call(method, path, body)
    own, other = ROUTES[method, route]
    expected = dict(zip(PEOPLE, (*own, *other), strict=True))
    expected["nobody"] = FOR_NOBODY_KNOWN.get((method, route), 401)
    assert {name: answer.status for name, answer in got.items()} == expected
    for answer in got.values():
        if answer.status >= 400:
            assert answer.type == "application/problem+json"


@pytest.mark.parametrize("route", [r for m, r in ROUTES if m == "GET" and "{" in r])
@pytest.mark.parametrize("name", ["otto", "tilda", "cato"])
def test_what_is_anothers_answers_like_what_is_not_there(people, world, route, name):
    foreign, absent = foreign_and_absent(people[name], world, route)
    assert foreign == absent


def foreign_and_absent(person, world, route):
    """What an address of the other side answers, and what one of nobody does."""
    answers = [person.get(path) for path in _addresses(world, route)]
    return [(answer.status, answer.content) for answer in answers]


def _addresses(world, route):
    """Of the other side, and of nobody."""
    nowhere = Places(dict.fromkeys(places(world.own).ids, str(uuid.uuid4())))
    return [each.path(route) for each in (places(world.own), nowhere)]


@pytest.mark.parametrize("route", [r for m, r in ROUTES if m == "GET" and "{" in r])
@pytest.mark.parametrize("name", ["otto", "cato"])
def test_what_is_anothers_takes_the_steps_of_what_is_not_there(people, world, route, name):
    """So that the time of an answer tells nothing either."""
    people[name].get("/me")  # that the token is used is noted now, and for a minute not again
    steps = []
    for path in _addresses(world, route):
        with CaptureQueriesContext(connection) as asked:
            people[name].get(path)
        told = [each["sql"].partition(" WHERE ")[0] for each in asked]
        steps.append([sql for sql in told if "SAVEPOINT" not in sql])
    assert steps[0] == steps[1]
    assert len(steps[0]) > 1


LISTS = ("organizations", *KINDS, "events", "records", "rule-settings", "interval-settings",
         "report-schedules", "reports", "audit")  # fmt: skip
# Scoped by the literal in a statement of their own.
BY_HAND = ("due-items", "interval-proposals")
WITHOUT_SITE = ("organizations", "sites", "instruments", "rule-settings", "interval-settings",
                "report-schedules", "reports")  # fmt: skip


@pytest.mark.parametrize("listed", [*LISTS, *BY_HAND])
@pytest.mark.parametrize("name", ["otto", "cato"])
def test_no_list_holds_anything_of_the_other_side(people, world, listed, name):
    assert leaked_by_list(people[name], world, listed) == []


def leaked_by_list(person, world, listed):
    """Ids of the other side in a list, and what a list of its station holds."""
    answer = person.get(f"/{listed}" + "?limit=200" * (listed != "organizations"))
    text = answer.content.decode()
    ids = [*places(world.own).ids.values(), world.own.sealed_event, world.own.contractor]
    leaked = [each for each in ids if each in text]
    if answer.status == 200 and listed not in WITHOUT_SITE:
        leaked += person.get(f"/{listed}?site={world.own.station.site}").json["items"]
    return leaked


@pytest.mark.parametrize("name", ["otto", "cato"])
def test_the_readings_of_many_hold_nothing_of_the_other_side(people, world, name):
    assert told_by_readings(people[name], world) == (["theirs"], [])


def told_by_readings(person, world):
    """Whose record stands in the readings of all, and in those of the other side's station."""
    records = {"own": world.own.record, "theirs": world.other.record}
    texts = [
        person.get(f"/records/readings.csv{query}").rows().decode()
        for query in ("", f"?site={world.own.station.site}")
    ]
    return tuple([whose for whose, each in records.items() if each in text] for text in texts)


def test_another_contractors_id_is_a_fresh_one(people, world):
    theirs = world.other.station
    answer = people["tilda"].post("/events", theirs.event(id=world.own.draft))
    assert answer.status == 201
    assert people["teo"].get(f"/events/{world.own.draft}").json["site"] == world.own.station.site


def test_an_organization_of_others_is_not_taken_up_by_its_id(people, world):
    """Who knows the id learns that somebody has it, and nothing more."""
    answer = people["otto"].post("/organizations", {"id": world.own.client, "name": "Any"})
    assert_problem(answer, 409, "/id")
    assert people["otto"].get(f"/organizations/{world.own.client}").status == 404


# -- the second wall: what the database still refuses when the first one is forgotten ------------


@pytest.fixture
def without_first_wall(monkeypatch):
    monkeypatch.setattr(permissions, "visible", lambda rows, actor, **_: rows)


@pytest.mark.parametrize("name", ["otto", "cato"])
@pytest.mark.parametrize("listed", [*LISTS, *BY_HAND])
def test_a_forgotten_scope_leaks_nothing(people, world, without_first_wall, listed, name):
    assert leaked_by_list(people[name], world, listed) == []


@pytest.mark.parametrize("name", ["otto", "cato"])
def test_a_forgotten_scope_leaks_no_readings(people, world, without_first_wall, name):
    assert told_by_readings(people[name], world) == (["theirs"], [])


def test_a_forgotten_scope_still_shows_what_is_ones_own(people, world, without_first_wall):
    listed = people["otto"].get("/sites").json["items"]
    assert [site["id"] for site in listed] == [world.other.station.site]


@pytest.mark.parametrize("rows", [Site.objects, Event.objects, Record.objects])
def test_without_an_organization_there_is_nothing(people, rows):
    leave()
    with pytest.raises(ProgrammingError, match="permission denied"):
        list(rows.all())


def test_both_walls_are_stood_behind_by_what_reads(people, world, cast):
    """The scope that services and selectors use names the organization as a literal."""
    actor = permissions.Actor(
        cast.otto.id, "", cast.otto.organization, "", "office", frozenset(["read"])
    )
    permissions.enter(actor)
    for queryset in (register.rows(actor, KINDS["sites"]), sealed.rows(actor)):
        assert str(cast.otto.organization.hex) in str(queryset.query).replace("-", "")


def test_the_api_knows_its_people(people, cast):
    assert people["cleo"].get("/me").json["role"] == "client"
    assert isinstance(people["nobody"], Api)


def test_a_forgotten_check_makes_nobody_the_client_of_another(people, world, cast):
    """A pair opens the name, and lets stations and limits of that client be added."""
    people["otto"].get("/me")
    with pytest.raises(IntegrityError, match="another one's client"), transaction.atomic():
        Clientele.objects.create(
            contractor_id=cast.other_contractor, client_id=uuid.UUID(world.own.client)
        )
    assert people["otto"].get(f"/organizations/{world.own.client}").status == 404


def test_a_forgotten_check_makes_nobody_a_member_who_belongs_elsewhere(people, cast):
    """A membership opens name and address of its person."""
    people["otto"].get("/me")
    with pytest.raises(IntegrityError, match="belongs elsewhere"), transaction.atomic():
        Membership.objects.create(
            user_id=cast.orla.id, organization_id=cast.other_contractor, role="technician"
        )
    own = Membership.objects.filter(user_id=cast.tilda.id)
    with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
        own.update(user_id=cast.orla.id)
    assert not User.objects.filter(id=cast.orla.id).exists()


def test_a_forgotten_scope_shows_an_office_its_own_people_alone(people, world, cast):
    people["otto"].get("/me")
    assert set(User.objects.values_list("id", flat=True)) == {cast.otto.id, cast.tilda.id}
    people["orla"].get("/me")
    assert set(User.objects.values_list("id", flat=True)) == {cast.orla.id, cast.teo.id}
