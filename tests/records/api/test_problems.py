"""Hostile and broken requests: never a 5xx, always a problem document with the right status."""

import base64
import html
import json
import uuid

import pytest
from django.http import UnreadablePostError
from django.test import Client

from records import errors
from records.api import problems
from records.api.json_bodies import LARGEST_BODY
from tests.records import visits
from tests.records.problems import MEDIA_TYPE, assert_problem

PATCH = "application/merge-patch+json"
MEGABYTE = 1024 * 1024


def deep_objects(depth: int) -> bytes:
    return b'{"a":' * depth + b"1" + b"}" * depth


def deep_with_escape(depth: int) -> bytes:
    return b'{"a":' * depth + b'"\\ud83d\\ude00"' + b"}" * depth


UNREADABLE = {
    "empty": b"",
    "white space": b"  \n ",
    "not JSON": b"{kind: start_up}",
    "half": b'{"kind": "start_up"',
    "two documents": b"{}{}",
    "trailing comma": b'{"kind": "start_up",}',
    "NaN": b'{"start_count": NaN}',
    "Infinity": b'{"hours_run": {"value": Infinity, "unit": "h"}}',
    "minus Infinity": b'{"hours_run": {"value": -Infinity, "unit": "h"}}',
    "doubled name": b'{"kind": "start_up", "kind": "replacement"}',
    "doubled name inside": b'{"hours_run": {"value": "1", "value": "2", "unit": "h"}}',
    "NUL": b'{"remarks": "a\\u0000b"}',
    "raw NUL": b'{"remarks": "a\x00b"}',
    "NUL in a name": b'{"a\\u0000b": 1}',
    "high surrogate": b'{"remarks": "\\ud800"}',
    "low surrogate": b'{"remarks": "\\uDFFF"}',
    "surrogate in a name": b'{"\\ud800": 1}',
    "raw surrogate": b'{"remarks": "\xed\xa0\x80"}',
    "Latin-1": '{"remarks": "é"}'.encode("latin-1"),
    "UTF-16": '{"kind": "start_up"}'.encode("utf-16"),
    "byte order mark": b"\xef\xbb\xbf{}",
    "list": b"[]",
    "text": b'"start_up"',
    "number": b"7",
    "null": b"null",
    "true": b"true",
    "deep lists": b"[" * 100_000 + b"]" * 100_000,
    "deep objects": deep_objects(100_000),
}


@pytest.mark.parametrize("body", UNREADABLE.values(), ids=UNREADABLE)
def test_what_is_no_document_is_refused(orla, station, body):
    for path in ("/events", "/events/batch", "/sites", "/evaluations", "/tokens"):
        assert_unreadable(orla.call("POST", path, body))
    site = f"/sites/{station.site}"
    before = orla.get(site)
    assert_unreadable(orla.call("PATCH", site, body, media=PATCH, If_Match=before.etag))
    assert orla.get(site).json == before.json


def assert_unreadable(answer):
    assert assert_problem(answer, 400, *answer.pointers)["type"] == "/problems/unreadable"


@pytest.mark.parametrize(
    ("body", "place"),
    [
        (UNREADABLE["doubled name"], "/kind"),
        (UNREADABLE["doubled name inside"], "/hours_run/value"),
        (b'{"a": [0, {"b/c": {"d": 1, "d": 2}}]}', "/a/1/b~1c/d"),
        (UNREADABLE["NUL"], "/remarks"),
        (UNREADABLE["low surrogate"], "/remarks"),
        (b'{"a": [{"b": "\\ud800"}]}', "/a/0/b"),
        (b'{"a": {"b\\u0000": 1}}', "/a"),
    ],
)
def test_what_cannot_be_kept_is_told_with_its_place(orla, body, place):
    assert_problem(orla.call("POST", "/events", body), 400, place)


@pytest.mark.parametrize("body_of", [deep_objects, deep_with_escape])
def test_nesting_near_the_limit_of_the_interpreter(teo, station, body_of):
    posted = teo.post("/events", station.event())
    path = f"/events/{posted.json['id']}"
    for depth in (50, 200, *range(700, 1000, 15), 2000):
        body = body_of(depth)
        answers = [
            teo.call("POST", "/events", body),
            teo.call("POST", "/evaluations", body),
            teo.call("PATCH", path, body, media=PATCH, If_Match=posted.etag),
        ]
        for answer in answers:
            assert (answer.status, answer.type) == (400, MEDIA_TYPE), (depth, answer.content[:300])


def test_a_number_that_no_quantity_has_says_so_at_its_place(teo, station):
    text = json.dumps(station.event() | {"hours_run": "HERE"}).encode()
    for digits in (b"1e999", b"-1e999", b"1" + b"0" * 400, b"1e31", b'"NaN"', b'"Infinity"'):
        body = text.replace(b'"HERE"', b'{"value": %s, "unit": "h"}' % digits)
        problem = assert_problem(teo.call("POST", "/events", body), 400, "/hours_run/value")
        assert "number" in problem["errors"][0]["detail"]


