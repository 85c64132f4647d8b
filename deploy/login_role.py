"""What web and worker log in as, and to: a role that row-level security binds, a whole book."""

from typing import Any, cast

from django.core.exceptions import ImproperlyConfigured
from django.db import OperationalError, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.postgresql.base import DatabaseWrapper

# Each names a power with which the log-in role would walk past the policies or change them.
POWERS = """
SELECT power FROM pg_roles role, LATERAL (VALUES
    ('is a superuser', rolsuper),
    ('has BYPASSRLS', rolbypassrls),
    ('may become a superuser or a role with BYPASSRLS', NOT rolsuper AND EXISTS (
        SELECT FROM pg_roles other
        WHERE (other.rolsuper OR other.rolbypassrls) AND other.oid <> role.oid
        AND pg_has_role(role.oid, other.oid, 'MEMBER'))),
    ('may create roles', rolcreaterole),
    ('owns the database, or is a member of the role that does', EXISTS (
        SELECT FROM pg_database
        WHERE datname = current_database() AND pg_has_role(role.oid, datdba, 'MEMBER'))),
    ('owns a table, or is a member of the role that does', EXISTS (
        SELECT FROM pg_class
        WHERE relnamespace = to_regnamespace('public')
        AND relkind IN ('r', 'p') AND pg_has_role(role.oid, relowner, 'MEMBER')))
) AS powers (power, held)
WHERE rolname = session_user AND held
"""

RESTORED_IN_PART = """
SELECT 1 FROM pg_database WHERE datname = current_database()
AND starts_with(shobj_description(oid, 'pg_database'), %s)
"""
RESTORING = "stationbook: restoring"


class RestoringError(OperationalError):
    """The database bears the mark of a restore: for whoever asks it is not there yet."""

    def __init__(self) -> None:
        super().__init__("A restore has not finished: run python -m deploy.restore again.")


def refuse_half_a_book(connection: BaseDatabaseWrapper) -> None:
    """Raise while the database bears the mark of a restore."""
    with connection.cursor() as cursor:
        cursor.execute(RESTORED_IN_PART, [RESTORING])
        restoring = cursor.fetchone()
    if restoring:
        connection.close()  # it is open by now, and would be taken for a good one
        raise RestoringError()


_found_harmless: set[tuple[str, str]] = set()


def refuse_powerful_login(connection: BaseDatabaseWrapper, **_: Any) -> None:
    """Raise when the default connection's role has such a power; asked until it has none.

    Nor is anything served of a book that is not whole yet.
    """
    role = (str(connection.settings_dict["USER"]), str(connection.settings_dict["HOST"]))
    if connection.alias != "default" or role in _found_harmless:
        return
    refuse_half_a_book(connection)
    if held := powers(connection):
        raise ImproperlyConfigured(
            f"Not started: the database role {role[0]!r} {' and '.join(held)}. "
            "DATABASE_URL needs the log-in role, which owns nothing (see deploy/roles.py)."
        )
    _found_harmless.add(role)


def powers(connection: BaseDatabaseWrapper) -> list[str]:
    """What the connected role could walk past the policies with, in words."""
    with connection.cursor() as cursor:
        cursor.execute(POWERS)
        return [power for (power,) in cursor.fetchall()]


def check_at_start() -> None:
    """Connect once, so that a powerful role is refused before the first request.

    A database that is not there yet is no reason to stay away: requests say so until it is.
    """
    connection = cast(DatabaseWrapper, connections["default"])
    try:
        connection.ensure_connection()
    except OperationalError:
        return
    finally:
        connection.close()
        connection.close_pool()  # its threads would not survive a fork
