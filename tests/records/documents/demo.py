"""Records of the demo's events, put together from its files without a database."""

import json
from pathlib import Path
from typing import Any

from tests.records.documents import sample

FOLDER = Path(__file__).parents[3] / "fixtures" / "demo"
ROLES = ("regulating_sensor", "suction_sensor", "flow_meter", "level_sensor", "discharge_switch")

Document = dict[str, Any]


def _read(name: str) -> Any:
    return json.loads((FOLDER / name).read_text())


def names() -> list[str]:
    """The files of the events that the demo comes with."""
    return [entry["file"] for entry in _read("events/index.json")]


def record_of(name: str) -> Document:
    """A sealed record of one of them."""
    return record(_read(f"events/{name}"), names().index(name) + 1)


def record(event: Document, number: int = 1) -> Document:
    """One event sealed as it stands, whatever the catalogue found."""
    register = _read("register.json")
    subject = {**_snapshot(register, event), "event": event}
    made = sample.record(subject)
    findings = made["judgement"]["findings"][: -len(sample.WRITTEN)]
    site = subject["site"]
    people = {each["id"]: each for each in register["organizations"]}
    return made | {
        "number": number,
        "event": event,
        "sealed_at": "2026-11-30T16:20:31Z",
        "contractor": _party(people[site["contractor"]]),
        "client": _party(people[site["client"]]),
        "judgement": made["judgement"] | {"findings": findings, "limits_changed": []},
        "answers": [sample.answer(index, each) for index, each in enumerate(findings)],
    }


def _party(organization: Document) -> Document:
    return {name: organization[name] for name in ("id", "name")}


def _snapshot(register: Document, event: Document) -> Document:
    by_id = {piece["id"]: piece for part in register.values() for piece in part if "id" in piece}
    at_site = [each for each in register["pump_sets"] if each["site"] == event["site"]]
    own = by_id.get(event.get("pump_set", ""))
    others = [each for each in at_site if own is not None and each is not own]
    taken: Document = {"site": by_id[event["site"]]}
    if own:
        taken |= {"pump_set": own} | _joined(own, by_id)
        near = [each for each in others if each.get("group", "") == own.get("group")]
        taken["neighbours"] = [{"pump_set": each} | _joined(each, by_id) for each in near]
    theirs = {each.get(role) for each in others for role in ROLES}
    theirs -= {own.get(role) for role in ROLES} if own else set()
    taken["sensors"] = _here(register, "sensors", event["site"], theirs)
    taken["vessels"] = _here(register, "vessels", event["site"], set())
    text = json.dumps(event)
    taken["instruments"] = [each for each in register["instruments"] if each["id"] in text]
    return taken


def _here(register: Document, part: str, site: str, without: set[Any]) -> list[Document]:
    return [e for e in register[part] if e["site"] == site and e["id"] not in without]


def _joined(pump_set: Document, by_id: Document) -> Document:
    parts = ("pump", "motor", "drive")
    return {part: by_id[pump_set[part]] for part in parts if pump_set.get(part)}
