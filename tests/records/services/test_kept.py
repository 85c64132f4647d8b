"""What is sealed stays: the database refuses every change, whoever asks, its owner included."""

import psycopg
import pytest
from psycopg import errors

from records import roles
from tests import database
from tests.records import world

REFUSED = (
    errors.InsufficientPrivilege,
    errors.IntegrityConstraintViolation,
    errors.CheckViolation,
)
PARTS = ("records_finding", "records_answer", "records_signature")
SEALED = "(SELECT row FROM records_event WHERE state = 'sealed' LIMIT 1)"
DRAFT = "(SELECT row FROM records_event WHERE state = 'draft' LIMIT 1)"
OF_SEALED = "event_id IN (SELECT row FROM records_event WHERE state = 'sealed')"


def _copy(table: str, **changed: str) -> str:
    """Insert a copy of a row of a sealed event, with other values."""
    columns = {name: name for name in COLUMNS[table]} | changed
    return (
        f"INSERT INTO {table} ({', '.join(columns)})"
        f" SELECT {', '.join(columns.values())} FROM {table} LIMIT 1"
    )


COLUMNS = {
    "records_finding": (
        "contractor_id", "client_id", "rule", "subject", "severity", "document",
        "compared_digest", "present",
    ),
    "records_answer": (
        "contractor_id", "client_id", "finding_id", "text", "accepted", "compared_digest",
        "by_id", "by_name", "by_role", "at",
    ),
    "records_signature": (
        "contractor_id", "client_id", "meaning", "digest", "by_id", "by_name", "by_role",
        "by_organization", "at",
    ),
    "records_record": (
        "contractor_id", "client_id", "site_id", "event_id", "pump_set_id", "number", "kind",
        "performed_at", "sealed_at", "format", "canonical", "digest", "previous_digest",
        "signature", "key_id",
    ),
}  # fmt: skip

STATEMENTS = [
    "UPDATE records_record SET sealed_at = now()",
    "UPDATE records_record SET canonical = canonical",
    "UPDATE records_record SET corrects_id = row",
    "UPDATE records_record SET handed_to = handed_to",
    "UPDATE records_record SET handed_to = array_append(handed_to, id), kind = 'investigation'",
    "UPDATE records_record SET handed_to = array_append(handed_to, id), sealed_at = now()",
    "DELETE FROM records_record",
    "TRUNCATE records_record CASCADE",
    f"UPDATE records_event SET document = document WHERE row = {SEALED}",
    f"UPDATE records_event SET state = 'draft' WHERE row = {SEALED}",
    f"DELETE FROM records_event WHERE row = {SEALED}",
    f"DELETE FROM records_event WHERE row = {DRAFT}",
    f"UPDATE records_event SET id = gen_random_uuid() WHERE row = {DRAFT}",
    "UPDATE records_answer SET text = 'Looked at by somebody else.'",
    f"UPDATE records_answer SET event_id = {DRAFT}",
    f"UPDATE records_finding SET severity = 'note' WHERE {OF_SEALED}",
    f"UPDATE records_finding SET present = false WHERE {OF_SEALED}",
    f"UPDATE records_finding SET event_id = {DRAFT} WHERE {OF_SEALED}",
    f"UPDATE records_signature SET void_since = now() WHERE {OF_SEALED}",
    f"UPDATE records_signature SET by_name = 'Somebody' WHERE {OF_SEALED}",
    f"UPDATE records_signature SET event_id = {DRAFT} WHERE {OF_SEALED}",
    "UPDATE records_attachment SET name = 'another.txt'",
    "UPDATE records_trace SET rows = rows",
    f"DELETE FROM records_attachment WHERE {OF_SEALED}",
    f"DELETE FROM records_trace WHERE {OF_SEALED}",
    "UPDATE records_signingkey SET valid_until = now()",
    "DELETE FROM records_signingkey",
    "UPDATE records_recorddocument SET sha256 = 'made'; UPDATE records_recorddocument SET size = 1",
    "DELETE FROM records_recorddocument",
    "DELETE FROM records_site",
    "DELETE FROM records_pump",
    "DELETE FROM records_instrument",
    *(f"DELETE FROM {table}" for table in PARTS),
    *(f"TRUNCATE {table} CASCADE" for table in (*PARTS, "records_event", "records_organization")),
    *(
        _copy(table, id="gen_random_uuid()", event_id=SEALED)
        for table in ("records_finding", "records_signature", "records_answer")
    ),
    f"INSERT INTO records_attachment (id, contractor_id, client_id, event_id, purpose, name,"
    f" content_type, size, sha256, created_at) SELECT gen_random_uuid(), contractor_id,"
    f" client_id, row, 'gauge', 'a', 'b', 1, '', now() FROM records_event WHERE row = {SEALED}",
    f"INSERT INTO records_trace (id, contractor_id, client_id, event_id, name, columns, rows,"
    f" size, sha256, created_at) SELECT gen_random_uuid(), contractor_id, client_id, row, 'a',"
    f" '[]', 1, 1, '', now() FROM records_event WHERE row = {SEALED}",
]


@pytest.fixture
def side(cast, stage, cleared_afterwards):
    """Orla's sealed event and draft, committed."""
    return world.of(stage).own