@pytest.mark.parametrize(("megabytes", "status"), [(3, 400), (5, 413), (12, 413)])
def test_a_body_of_megabytes_is_refused_as_a_problem(orla, megabytes, status):
    body = b'{"remarks": "' + b"x" * (megabytes * MEGABYTE) + b'"}'
    answer = orla.call("POST", "/events", body)
    assert (answer.status, answer.type) == (status, MEDIA_TYPE)
    assert ("/remarks" in answer.pointers) == (status == 400)


def test_a_body_in_chunks_is_told_to_say_its_length(teo, station):
    event = visits.post(teo, station)
    for path, media in (
        ("/events", "application/json"), (f"/events/{event['id']}/traces?name=step", "text/csv"),
    ):  # fmt: skip
        chunked = {"HTTP_TRANSFER_ENCODING": "chunked", "content_type": media}
        answer = teo.raw("POST", f"/api/v1{path}", b"{}", **chunked)
        assert "Content-Length" in assert_problem(answer, 411)["detail"]


def test_one_byte_more_than_the_limit_is_too_large(orla):
    shell = b'{"remarks": ""}'
    text = b"x" * (LARGEST_BODY - len(shell))
    assert orla.call("POST", "/events", b'{"remarks": "' + text + b'"}').status == 400
    assert_problem(orla.call("POST", "/events", b'{"remarks": "x' + text + b'"}'), 413)


def test_a_doubled_name_is_found_among_very_many(orla):
    names = ",".join(f'"a{index}":1' for index in range(200_000))
    body = ("{" + names + ',"last":1,"last":2}').encode()
    assert "'last'" in assert_problem(orla.call("POST", "/events", body), 400, "/last")["detail"]


def test_of_very_many_errors_the_first_are_told(orla):
    names = ",".join(f'"a{index}":1' for index in range(10_000))
    answer = orla.call("POST", "/events", ("{" + names + "}").encode())
    assert (answer.status, len(answer.pointers)) == (400, 500)
    assert "500 of 1000" in answer.json["detail"]


@pytest.mark.parametrize("path", ["/events", "/sites", "/evaluations", "/tokens", "/events/batch"])
def test_other_media_types_are_refused(orla, path):
    for media in (
        "text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x",
        "application/xml", "application/octet-stream", "nonsense", "text/html; charset=utf-8",
        "application/json-seq",
    ):  # fmt: skip
        assert_problem(orla.call("POST", path, b"{}", media=media), 415)


def test_charset_and_case_of_a_media_type_do_not_matter(orla):
    answer = orla.call("POST", "/evaluations", b"{}", media="Application/JSON; charset=utf-8")
    assert answer.status == 200


def test_a_body_without_a_media_type_is_refused(orla):
    assert_problem(orla.raw("POST", "/api/v1/evaluations", b"{}", CONTENT_TYPE=""), 415)


CURSORS = [
    "x", "%00", "bm9uc2Vuc2U=", "====", "%F0%9F%98%80", "a" * 5000,
    *(
        base64.b64encode(text.encode()).decode()
        for text in (
            "p=nonsense", "p=%00", "p=-1", "p=99999999999999999999", "p=1' OR 1=1", "o=-5",
            "o=99999999999", "r=1&p=x", "p=", "p=1.5", "p=\u0661",
        )
    ),
]  # fmt: skip


@pytest.mark.parametrize("path", ["/sites", "/events", "/records"])
def test_a_forged_cursor_is_refused_or_harmless(orla, path):
    for cursor in CURSORS:
        answer = orla.get(f"{path}?cursor={cursor}")
        if answer.status == 200:
            assert set(answer.json) == {"items", "next"}
        else:
            assert_problem(answer, 400, "/cursor")


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("/sites", "code"), ("/pumps", "tag"), ("/pumps", "site"), ("/events", "site"),
        ("/events", "pump_set"), ("/events", "state"), ("/events", "kind"), ("/records", "site"),
        ("/records", "number"), ("/sites", "in_service"),
    ],
)  # fmt: skip
def test_a_query_that_no_column_holds(orla, path, name):
    for value in ("%00", "a%00b", "x" * 4000, "%ED%A0%80", "%FF", "'"):
        answer = orla.get(f"{path}?{name}={value}")
        if answer.status == 200:
            assert answer.json["items"] == []
        else:
            assert_problem(answer, 400, f"/{name}")


@pytest.mark.parametrize("name", ["number", "after_number"])
def test_a_number_of_a_record_is_a_whole_number(orla, station, name):
    for number in ("-1", "1e3", "9" * 30, "\u0661", "", "1.0", "0x1"):
        answer = orla.get(f"/records?site={station.site}&{name}={number}")
        assert_problem(answer, 400, f"/{name}")


