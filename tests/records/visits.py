"""Steps of a visit over the API, and mistakes that rules are known to find."""

import uuid
from typing import Any

from tests.calculations.building_plates import q
from tests.records.client import Answer, Api
from tests.records.stations import Station

Document = dict[str, Any]

NOT_RECEIVED = "record.not-received"
WORDS = "Looked at on site, is as intended."


def post(technician: Api, station: Station, **changes: Any) -> Document:
    """A new event, as it is answered."""
    posted = technician.post("/events", station.event(**changes))
    assert posted.status == 201, posted.json
    document: Document = posted.json
    return document


def wrong_frequency(station: Station, frequency: str = "50") -> Document:
    """A motor frequency in the drive that is not the plate's: drive.volts-per-hertz, `stop`."""
    event = station.event()
    event["settings"]["as_left"]["motor_frequency"] = q(frequency, "Hz")
    return event


def damp_winding(station: Station) -> Document:
    """Too little insulation: insulation.minimum, a `stop` that can only be corrected."""
    event = station.event()
    event["motor_tests"]["insulation"]["resistance_1_min"] = q("0.5", "Mohm")
    return event


def plate_speed(office: Api, station: Station, speed: str) -> None:
    """Another speed on the motor's plate; motor.slip: 1600 is a `review`, 1799 a `note`."""
    path = f"/motors/{station.ids['M-101']}"
    motor = office.get(path)
    ratings = motor.json["ratings"]
    ratings[1]["speed"] = q(speed, "rpm")
    changed = office.patch(path, {"ratings": ratings}, motor.etag)
    assert changed.status == 200, changed.json


def found(event: Document, rule: str) -> Document:
    """The one finding of a rule."""
    [finding] = [each for each in event["findings"] if each["rule"] == rule]
    return finding  # type: ignore[no-any-return]


def rules_of(event: Document) -> list[str]:
    """The rules that found something, beside files that a test names and does not send."""
    rules = [each["rule"] for each in event["findings"]]
    return [rule for rule in rules if rule != NOT_RECEIVED]


def answer(person: Api, event: Document, finding: Document, **given: Any) -> Answer:
    """Answer a finding in words."""
    path = f"/events/{event['id']}/findings/{finding['id']}/answer"
    return person.post(path, {"text": WORDS} | given)


def answer_all(office: Api, event: Document) -> None:
    """Answer whatever is open."""
    for finding in office.get(f"/events/{event['id']}/findings").json["items"]:
        if finding["open"]:
            assert answer(office, event, finding).status == 201


def sign(person: Api, event: Document, meaning: str, **given: Any) -> Answer:
    """Sign what there is to sign."""
    path = f"/events/{event['id']}/signatures"
    digest = person.get(path).json["to_sign"][meaning]
    return person.post(path, {"meaning": meaning, "digest": digest} | given)


def signed(technician: Api, office: Api, station: Station, **changes: Any) -> Document:
    """An event that only lacks its seal."""
    event = post(technician, station, **changes)
    sign_both(technician, office, event)
    return event


def sign_both(technician: Api, office: Api, event: Document) -> None:
    """Answer whatever is open, and sign as the one who did it and the one who looked at it."""
    answer_all(office, event)
    for person, meaning in ((technician, "performed"), (office, "reviewed")):
        assert sign(person, event, meaning).status == 201


def sealed(technician: Api, office: Api, station: Station, **changes: Any) -> Document:
    """A sealed record."""
    event = signed(technician, office, station, **changes)
    answered = office.post(f"/events/{event['id']}/seal")
    assert answered.status == 201, answered.json
    record: Document = answered.json
    return record


def limit(client: object, rule: str, name: str, value: str, unit: str, **more: str) -> Document:
    """A limit as an office sets it for a client."""
    return {"client": str(client), "rule": rule, "limit": name, "value": q(value, unit)} | more


def new_id() -> str:
    """An id as a device makes one."""
    return str(uuid.uuid4())
