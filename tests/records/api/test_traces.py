"""Recorded traces over the API: kept by digest, judged with the event, part of the record."""

import hashlib
import io
import math

import pytest

from tests.records import visits
from tests.records.visits import found, new_id

HEAD = "time [s],set_point [psi],feedback [psi],output_frequency [Hz]\n"


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


def answered(time: float) -> float:
    """A loop of second order that swings: damping 0.2, a period of 10 s, a step of 10 psi."""
    natural = 2 * math.pi / 10 / math.sqrt(1 - 0.2**2)
    damped = natural * math.sqrt(1 - 0.2**2)
    decay = math.exp(-0.2 * natural * time)
    return 10 * (1 - decay * (math.cos(damped * time) + 0.2041 * math.sin(damped * time)))


def step(set_point: float = 60.0, interval: float = 0.5, count: int = 240) -> bytes:
    """Ten seconds of rest, then a step of 10 psi up to the set point."""
    rows = []
    for index in range(count):
        time = index * interval
        value = set_point - 10 + (answered(time - 10) if time >= 10 else 0)
        aim = set_point if time >= 10 else set_point - 10
        rows.append(f"{time:.2f},{aim:.2f},{value:.3f},48.00\n")
    return (HEAD + "".join(rows)).encode()


def upload(person, event, body: bytes, query: str = ""):
    return person.call("POST", f"/events/{event['id']}/traces{query}", body, media="text/csv")


def named(teo, event, trace: str, **test):
    """The event with a step test that rests on the trace."""
    path = f"/events/{event['id']}"
    given = {"trace": trace, "step_kind": "set_point"} | test
    changed = teo.patch(path, {"step_tests": [given]}, teo.get(path).etag)
    assert changed.status == 200, changed.json
    return changed.json


def derived(event) -> dict:
    return {each["id"]: float(each["value"]) for each in event["derived"]}


def test_rows_come_back_as_they_were_sent(teo, draft):
    body = step()
    posted = upload(teo, draft, body, "?name=Step%20to%2060")
    assert posted.status == 201, posted.json
    trace = posted.json
    assert (trace["name"], trace["rows"], trace["size"]) == ("Step to 60", 240, len(body))
    assert trace["sample_interval"] == {"value": "0.5", "unit": "s"}
    assert trace["sha256"] == hashlib.sha256(body).hexdigest()
    assert trace["columns"][2] == {"name": "feedback", "unit": "psi"}
    again = teo.get(posted.headers["Location"])
    assert (again.status, again.rows()) == (200, body)
    assert again.headers["Content-Disposition"].startswith("attachment")
    assert teo.get(f"/events/{draft['id']}/traces").json["items"] == [trace]


def test_times_without_an_offset_are_the_stations_own(teo, orla, station, draft):
    """At this station clocks went from 02:00 to 03:00 on 8 March 2026 (IANA, America/Chicago)."""
    assert orla.get(f"/sites/{station.site}").json["time_zone"] == "America/Chicago"
    lines = "time,feedback [psi]\n2026-03-08 01:59:59,60\n2026-03-08 03:00:00,61\n"
    posted = upload(teo, draft, lines.encode())
    assert posted.json["sample_interval"] == {"value": "1", "unit": "s"}
    columns = {
        "time": {"unit": "", "values": ["2026-03-08T02:15:00"]},
        "feedback": {"unit": "psi", "values": [60]},
    }
    refused = teo.post(f"/events/{draft['id']}/traces", {"columns": columns})
    assert (refused.status, refused.pointers) == (400, ["/rows/0/time"])


def test_json_columns_are_kept_alike(teo, draft):
    columns = {
        "time": {"unit": "s", "values": [0, 0.5, 1]},
        "feedback": {"unit": "psi", "values": [60, None, "61.50"]},
    }
    posted = teo.post(f"/events/{draft['id']}/traces?name=short", {"columns": columns})
    assert posted.status == 201, posted.json
    assert posted.json["name"] == "short"
    rows = teo.get(posted.headers["Location"]).rows()
    assert rows == b"time [s],feedback [psi]\n0,60\n0.5,\n1,61.50\n"


def test_a_step_is_measured_from_its_rows(teo, draft):
    """Overshoot e^(-pi zeta / sqrt(1 - zeta^2)) = 0.527 and the damped period of 10 s; OGATA."""
    trace = upload(teo, draft, step()).json
    values = derived(named(teo, draft, trace["id"]))
    assert values["trace.overshoot"] == pytest.approx(52.7, rel=0.03)
    assert values["trace.period"] == pytest.approx(10, rel=0.05)


