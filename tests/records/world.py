"""Two contractors with work of every kind, committed: for tests of what is kept and hidden."""

import hashlib
from dataclasses import dataclass
from typing import Any

from tests.records import stations, visits
from tests.records.cast import Cast, Person
from tests.records.client import Api
from tests.records.stage import Stage
from tests.records.stations import Station

Document = dict[str, Any]

PARTIAL = "application/partial-upload"
NOTE, ROWS = b"A note.\n", b"time [s],feedback [psi]\n0,60\n1,61\n"


@dataclass(frozen=True)
class Side:
    """What one contractor has: a station, a draft with an open finding, a sealed event."""

    contractor: str
    client: str
    station: Station
    draft: str
    finding: str
    sealed_event: str
    signature: str
    record: str
    operation: str
    token: str
    rule_setting: str
    interval_setting: str
    report_schedule: str
    report: str
    performed_task: str
    attachment: str
    trace: str
    upload: str
    file: str
    member: str


@dataclass(frozen=True)
class World:
    """Orla's side and Otto's."""

    own: Side
    other: Side


def of(stage: Stage) -> World:
    """The world, made once; to be asked for before a test's transaction begins."""
    station = stage.station()

    def make(cast: Cast) -> World:
        theirs = stations.register(Api(cast.otto), cast.other_client, code="X-90")
        return World(
            _side(cast.orla, cast.teo, cast.client, station),
            _side(cast.otto, cast.tilda, cast.other_client, theirs),
        )

    return stage.keep("world", make)


def _side(office: Person, technician: Person, client: object, station: Station) -> Side:
    """Post a draft that needs an answer, seal another event, make a token."""
    there, here = Api(technician), Api(office)
    event = visits.post(there, station, **_with_an_answer(station))
    file, _ = _attach(there, event), _record(there, event)
    visits.sign_both(there, here, event)
    record = here.post(f"/events/{event['id']}/seal").json
    [signature] = [s["id"] for s in _signatures(here, event) if s["meaning"] == "reviewed"]
    draft = there.post("/events", visits.wrong_frequency(station)).json
    operation = here.get(f"/records/{record['id']}/document.pdf").json["id"]
    token = here.post("/tokens", {"name": "a device", "scopes": ["read"]}).json["id"]
    finding = visits.found(draft, "drive.volts-per-hertz")["id"]
    tighter = visits.limit(client, "trace.overshoot", "share", "20", "%")
    rule_setting = here.post("/rule-settings", tighter).json["id"]
    wanted = {"client": str(client), "task": "insulation", "months": 9, "reason": "damp"}
    interval_setting = here.post("/interval-settings", wanted).json["id"]
    monthly = {"client": str(client), "period": "month", "time_zone": "America/Chicago"}
    report_schedule = here.post("/report-schedules", monthly).json["id"]
    report = here.post("/reports", {"client": str(client), "day": "2026-03-31"}).json["id"]
    [done] = here.get("/due-items?task=insulation").json["items"]
    return Side(
        str(office.organization), str(client), station, draft["id"], finding, event["id"],
        signature,
        record["id"], operation, token, rule_setting, interval_setting, report_schedule, report,
        done["last"]["id"],
        _attach(there, draft),
        _record(there, draft), _begin(there, draft), file,
        str(technician.id),
    )  # fmt: skip


def _attach(technician: Api, event: Document) -> str:
    path = f"/events/{event['id']}/attachments?purpose=other&name=note.txt"
    identity: str = technician.call("POST", path, NOTE, media="text/plain").json["id"]
    return identity


def _record(technician: Api, event: Document) -> str:
    path = f"/events/{event['id']}/traces"
    identity: str = technician.call("POST", path, ROWS, media="text/csv").json["id"]
    return identity


def _begin(technician: Api, event: Document) -> str:
    """A file of which half has come."""
    digest = hashlib.sha256(NOTE).hexdigest()
    path = f"/events/{event['id']}/uploads"
    announced = {"kind": "attachment", "purpose": "other", "name": "n.txt", "size": len(NOTE)}
    identity: str = technician.post(path, announced | {"sha256": digest}).json["id"]
    half = technician.call(
        "PATCH", f"{path}/{identity}", NOTE[:4], media=PARTIAL, Upload_Offset="0"
    )
    assert half.status == 204, half.content
    return identity


def _signatures(person: Api, event: Document) -> list[Document]:
    listed: list[Document] = person.get(f"/events/{event['id']}/signatures").json["signatures"]
    return listed


def _with_an_answer(station: Station) -> Document:
    return visits.wrong_frequency(station)
