"""Putting the station of the calculations' tests into the book over the API."""

import json
import uuid
from dataclasses import dataclass
from typing import Any

from records import permissions
from records.models import SiteSummary
from tests.calculations.building import booster
from tests.records.client import Api

Document = dict[str, Any]


@dataclass(frozen=True)
class Station:
    """Ids of what was registered."""

    site: str
    pump_set: str
    ids: dict[str, str]  # by tag or serial number

    def event(self, **changes: Any) -> Document:
        """The complete, clean start-up of its pump set."""
        document = booster()["event"]
        # What names files is left out: a test that needs some sends them.
        for each in (document["settings_file"], *document["attachments"]):
            each.pop("sha256", None)
        del document["traces"]
        for test in document["step_tests"]:
            test.pop("trace")
        place = {"id": str(uuid.uuid4()), "site": self.site, "pump_set": self.pump_set}
        return place | document | changes


def as_json(document: Document, **raw: str) -> bytes:
    """A body in which the texts that are keys of `raw` stand as raw JSON."""
    text = json.dumps(document)
    for word, json_text in raw.items():
        text = text.replace(f'"{word}"', json_text)
    return text.encode()


def register(office: Api, client: object, **changes: Any) -> Station:
    """The booster station with everything in it; `changes` to the site."""
    known = booster()
    site = _add(office, "sites", known["site"] | {"client": str(client)} | changes)
    ids = {}
    pieces = [
        ("pumps", known["pump"]), ("motors", known["motor"]), ("drives", known["drive"]),
        *(("sensors", sensor) for sensor in known["sensors"]),
        *(("vessels", vessel) for vessel in known["vessels"]),
    ]  # fmt: skip
    for kind, document in pieces:
        ids[document["tag"]] = _add(office, kind, document | {"site": site})
    for instrument in known["instruments"]:
        answer = office.post("/instruments", instrument)
        if answer.status == 201:
            ids[instrument["serial"]] = answer.json["id"]
    joined = known["pump_set"]
    named = {name: ids[value] for name, value in joined.items() if value in ids}
    pump_set = _add(office, "pump-sets", joined | named | {"site": site})
    return Station(site, pump_set, ids)


def summary(station: Station) -> SiteSummary:
    """What the list of stations says of it; the background tasks' place is taken for that."""
    permissions.enter_as_worker()
    return SiteSummary.objects.get(site__id=station.site)


def _add(office: Api, kind: str, document: Document) -> str:
    answer = office.post(f"/{kind}", document)
    assert answer.status == 201, answer.json
    return str(answer.json["id"])


def seal(technician: Api, office: Api, event: Document) -> Document:
    """Post a clean event, sign it as two people, seal it."""
    posted = technician.post("/events", event)
    assert posted.status == 201, posted.json
    path = f"/events/{posted.json['id']}"
    for finding in posted.json["findings"]:
        if finding["open"]:
            answer = {"text": "Looked at on site, is as intended."}
            assert office.post(f"{path}/findings/{finding['id']}/answer", answer).status == 201
    for person, meaning in ((technician, "performed"), (office, "reviewed")):
        digest = person.get(f"{path}/signatures").json["to_sign"][meaning]
        signed = person.post(f"{path}/signatures", {"meaning": meaning, "digest": digest})
        assert signed.status == 201, signed.json
    sealed = office.post(f"{path}/seal")
    assert sealed.status == 201, sealed.json
    record: Document = sealed.json
    return record
