"""Every route of the pages for every person, with its headers: one that is not in it fails."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from tests.records import visits
from tests.records.client import leave
from tests.records.pages.reading import Page, read
from tests.records.sessions import sign_in

PEOPLE = ("orla", "teo", "cleo", "otto", None)
IN = 302  # to sign-in

# What each route answers to (orla, teo, cleo, otto, nobody); POST without a form.
ROUTES = {
    ("GET", ""): (200, 200, 200, 200, IN),
    ("GET", "stations"): (302, 302, 302, 302, 302),
    ("GET", "map"): (200, 200, 200, 200, IN),
    ("GET", "search"): (200, 200, 200, 200, IN),
    ("GET", "visits"): (200, 200, 403, 200, IN),
    ("GET", "stations/{station}"): (200, 200, 200, 404, IN),
    ("GET", "stations/{station}/tags/P-101"): (302, 302, 302, 404, IN),
    ("GET", "stations/{station}/register"): (200, 200, 403, 404, IN),
    ("POST", "stations/{station}/register"): (405, 405, 405, 405, 405),
    ("GET", "stations/{station}/register/pumps"): (200, 200, 403, 404, IN),
    ("POST", "stations/{station}/register/pumps"): (400, 400, 403, 404, IN),
    ("GET", "register"): (200, 200, 403, 200, IN),
    ("GET", "register/clients/new"): (200, 403, 403, 200, IN),
    ("POST", "register/clients/new"): (400, 403, 403, 400, IN),
    ("GET", "register/clients/{client}"): (200, 403, 403, 404, IN),
    ("POST", "register/clients/{client}"): (400, 403, 403, 404, IN),
    ("GET", "register/sites/new"): (200, 403, 403, 200, IN),
    ("POST", "register/sites/new"): (400, 403, 403, 400, IN),
    ("GET", "register/sites/{station}"): (200, 403, 403, 404, IN),
    ("POST", "register/sites/{station}"): (302, 403, 403, 404, IN),  # nothing is changed
    ("GET", "register/pumps/{pump}/replace"): (200, 200, 403, 404, IN),
    ("POST", "register/pumps/{pump}/replace"): (400, 400, 403, 404, IN),
    ("GET", "register/sites/{station}/end"): (200, 403, 403, 404, IN),
    ("POST", "register/sites/{station}/end"): (400, 403, 403, 404, IN),
    ("GET", "import"): (200, 403, 403, 200, IN),
    ("POST", "import"): (400, 403, 403, 400, IN),
    ("GET", "import/template/si.xlsx"): (200, 403, 403, 200, IN),
    ("GET", "import/{import}"): (200, 403, 403, 404, IN),
    ("GET", "import/{import}/columns"): (405, 405, 405, 405, 405),
    ("POST", "import/{import}/columns"): (400, 403, 403, 404, IN),  # which one is the station
    ("GET", "import/{import}/check"): (405, 405, 405, 405, 405),
    ("POST", "import/{import}/check"): (409, 403, 403, 404, IN),
    ("GET", "import/{import}/stop"): (405, 405, 405, 405, 405),
    ("POST", "import/{import}/stop"): (302, 403, 403, 404, IN),  # nothing is under way
    ("GET", "import/{import}/write"): (405, 405, 405, 405, 405),
    ("POST", "import/{import}/write"): (409, 403, 403, 404, IN),  # it is not checked
    ("GET", "instruments"): (200, 200, 403, 200, IN),
    ("GET", "events/{event}"): (200, 200, 403, 404, IN),
    ("GET", "events/{event}/findings/{finding}/answer"): (302, 302, 403, 404, IN),
    ("POST", "events/{event}/findings/{finding}/answer"): (400, 400, 403, 404, IN),
    ("GET", "events/{event}/findings/{finding}/not-possible"): (302, 302, 403, 404, IN),
    ("POST", "events/{event}/findings/{finding}/not-possible"): (400, 400, 403, 404, IN),
    ("GET", "events/{event}/sign"): (302, 302, 403, 404, IN),
    ("POST", "events/{event}/sign"): (400, 400, 403, 404, IN),
    ("GET", "events/{event}/to-sign/{meaning}"): (200, 200, 403, 404, IN),
    ("POST", "events/{event}/to-sign/{meaning}"): (405, 405, 405, 405, 405),
    ("GET", "events/{event}/signatures/{signature}/take-back"): (302, 302, 403, 404, IN),
    ("POST", "events/{event}/signatures/{signature}/take-back"): (403, 302, 403, 404, IN),
    ("GET", "events/{event}/seal"): (302, 302, 403, 404, IN),
    ("POST", "events/{event}/seal"): (412, 412, 403, 404, IN),  # it does not say what was shown
    ("GET", "events/{event}/withdraw"): (302, 302, 403, 404, IN),
    ("POST", "events/{event}/withdraw"): (400, 400, 403, 404, IN),
    ("GET", "tokens"): (200, 200, 200, 200, IN),
    ("POST", "tokens"): (400, 400, 400, 400, IN),
    ("POST", "tokens/device"): (201, 201, 403, 201, IN),
    ("GET", "tokens/device"): (405, 405, 405, 405, 405),
    ("POST", "tokens/{token}/revoke"): (404, 404, 404, 404, IN),
    ("GET", "tokens/{token}/revoke"): (405, 405, 405, 405, 405),
    ("GET", "people"): (200, 403, 403, 200, IN),
    ("POST", "people"): (400, 403, 403, 400, IN),
    ("GET", "people/{member}"): (200, 403, 403, 404, IN),
    ("POST", "people/{member}"): (405, 405, 405, 405, 405),
    ("POST", "people/{member}/role"): (400, 403, 403, 400, IN),
    ("GET", "people/{member}/role"): (405, 405, 405, 405, 405),
    ("POST", "people/{member}/end"): (302, 403, 403, 404, IN),
    ("GET", "people/{member}/end"): (405, 405, 405, 405, 405),
    ("POST", "people/{member}/device"): (201, 201, 403, 404, IN),  # Teo's own
    ("GET", "people/{member}/device"): (405, 405, 405, 405, 405),
    ("POST", "people/{member}/tokens/{token}/revoke"): (404, 403, 403, 404, IN),
    ("GET", "people/{member}/tokens/{token}/revoke"): (405, 405, 405, 405, 405),
    ("GET", "records/{record}"): (200, 200, 200, 404, IN),
    ("GET", "records/{record}/replace"): (302, 302, 403, 404, IN),
    ("POST", "records/{record}/replace"): (400, 400, 403, 404, IN),
    ("GET", "pump-sets/{pump_set}/trends"): (200, 200, 200, 404, IN),
    ("GET", "sensors/{sensor}/trends"): (200, 200, 200, 404, IN),
    ("GET", "due"): (200, 200, 200, 200, IN),
    ("GET", "due/list.csv"): (200, 200, 200, 200, IN),
    ("GET", "reports"): (200, 200, 200, 200, IN),
    ("POST", "reports"): (400, 403, 403, 400, IN),
    ("GET", "reports/schedule"): (405, 405, 405, 405, 405),
    ("POST", "reports/schedule"): (400, 403, 403, 400, IN),  # never, and it was never before
    ("GET", "calendars"): (200, 200, 200, 200, IN),
    ("POST", "calendars"): (400, 400, 400, 400, IN),
    ("GET", "calendars/{calendar}/revoke"): (405, 405, 405, 405, 405),
    ("POST", "calendars/{calendar}/revoke"): (302, 404, 404, 404, IN),
    ("GET", "calendar/{secret}.ics"): (200, 200, 200, 200, 200),
    ("POST", "calendar/{secret}.ics"): (405, 405, 405, 405, 405),
    ("GET", "audit"): (200, 403, 403, 200, IN),
    ("GET", "limits"): (200, 403, 403, 200, IN),
    ("GET", "intervals/{client}/{task}"): (200, 403, 403, 404, IN),
    ("POST", "intervals/{client}/{task}"): (400, 403, 403, 404, IN),
    ("GET", "intervals/{client}/proposals/{proposal}/accept"): (405, 405, 405, 405, 405),
    ("POST", "intervals/{client}/proposals/{proposal}/accept"): (404, 403, 403, 404, IN),
    ("GET", "intervals/{client}/{setting}/remove"): (405, 405, 405, 405, 405),
    ("POST", "intervals/{client}/{setting}/remove"): (404, 403, 403, 404, IN),
    ("GET", "limits/{client}"): (200, 403, 403, 404, IN),
    ("GET", "limits/{client}/{rule}/{limit}"): (200, 403, 403, 404, IN),
    ("POST", "limits/{client}/{rule}/{limit}"): (400, 403, 403, 404, IN),
    ("GET", "limits/{client}/settings/{setting}/remove"): (405, 405, 405, 405, 405),
    ("POST", "limits/{client}/settings/{setting}/remove"): (302, 403, 403, 404, IN),
    ("GET", "rules"): (200, 200, 200, 200, IN),
    ("GET", "problems/not-found"): (200, 200, 200, 200, 200),
    ("GET", "healthz"): (200, 200, 200, 200, 200),
    ("GET", "verify"): (200, 200, 200, 200, IN),
    ("GET", "verify.py"): (200, 200, 200, 200, 200),
    ("GET", "field/"): (200, 200, 200, 200, 200),
    ("GET", "field/sw.js"): (200, 200, 200, 200, 200),
    ("GET", "field/judging.js"): (200, 200, 200, 200, 200),
    ("GET", "field/app.webmanifest"): (200, 200, 200, 200, 200),
    ("GET", "field/parts.json"): (200, 200, 200, 200, 200),
    ("GET", "field/description.json"): (200, 200, 200, 200, 200),
    ("GET", "field/rules-{digest}.zip"): (404, 404, 404, 404, 404),  # of another day
    ("GET", "sign-in"): (302, 302, 302, 302, 200),
    ("POST", "sign-in"): (302, 302, 302, 302, 200),
    ("GET", "sign-in/code"): (302, 302, 302, 302, 302),
    ("POST", "sign-in/code"): (302, 302, 302, 302, 302),
    ("GET", "sign-out"): (405, 405, 405, 405, 405),
    ("POST", "sign-out"): (302, 302, 302, 302, 302),
    ("GET", "confirm"): (200, 200, 200, 200, IN),
    ("POST", "confirm"): (200, 200, 200, 200, IN),
    ("GET", "confirm/code"): (302, 302, 302, 302, IN),  # nobody has set one up: by password
    ("GET", "password"): (200, 200, 200, 200, IN),
    ("POST", "password"): (200, 200, 200, 200, IN),
    ("GET", "password/forgotten"): (200, 200, 200, 200, 200),
    ("POST", "password/forgotten"): (200, 200, 200, 200, 200),
    ("GET", "password/forgotten/sent"): (200, 200, 200, 200, 200),
    ("GET", "password/chosen"): (200, 200, 200, 200, 200),
    ("GET", "password/choose/{nobody}-abc-def"): (404, 404, 404, 404, 404),
    ("GET", "second-factor"): (200, 200, 200, 200, IN),
    ("GET", "second-factor/app"): (200, 200, 200, 200, IN),
    ("POST", "second-factor/app"): (200, 200, 200, 200, IN),
    ("GET", "second-factor/app/remove"): (404, 404, 404, 404, IN),
    ("POST", "second-factor/app/remove"): (404, 404, 404, 404, IN),
    ("GET", "second-factor/recovery-codes"): (404, 404, 404, 404, IN),
    ("GET", "second-factor/recovery-codes/new"): (200, 200, 200, 200, IN),
    ("POST", "second-factor/recovery-codes/new"): (200, 200, 200, 200, IN),
}


@pytest.fixture
def places(teo, orla, station, cast):
    record = visits.sealed(teo, orla, station)
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    finding = visits.found(event, "drive.volts-per-hertz")
    signature = visits.sign(teo, event, "performed").json
    wanted = visits.limit(cast.client, "trace.overshoot", "share", "15", "%")
    setting = orla.post("/rule-settings", wanted).json["id"]
    made = call(cast, "orla", "POST", "/calendars", {"name": "the office"})
    secret = made.content.decode().partition("/calendar/")[2].partition(".ics")[0]
    calendar = made.content.decode().partition("/calendars/")[2].partition("/revoke")[0]
    return {"import": _import(cast), "calendar": calendar, "secret": secret,
            "station": station.site,
            "pump": station.ids["P-101"], "event": event["id"], "record": record["id"],
            "finding": finding["id"], "signature": signature["id"], "meaning": "performed",
            "client": str(cast.client), "rule": "trace.overshoot", "limit": "share",
            "setting": setting, "task": "vibration",
            "pump_set": station.pump_set, "sensor": station.ids["PT-101"],
            "member": str(cast.teo.id), "token": "0" * 32, "nobody": "0" * 32,
            "proposal": "0" * 32, "digest": "0" * 64}  # fmt: skip


def _import(cast):
    """A file of Orla's office whose columns are not known yet."""
    browser = Client()
    sign_in(browser, cast.orla)
    leave()
    file = SimpleUploadedFile("a.csv", b"Tag,Type,Place\nP-1,well,here\n")
    answer = browser.post("/import", {"file": file})
    leave()
    return answer.headers["Location"].rpartition("/")[2]


