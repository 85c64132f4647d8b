"""Sealed records as they are told and handed over."""

import json
from typing import Any
from uuid import UUID

from django.db import connection

from records import permissions
from records.errors import NotFound
from records.models import Record
from records.permissions import Actor
from records.services.times import instant


def get(actor: Actor, identity: UUID) -> Record:
    """The record of this id, if the actor's organization is a party to it."""
    permissions.require(actor, "records.read")
    record: Record | None = rows(actor).filter(id=identity).first()
    if record is None:
        raise NotFound()
    return record


def rows(actor: Actor) -> Any:
    """Every record that the actor may see."""
    related = ("site", "pump_set", "key", "corrects")
    return (
        permissions.visible(Record.objects.all(), actor, handed=was_handed_any(actor))
        .select_related(*related)
        .prefetch_related("documents", "corrections")
    )


def was_handed_any(actor: Actor) -> bool:
    """Whether others' records were handed on to the actor's organization.

    Asked first: a list of one's own records has an index in its order, one of both has none.
    """
    if actor.role == permissions.CLIENT:
        return False
    with connection.cursor() as cursor:
        cursor.execute("SELECT was_handed_records()")
        [found] = cursor.fetchone()
    return bool(found)


def record_document(record: Record) -> dict[str, Any]:
    """A record with its seal, and where its forms are."""
    return {
        "id": str(record.id),
        "number": record.number,
        "site": str(record.site.id),
        "pump_set": str(record.pump_set.id) if record.pump_set else None,
        "event": json.loads(bytes(record.canonical))["event"]["id"],
        "kind": record.kind,
        "performed_at": instant(record.performed_at),
        "sealed_at": instant(record.sealed_at),
        "format": record.format,
        "seal": seal(record),
        "previous_digest": bytes(record.previous_digest).hex() if record.previous_digest else None,
        "corrects": str(record.corrects.id) if record.corrects else None,
        "corrected_by": [str(later.id) for later in record.corrections.all()],
        "documents": {
            document.kind: "made" if document.sha256 else "in preparation"
            for document in record.documents.all()
        },
        "links": {
            "data.json": f"/api/v1/records/{record.id}/data.json",
            "document.pdf": f"/api/v1/records/{record.id}/document.pdf",
            "workbook.xlsx": f"/api/v1/records/{record.id}/workbook.xlsx",
            "readings.csv": f"/api/v1/records/{record.id}/readings.csv",
        },
    }


def seal(record: Record) -> dict[str, Any]:
    """What makes a change of the record detectable."""
    return {
        "digest": bytes(record.digest).hex(),
        "signature": record.signature,
        "key": record.key.kid,
        "public_key": record.key.public_jwk,
    }


def data(record: Record) -> bytes:
    """The record for programs: its canonical text as it stands, and the seal beside it."""
    return written(bytes(record.canonical), seal(record))


def written(canonical: bytes, seal: dict[str, Any]) -> bytes:
    """The same of a text and its seal."""
    beside = json.dumps(seal, sort_keys=True, separators=(",", ":")).encode()
    return b'{"record":' + canonical + b',"seal":' + beside + b"}"
