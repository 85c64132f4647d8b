"""Sending files in parts, as a person's device does over the API."""

import hashlib

from django.db import connection

from tests.records.world import PARTIAL, ROWS

BACKUP = bytes(range(256)) * 40  # of a drive: any bytes
TRACE = ROWS + b"".join(b"%d,%d\n" % (second, 60 + second % 3) for second in range(2, 400))


def announced(content: bytes, kind="attachment", **changes):
    given = {"kind": kind, "size": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    if kind == "attachment":
        given |= {"purpose": "settings_file", "name": "drive.bin"}
    return given | changes


def begin(person, event, content: bytes, *kind: str, **changes) -> str:
    """The address of an upload that was begun."""
    begun = person.post(f"/events/{event['id']}/uploads", announced(content, *kind, **changes))
    assert begun.status == 201, begun.json
    return str(begun.headers["Location"])


def append(person, path: str, content: bytes, offset: int, complete: str | None = None):
    headers = {"Upload_Offset": str(offset)} | ({"Upload_Complete": complete} if complete else {})
    return person.call("PATCH", path, content, media=PARTIAL, **headers)


def state(person, path: str) -> tuple[int, str]:
    """Offset and completeness, as HEAD tells them."""
    asked = person.call("HEAD", path)
    assert (asked.status, asked.content) == (204, b"")
    assert asked.headers["Cache-Control"] == "no-store"
    return int(asked.headers["Upload-Offset"]), asked.headers["Upload-Complete"]


def files_of(person, event, kind="attachments") -> list:
    return person.get(f"/events/{event['id']}/{kind}").json["items"]


def parts_kept() -> int:
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM records_uploadpart")
        return cursor.fetchone()[0]