def patterns(resolver, before=""):
    for each in resolver.url_patterns:
        here = before + str(each.pattern)
        if isinstance(each, URLResolver):
            yield from patterns(each, here)
        elif isinstance(each, URLPattern):
            yield here


def written(route):
    """A route of the table as the resolver writes it."""
    if route.startswith("password/choose/"):
        return "^password/choose/(?P<uidb36>[0-9a-f]{32})-(?P<key>[0-9a-z-]{1,60})$"
    route = route.replace("}/tokens/{token}", "}/tokens/<str:token>")
    route = route.replace("template/si.xlsx", "template/<str:units>.xlsx")
    route = re.sub("register/(sites|pumps)", "register/<str:kind>", route)
    route = route.replace("/tags/P-101", "/tags/<path:tag>")
    named = "finding|signature|meaning|rule|limit|setting|proposal|secret|digest|task"
    route = re.sub(rf"\{{({named})\}}", r"<str:\1>", route)
    route = re.sub(r"\{\w+\}", "<str:id>", route)
    return route.replace("problems/not-found", "problems/<slug:code>")


def test_every_route_is_in_the_table():
    known = {written(route) for _, route in ROUTES}
    assert known == set(patterns(get_resolver("records.pages.urls")))


def call(cast, name, method, path, form=None):
    client = Client(raise_request_exception=False)
    if name:
        sign_in(client, getattr(cast, name))
    leave()
    return client.post(path, form) if form else client.generic(method, path)