COUNTS = {
    "pumps": ["stages", "suction_sides", "maximum_starts_per_hour"],
    "motors": ["poles", "year_built", "thermal_sensor_count", "maximum_starts_per_hour"],
    "pump-sets": ["position_in_group"],
}
PLACES = [(kind, name) for kind, names in COUNTS.items() for name in names]


@pytest.mark.parametrize(("kind", "name"), PLACES)
def test_a_count_out_of_all_bounds_is_refused_at_its_place(orla, station, kind, name):
    tags = {"pumps": "P-101", "motors": "M-101", "pump-sets": "PS-101"}
    path = f"/{kind}/{station.ids.get(tags[kind], station.pump_set)}"
    before = orla.get(path)
    for number in (-1, 2**15, 2**31, 2**63, 2**64, 10**14, 10**20, 10**400, 1.5, True):
        assert_problem(orla.patch(path, {name: number}, before.etag), 400, f"/{name}")
    assert orla.get(path).json == before.json


def test_huge_counts_in_an_event_are_refused_at_their_places(teo, station):
    event = station.event(start_count=10**400)
    event["settings"]["as_left"]["restart_attempts"] = 2**63
    answer = teo.post("/events", event)
    assert_problem(answer, 400, "/start_count", "/settings/as_left/restart_attempts")


@pytest.mark.parametrize(
    "path",
    [
        "/nothing", "/", "", "/sites/", "/events/x/y/z", "/a%0Ab", "/%00", "//", "/../records",
        "/api/", "/api/v2/sites", "/api/v1",
    ],
)  # fmt: skip
def test_a_path_that_does_not_exist_is_a_problem(orla, path):
    for method in ("GET", "POST", "PATCH", "DELETE", "OPTIONS", "PUT", "FROB"):
        body = None if method in ("GET", "OPTIONS") else {}
        assert_problem(orla.call(method, path, body), 404)


def test_an_id_that_is_none_is_not_found(orla):
    other = f"/records/{uuid.uuid4()}x"
    for path in ("/sites/x", "/events/1", other, "/operations/none", "/sites/%00", "/sites/%FF"):
        assert_problem(orla.get(path), 404)


@pytest.mark.parametrize(
    ("path", "allowed"),
    [("/sites", "GET, POST"), ("/events/batch", "POST"), ("/me", "GET"), ("/rules", "GET")],
)
def test_a_method_that_is_not_there_names_those_that_are(orla, path, allowed):
    for method in ("PUT", "DELETE", "TRACE", "FROB"):
        answer = orla.call(method, path)
        assert_problem(answer, 405)
        named = set(answer.headers["Allow"].split(", ")) - {"HEAD", "OPTIONS"}
        assert named == set(allowed.split(", "))


def test_head_says_what_get_says_without_the_body(orla, station):
    for path in ("/sites", f"/sites/{station.site}", "/rules", "/me"):
        answer, full = orla.call("HEAD", path), orla.get(path)
        assert (answer.status, answer.type, answer.content) == (200, full.type, b"")
        assert answer.headers.get("ETag") == full.headers.get("ETag")


def test_options_names_the_methods_and_opens_nothing_to_other_origins(orla, station):
    answer = orla.call("OPTIONS", f"/sites/{station.site}", Origin="https://elsewhere.example")
    assert answer.status == 200
    assert {"GET", "PATCH"} <= set(answer.headers["Allow"].split(", "))
    assert not [name for name in answer.headers if name.lower().startswith("access-control")]


def test_options_without_a_token_is_refused(nobody):
    assert_problem(nobody.call("OPTIONS", "/sites"), 401)


def test_whatever_is_accepted_the_answer_is_json(orla):
    for accepted in ("text/html", "application/xml", "image/*", "nonsense"):
        assert orla.call("GET", "/me", Accept=accepted).type == "application/json"
    assert_problem(orla.call("GET", "/sites/x", Accept="text/html"), 404)


def test_a_host_that_is_not_served_is_a_problem(orla):
    assert_problem(orla.raw("GET", "/api/v1/me", HTTP_HOST="elsewhere.example"), 400)


def test_every_type_of_problem_has_its_page(api):
    for error in errors.ALL:
        page = Client().get(f"/problems/{error.code}")
        assert page.status_code == 200
        assert error.title in html.unescape(page.content.decode())
    assert Client().get("/problems/none-such").status_code == 404


def test_every_error_of_the_book_is_listed():
    found: set = {errors.BookError}
    known: set = set()
    while found != known:
        known, found = found, found | {sub for each in found for sub in each.__subclasses__()}
    assert found == set(errors.ALL)
    assert len({error.code for error in errors.ALL}) == len(errors.ALL)


def test_a_caller_who_breaks_off_is_no_fault_of_ours():
    known = problems.as_book_error(UnreadablePostError("reset"))
    assert known.status == 400
