"""The least that a post can take: reading, judging and writing the same rows, and nothing else.

No web server, no framework around it, no token, no register looked up, no count of what is open:
one process that reads, judges, and writes by the one statement of the service. No way of serving
the same is faster; what stands between the two is what may still be taken out.
"""

import json
import uuid
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg

from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import read
from calculations.statements import kept
from deploy import garbage
from records import roles
from records.api import json_bodies
from records.models import Event
from records.permissions import Actor
from records.selectors.bases import Basis
from records.selectors.subjects import Edition
from records.services import event_rows, judging
from records.services.content import quick_digest
from tests.benchmarks.clients import Post
from tests.benchmarks.documents import Document, slipped
from tests.benchmarks.servers import Book, RemoteApi

PLACES = ("contractor_id", "client_id", "site_id", "pump_set_id", "created_by_id")
_ONCE = "SELECT set_config('role', %s, false), set_config('app.org', %s, false)"
_SITE = (
    "SELECT register_revision, last_number"
    " FROM records_site JOIN records_sitesummary ON site_id = row WHERE row = %s"
)
_INSTRUMENTS = "SELECT row, revision FROM records_instrument WHERE id = ANY(%s)"
_POSTED = f"SELECT {', '.join(PLACES)} FROM records_event WHERE id = %s"


@contextmanager
def posting(book: Book, number: int) -> Iterator[Post]:
    """Post to the first station of that client, beside the service."""
    given = slipped(book.stations[number][0].event(id=str(uuid.uuid4())))
    teo = book.cast.teo
    before, after = json.dumps(given).encode().split(given["id"].encode())
    snapshot = RemoteApi(book.address, teo).post("/events", given).json["snapshot"]
    actor = Actor(teo.id, "Teo", teo.organization, "", teo.role, frozenset())
    with psycopg.connect(book.dsn, autocommit=True) as connection:
        connection.execute(_ONCE, [roles.OFFICE, str(teo.organization)])
        found = connection.execute(_POSTED, [given["id"]]).fetchone()
        places = dict(zip(PLACES, found or (), strict=True))
        [state] = connection.execute(_SITE, [places["site_id"]])
        named = [uuid.UUID(each["id"]) for each in snapshot["instruments"]]
        edition = Edition(*state, dict(connection.execute(_INSTRUMENTS, [named]).fetchall()))
        garbage.look_seldom()  # with as little collecting of garbage as the service

        def post() -> None:
            body = before + str(uuid.uuid4()).encode() + after
            given = json_bodies.parse(body)
            statement, values = addition(actor, given, snapshot, places, edition)
            written = connection.execute(statement, values, prepare=True).fetchone()
            if written is None or written[0] is None:
                raise RuntimeError("nothing was written")

        yield post


def addition(
    actor: Actor, given: Document, snapshot: Document, places: Document, edition: Edition
) -> tuple[str, list[object]]:
    """The statement that writes an event as the service would, and its values."""
    parsed = read(EventInput, given)
    document = kept(parsed)
    event = Event(id=uuid.UUID(document["id"]), kind=document["kind"], **places)
    judged = judging.judge(event.id, snapshot, parsed, Basis())
    event.document, event.snapshot, event.catalogue = document, snapshot, judged.catalogue
    event.judgement, event.created_digest = judged.without_findings(), quick_digest(document)
    if parsed.performed_at is not None:
        event.performed_at = parsed.performed_at.at
    noted = event_rows.entry(actor, event)
    return event_rows.addition(event, judging.rows(event, judged), noted, edition)