@pytest.mark.parametrize(("method", "route"), ROUTES, ids=lambda word: word or "/")
def test_each_person_gets_what_is_theirs_with_every_header(api, cast, places, method, route):
    path = "/" + route.format(**places)
    answers = {name: call(cast, name, method, path) for name in PEOPLE}
    got = tuple(answers[name].status_code for name in PEOPLE)
    assert got == ROUTES[method, route]
    for answer in answers.values():
        check_headers(answer, judges=route in ("field/", "field/judging.js"))
        for_anybody = answer.status_code == 200 and route.startswith("field/")
        assert for_anybody or "private" in answer.headers["Cache-Control"]
        check_page(answer)


def check_headers(answer, *, judges):
    """`judges`: the rules run there as WebAssembly."""
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert ("script-src 'self' 'wasm-unsafe-eval';" in policy) == judges
    assert "unsafe" not in policy.replace("'wasm-unsafe-eval'", "")
    assert answer.headers["X-Frame-Options"] == "DENY"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert answer.headers["Cross-Origin-Opener-Policy"] == "same-origin"


def check_page(answer):
    """In the look of the pages, readable without a script and with nothing from elsewhere."""
    if (
        answer.streaming
        or not answer.content
        or not answer.headers["Content-Type"].startswith("text/html")
    ):
        return
    html = answer.content.decode()
    seen = read(Page(answer.status_code, dict(answer.headers), html))
    assert seen.faults == []
    assert re.findall(r"<script(?![^>]* src=)", html) == []
    assert "<style" not in html
    assert re.findall(r'(?:src|href|action)="(?:\w+:)?//', html) == []
    assert "arithmetic and not a safety approval" in seen.words


ENTRANCE = ("sign-in", "confirm", "password", "second-factor")


@pytest.mark.parametrize(
    "route", [r for m, r in ROUTES if m == "GET" and r.split("/")[0] in ENTRANCE]
)
def test_no_page_of_the_entrance_is_kept_by_anybody(api, cast, places, route):
    for name in ("teo", None):
        answer = call(cast, name, "GET", "/" + route.format(**places))
        if answer.status_code != 200:
            continue  # nothing of anybody's is in it
        assert "no-store" in answer.headers["Cache-Control"], (route, name)
