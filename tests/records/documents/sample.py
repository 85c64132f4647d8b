"""Records to print: a complete one from the ordinary station, and bent ones made of it."""

import hashlib
import json
from copy import deepcopy
from functools import cache
from typing import Any

import rfc8785

from calculations.catalogue import RULES
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import (
    derived_document,
    finding_document,
    judge,
    not_evaluated_document,
)
from records.documents.record_pdf import AS_ENTERED, Style, render
from tests.calculations import building
from tests.calculations.building_plates import q

Document = dict[str, Any]

EVENT_ID = "0195a1b2-0000-7000-8000-000000000001"
ALGORITHMS = {"canonical_text": "RFC 8785", "digest": "SHA-256", "signature": "Ed25519"}


def record(document: Document | None = None) -> Document:
    """A sealed start-up of the ordinary station, every finding answered."""
    if document is None:
        return deepcopy(_ordinary())
    subject = deepcopy(document)
    judgement = judged(subject)
    event = {"id": EVENT_ID, **subject.pop("event")}
    return {
        "format": 1,
        "record_id": "0195a1b2-0000-7000-8000-000000000002",
        "number": 7,
        "previous": hashlib.sha256(b"record 6").hexdigest(),
        "sealed_at": "2026-03-16T15:04:05Z",
        "algorithms": ALGORITHMS,
        "contractor": party(3, "Northbank Pump Services"),
        "client": party(4, "Lower Valley Water District"),
        "corrects": None,
        "event": event,
        "snapshot": subject,
        "judgement": judgement,
        "answers": [answer(i, f) for i, f in enumerate(judgement["findings"])],
        "signatures": signatures(),
    }


@cache
def _ordinary() -> Document:
    return record(adjusted())


def party(number: int, name: str) -> Document:
    """An organization."""
    return {"id": f"0195a1b2-0000-7000-8000-00000000000{number}", "name": name}


def adjusted() -> Document:
    """The station's start-up with settings as found that were changed, and remarks."""
    subject = building.booster()
    found = deepcopy(subject["event"]["settings"]["as_left"])
    found |= {
        "motor_current": q("137", "A"),
        "overload_current": q("137", "A"),
        "feedback_at_upper_signal": q("150", "psi"),
        "minimum_frequency": q("20.5", "Hz"),
        "input_selector": "voltage",
        "skip_bands": [{"centre": q("41", "Hz"), "width": q("2.5", "Hz")}],
    }
    subject["event"]["settings"]["as_found"] = found
    subject["event"]["remarks"] = (
        "The plate of the motor was painted over and had to be cleaned to be read.\n"
        "The check valve closes with a soft knock when the pump stops from full speed."
    )
    subject["event"]["not_possible"] = [
        {"task": "relief valve", "reason": "isolating valve seized; the client will replace it"}
    ]
    return subject


def judged(subject: Document) -> Document:
    """What the catalogue says of a subject, as a record holds it, with two more findings."""
    said = judge(read(Subject, subject))
    findings = [
        finding_document(finding, f"0195a1b2-0000-7000-8000-0000000001{index:02d}")
        for index, finding in enumerate(said.findings)
    ]
    return {
        "catalogue": said.catalogue,
        "derived": [derived_document(value) for value in said.derived],
        "findings": findings + [finding(90 + i, each) for i, each in enumerate(WRITTEN)],
        "not_evaluated": [not_evaluated_document(each) for each in said.not_evaluated],
        "limits_changed": [
            {"rule": "supply.unbalance", "limit": "review", "value": "0.8", "unit": "%",
             "catalogue": {"value": "3", "unit": "%"}, "looser": False,
             "reason": "the client asks for it at all of its stations",
             "set_by": "Office engineer", "set_at": "2026-02-02T15:00:00Z"},
        ],
        "limits": limits() | {"supply.unbalance.review": {"value": "0.8", "unit": "%"}},
        "earlier_record": {"record_id": "0195a1b2-0000-7000-8000-000000000777", "number": 3,
                           "performed_at": "2025-04-01T14:00:00Z"},
    }  # fmt: skip


def limits() -> Document:
    """The catalogue's own limits, as a record holds them."""
    return {
        f"{rule.id}.{name}": {"value": f"{limit.value:g}", "unit": limit.unit}
        for rule in RULES
        for name, limit in rule.limits.items()
    }


