"""What a technician signs on a device without signal: what it shows, as one canonical text.

The device runs this very module, so that its text (RFC 8785) is the service's byte by byte.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any

import rfc8785

from calculations.inputs.entered import NumberText
from calculations.inputs.event import Event
from calculations.inputs.reading import read
from calculations.offline import subject_document

Document = dict[str, Any]

FORM = 1
SHOWN = ("rule", "severity", "subject", "sentence")
"""Of a finding what stands on the screen."""
_LEFT = ("settings", "duty_points")


def kept(event: Event) -> Document:
    """An event's document as the service keeps it."""
    return event.model_dump(mode="json", exclude_unset=True, by_alias=True)


def digest(document: Any) -> str:
    """Hex SHA-256 of the canonical text."""
    return hashlib.sha256(rfc8785.dumps(document)).hexdigest()


def nameplates(snapshot: Mapping[str, Any]) -> Document:
    """A snapshot without what its neighbours were left with: that changes from visit to visit."""
    plates = dict(snapshot)
    if "neighbours" in plates:
        plates["neighbours"] = [
            {name: value for name, value in each.items() if name not in _LEFT}
            for each in plates["neighbours"]
        ]
    return plates


def statement(
    pack: Mapping[str, Any], pump_set: str, event: Event, beside: Mapping[str, Any]
) -> Document:
    """What is signed of a visit as it was entered, with the station as it was taken along.

    `beside` has what the device adds: `event` (its id), `by`, `key`, `signed_at`, the `findings`
    as they are shown, `attachments` (id and SHA-256 of each as it is sent) and `traces` (ids).
    """
    document = kept(event)
    snapshot = subject_document(pack, pump_set, document)
    del snapshot["event"]
    return {
        **beside,
        "form": FORM,
        "meaning": "performed",
        "catalogue": pack["catalogue"],
        "document": digest(document),
        "nameplates": digest(nameplates(snapshot)),
        "limits_changed": digest(pack["limits_changed"]),
        "findings": shown(beside["findings"]),
    }


def shown(findings: Iterable[Mapping[str, Any]]) -> list[Document]:
    """Findings as they are signed."""
    return [{name: each[name] for name in SHOWN} for each in findings]


def statement_text(pack: str, pump_set: str, event: str, beside: str) -> str:
    """`statement` from JSON texts to its canonical text."""
    entered = read(Event, json.loads(event, parse_float=NumberText))
    made = statement(json.loads(pack), pump_set, entered, json.loads(beside))
    return rfc8785.dumps(made).decode()