def test_a_trace_may_come_before_or_after_it_is_named(teo, draft):
    identity = new_id()
    before = named(teo, draft, identity)
    waiting = [each for each in before["not_evaluated"] if each["rule"] == "trace.time"]
    assert "not at hand" in waiting[0]["because"]
    assert upload(teo, draft, step(), f"?id={identity}").status == 201
    after = teo.get(f"/events/{draft['id']}").json
    assert "trace.time" not in [each["rule"] for each in after["not_evaluated"]]
    assert "trace.overshoot" in derived(after)


def test_time_that_runs_backwards_is_found(teo, draft):
    lines = step().decode().splitlines(keepends=True)
    lines[20], lines[21] = lines[21], lines[20]
    trace = upload(teo, draft, "".join(lines).encode()).json
    finding = found(named(teo, draft, trace["id"]), "trace.time")
    assert finding["severity"] == "review"


@pytest.mark.parametrize("rows", ["", "0,60,60,48\n", "0,,,\n1,,,\n", "0,60,NaN,48\n1,60,,48\n"])
def test_one_sample_or_none_never_becomes_a_number(teo, draft, rows):
    posted = upload(teo, draft, (HEAD + rows).encode())
    if posted.status == 400:
        assert posted.pointers == ["/rows"]
        return
    event = named(teo, draft, posted.json["id"])
    assert not [name for name in derived(event) if name.startswith("trace.")]
    said = [each["rule"] for each in (*event["findings"], *event["not_evaluated"])]
    assert "trace.time" in said


def test_the_same_trace_again_changes_nothing(teo, draft):
    query = f"?id={new_id()}"
    first = upload(teo, draft, step(), query)
    revision = teo.get(f"/events/{draft['id']}").json["revision"]
    again = upload(teo, draft, step(), query)
    assert (first.status, again.status) == (201, 200)
    assert again.json == first.json
    assert teo.get(f"/events/{draft['id']}").json["revision"] == revision
    other = upload(teo, draft, step(70), query)
    assert (other.status, other.pointers) == (409, ["/id"])


def test_a_new_trace_makes_signatures_void(teo, orla, station):
    event = visits.signed(teo, orla, station)
    assert upload(teo, event, step()).status == 201
    assert teo.get(f"/events/{event['id']}").json["signatures"] == []


def test_a_record_names_its_traces_and_takes_no_more(teo, orla, station):
    event = visits.post(teo, station)
    trace = upload(teo, event, step()).json
    named(teo, event, trace["id"])
    visits.answer_all(orla, event)
    assert visits.sign(teo, event, "performed").status == 201
    assert visits.sign(orla, event, "reviewed").status == 201
    record = orla.post(f"/events/{event['id']}/seal").json
    text = orla.get(f"/records/{record['id']}/data.json").json["record"]
    [kept] = text["traces"]
    assert (kept["id"], kept["sha256"], kept["rows"]) == (trace["id"], trace["sha256"], 240)
    assert upload(teo, event, step(70)).status == 409


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        (b"time [s],feedback [psi]\n0,x\n", "/rows/0/feedback"),
        (b"time [s],pressure [psi]\n0,1\n", "/columns/1"),
        (b'time [s],feedback [psi]\n"0,1\n', ""),
    ],
)
def test_what_cannot_be_read_is_named_and_nothing_is_kept(teo, draft, body, pointer):
    refused = upload(teo, draft, body)
    assert refused.status == 400
    assert pointer in refused.pointers
    assert teo.get(f"/events/{draft['id']}/traces").json["items"] == []


@pytest.mark.parametrize(
    "body", [b"", b"\xff\xfe\x00", "time [s],feedback [psi]\n0,1\xe9".encode("latin-1")]
)
def test_a_body_that_is_no_text_is_refused(teo, draft, body):
    assert upload(teo, draft, body).status == 400


@pytest.mark.parametrize("query", ["?id=7", "?id=", "?name=a&colour=red", "?name=a%00b"])
def test_what_is_said_beside_the_rows_is_checked(teo, draft, query):
    assert upload(teo, draft, step(), query).status == 400


def test_too_much_is_refused_before_it_is_read(teo, draft, monkeypatch):
    monkeypatch.setattr("records.services.traces.LARGEST", 100)
    assert upload(teo, draft, step()).status == 413
    monkeypatch.undo()
    monkeypatch.setattr("records.services.trace_text.LARGEST_ROWS", 100)
    assert upload(teo, draft, step()).status == 413


def test_a_body_that_breaks_off_is_no_shorter_trace(teo, draft):
    body = step()
    whole_rows = body[: body.index(b"\n", len(body) // 2) + 1]
    path = f"/api/v1/events/{draft['id']}/traces"
    announced = {"CONTENT_TYPE": "text/csv", "CONTENT_LENGTH": str(len(body))}
    came = {"wsgi.input": io.BytesIO(whole_rows)}
    broken = teo.raw("POST", path, b"", **announced, **came)
    assert broken.status == 400
    assert "broke off" in broken.json["detail"]
    assert teo.get(f"/events/{draft['id']}/traces").json["items"] == []