# Written by hand, so that a page has every severity whatever the catalogue finds.
WRITTEN: tuple[Document, ...] = (
    {
        "rule": "speed.dead-head",
        "severity": "review",
        "subject": "/event/settings/as_left/minimum_frequency",
        "sentence": "At 36 Hz the pump reaches 62.3 psi at no flow, less than the set point of "
        "85 psi: below 41.9 Hz nothing flows, and only the sleep function protects it.",
        "compared": [
            {"name": "minimum_frequency", "value": "36", "unit": "Hz"},
            {"name": "zero_flow_frequency", "value": "41.93", "unit": "Hz"},
            {"name": "sleep_frequency", "value": "42.8", "unit": "Hz"},
            {"name": "set_point", "value": "85", "unit": "psi"},
        ],
        "limit": "41.9 Hz, or a sleep that can be reached",
        "source": "affinity laws; common practice, no source",
        "remedy": "Set the minimum frequency to 43 Hz, or prove the sleep function on site.",
        "correct_only": False,
    },
    {
        "rule": "protection.failed",
        "severity": "stop",
        "subject": "/event/protection_tests/1",
        "sentence": "The high-pressure protection stopped the pump only after 9.2 s; 2 s were set.",
        "compared": [
            {"name": "delay_measured", "value": "9.2", "unit": "s"},
            {"name": "high_discharge_limit_delay", "value": "2", "unit": "s"},
        ],
        "limit": "2 s",
        "source": "common practice, no source",
        "remedy": None,
        "correct_only": False,
    },
    {
        "rule": "sensor.reference-ratio",
        "severity": "note",
        "subject": "/event/sensor_verifications/1",
        "sentence": "The reference is 2.4 times finer than the transmitter; 4 times is usual.",
        "compared": [{"name": "ratio", "value": "2.4", "unit": "1"}],
        "limit": "4",
        "source": "Z540.3-2006, 5.3 b)",
        "remedy": None,
        "correct_only": False,
    },
)


def finding(number: int, written: Document) -> Document:
    """A finding with an id."""
    return {"id": f"0195a1b2-0000-7000-8000-0000000001{number:02d}", **deepcopy(written)}


def answer(number: int, of: Document) -> Document:
    """An accepted answer to a finding."""
    return {
        "id": f"0195a1b2-0000-7000-8000-0000000002{number:02d}",
        "finding": of["id"],
        "text": "Seen on site and agreed with the operator: sleep was proved three times at night "
        "flow, and the pump stopped after 30 s each time.",
        "accepted": True,
        "by": "Office engineer",
        "role": "office",
        "at": "2026-03-16T14:50:00Z",
    }


def signatures() -> list[Document]:
    """The technician's and the office's."""
    return [
        signature(1, "performed", "First technician", "technician", "2026-03-14T20:20:00Z"),
        signature(2, "reviewed", "Office engineer", "office", "2026-03-16T15:01:00Z"),
    ]


def signature(number: int, meaning: str, name: str, role: str, at: str) -> Document:
    """One signature."""
    return {
        "id": f"0195a1b2-0000-7000-8000-00000000030{number}",
        "meaning": meaning,
        "digest": hashlib.sha256(meaning.encode()).hexdigest(),
        "by": {"id": f"0195a1b2-0000-7000-8000-00000000040{number}", "name": name},
        "role": role,
        "organization": "Northbank Pump Services",
        "at": at,
    }


def printed(content: Document, style: Style = AS_ENTERED) -> bytes:
    """The PDF of a record, with its seal and data."""
    seal, data = sealed(content)
    return render(content, seal, data, style)


def sealed(content: Document) -> tuple[Document, bytes]:
    """A seal as it stands beside a record, and the bytes of data.json."""
    text = rfc8785.dumps(content)
    seal = {
        "digest": hashlib.sha256(text).hexdigest(),
        "signature": "eyJhbGciOiJFZDI1NTE5IiwiYjY0IjpmYWxzZSwiY3JpdCI6WyJiNjQiXX0.." + "Zk9x" * 21,
        "key": "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k",
        "public_key": {
            "kty": "OKP",
            "crv": "Ed25519",
            "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo",
        },
    }
    beside = json.dumps(seal, separators=(",", ":")).encode()
    return seal, b'{"record":' + text + b',"seal":' + beside + b"}"