def connected(stage, role: str, organization: str) -> psycopg.Connection:
    """A connection of the owner, or of the log-in role in another's place."""
    user = roles.OWNER if role == roles.OWNER else roles.LOGIN
    connection = psycopg.connect(database.dsn(user, stage.database))
    if role != user:
        connection.execute("SELECT set_config('role', %s, false)", [role])
        connection.execute("SELECT set_config('app.org', %s, false)", [organization])
        connection.commit()
    return connection


@pytest.mark.parametrize("role", [roles.OWNER, roles.LOGIN, *roles.ASSUMED])
def test_what_is_sealed_is_changed_by_nobody(side, stage, role):
    organization = side.client if role == roles.CLIENT else side.contractor
    with connected(stage, role, organization) as connection:
        for statement in STATEMENTS:
            assert is_refused(connection, statement), statement


def is_refused(connection: psycopg.Connection, statement: str) -> bool:
    try:
        connection.execute(statement)
    except REFUSED:
        return True
    finally:
        connection.rollback()
    return False


def test_a_draft_can_still_be_worked_on(side, stage):
    with connected(stage, roles.OFFICE, side.contractor) as connection:
        for statement in (
            f"UPDATE records_event SET revision = revision + 1 WHERE row = {DRAFT}",
            f"UPDATE records_finding SET present = false WHERE event_id = {DRAFT}",
            f"DELETE FROM records_attachment WHERE event_id = {DRAFT}",
            f"DELETE FROM records_trace WHERE event_id = {DRAFT}",
            _copy("records_finding", id="gen_random_uuid()", event_id=DRAFT),
            _copy("records_signature", id="gen_random_uuid()", event_id=DRAFT),
            f"UPDATE records_signature SET void_since = now() WHERE event_id = {DRAFT}",
        ):
            assert connection.execute(statement).rowcount > 0, statement
        with pytest.raises(REFUSED, match="only become void"):
            connection.execute(
                f"UPDATE records_signature SET void_since = NULL WHERE event_id = {DRAFT}"
            )
        connection.rollback()


@pytest.mark.parametrize("table", ["records_attachment", "records_trace"])
def test_a_file_of_a_signed_draft_is_not_removed(side, stage, table):
    with connected(stage, roles.OFFICE, side.contractor) as connection:
        connection.execute(_copy("records_signature", id="gen_random_uuid()", event_id=DRAFT))
        with pytest.raises(errors.IntegrityConstraintViolation, match="signed"):
            connection.execute(f"DELETE FROM {table} WHERE event_id = {DRAFT}")
        connection.rollback()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"number": "number + 2"}, "does not follow"),
        ({"number": "number"}, "does not follow"),
        ({"number": "1", "previous_digest": "NULL"}, "does not follow"),
        ({"previous_digest": "NULL"}, "does not link"),
        ({"previous_digest": "sha256('another')"}, "does not link"),
        ({"digest": "sha256('another')"}, "not that of the canonical text"),
        ({"canonical": "canonical || ' '::bytea"}, "not that of the canonical text"),
    ],
    ids=str,
)
@pytest.mark.parametrize("role", [roles.OWNER, roles.OFFICE])
def test_a_record_that_does_not_fit_its_chain_is_refused(side, stage, role, changed, words):
    fits = {"id": "gen_random_uuid()", "number": "number + 1", "previous_digest": "digest"}
    with connected(stage, role, side.contractor) as connection:
        with pytest.raises(errors.CheckViolation, match=words):
            connection.execute(_of_one_site(_copy("records_record", **fits | changed)))
        connection.rollback()
        with pytest.raises(errors.UniqueViolation):  # fits the chain; but the event has one
            connection.execute(_of_one_site(_copy("records_record", **fits)))
        connection.rollback()


def _of_one_site(statement: str) -> str:
    return statement.replace("LIMIT 1", "ORDER BY row LIMIT 1")


def test_a_record_belongs_to_its_events_parties(side, stage):
    fits = {"id": "gen_random_uuid()", "number": "number + 1", "previous_digest": "digest",
            "event_id": DRAFT}  # fmt: skip
    strangers = "(SELECT id FROM records_organization WHERE name = 'Lumen Vale Utility')"
    with connected(stage, roles.OWNER, "") as connection:
        with pytest.raises(errors.ForeignKeyViolation, match="record_same_parties"):
            connection.execute(
                _of_one_site(_copy("records_record", **fits | {"client_id": strangers}))
            )
        connection.rollback()


@pytest.mark.parametrize("made", ["recorddocument", "recordreadings", "recordedvalue"])
def test_what_is_made_of_a_record_belongs_to_its_parties(side, stage, made):
    """Else another client would read it."""
    strangers = "(SELECT id FROM records_organization WHERE name = 'Lumen Vale Utility')"
    ours = f"contractor_id = '{side.contractor}'"
    with (
        connected(stage, roles.OWNER, "") as connection,
        pytest.raises(errors.ForeignKeyViolation, match=f"{made}_same_parties"),
    ):
        connection.execute(f"UPDATE records_{made} SET client_id = {strangers} WHERE {ours}")
