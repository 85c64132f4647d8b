"""The queue's tables and functions inside PostgreSQL, for a server without the extension."""

from pgmq.install import get_embedded_install_sql, get_embedded_sql_version
from psycopg import Connection
from psycopg.sql import SQL, Identifier, Literal

from records import roles

SCHEMA = Identifier("pgmq")  # the client library knows it by this name only

# The library asks for a queue's NOTIFY with each connection, and the package then drops its trigger
# and makes it anew: of a worker and a relay that start together one died of a deadlock. What the
# package remembers of it is lost in a crash, and then it is made anew indeed.
ANNOUNCED_ONCE = """
ALTER FUNCTION pgmq.enable_notify_insert(text, integer) RENAME TO make_notify_insert;
CREATE FUNCTION pgmq.enable_notify_insert(
  queue_name text, throttle_interval_ms integer DEFAULT 250
) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
  PERFORM pgmq.acquire_queue_lock($1);
  IF NOT EXISTS (SELECT FROM pgmq.notify_insert_throttle t
                  WHERE t.queue_name = $1 AND t.throttle_interval_ms = $2) THEN
    PERFORM pgmq.make_notify_insert($1, $2);
  END IF;
END $$;
"""


def install_queue(admin: Connection, database: str) -> None:
    """Make the queue's schema in the connected database, owned by the queue's role.

    Done again it changes nothing; of another version the schema is made anew. Nothing is lost with
    the old one: messages only name work that the book's own state still lacks, and the relay
    queues that again.
    """
    wanted = f"queue {get_embedded_sql_version()}, installed from SQL, announced once"
    if _installed(admin) == wanted:
        return
    names = {"database": Identifier(database), "queue": Identifier(roles.QUEUE), "schema": SCHEMA}
    with admin.transaction():
        _become(admin, roles.OWNER)
        admin.execute(SQL("GRANT CREATE ON DATABASE {database} TO {queue}").format(**names))
        _become(admin, roles.QUEUE)
        admin.execute(SQL("DROP SCHEMA IF EXISTS {schema} CASCADE").format(**names))
        admin.execute(get_embedded_install_sql().encode())
        admin.execute(ANNOUNCED_ONCE)
        admin.execute(SQL("COMMENT ON SCHEMA {} IS {}").format(SCHEMA, Literal(wanted)))
        _become(admin, roles.OWNER)
        admin.execute(SQL("REVOKE CREATE ON DATABASE {database} FROM {queue}").format(**names))


def _installed(admin: Connection) -> str | None:
    row = admin.execute(
        "SELECT obj_description(oid, 'pg_namespace') FROM pg_namespace WHERE nspname = 'pgmq'"
    ).fetchone()
    return row[0] if row else None


def _become(admin: Connection, role: str) -> None:
    """Act as a role until the transaction ends."""
    admin.execute(SQL("SET LOCAL ROLE {}").format(Identifier(role)))
