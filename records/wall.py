"""The second wall: which database role may do what, and sees which rows, table by table.

This is the one declaration. It is built after every migration, and a test holds the database's
catalogue against it. A policy looks at copied columns only and calls one function bare, so that
the planner checks it once per scan.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.utils import CursorWrapper

from records import roles

BY_CONTRACTOR = "contractor_id = app_org()"
BY_CLIENT = "client_id = app_org()"
BY_ORGANIZATION = "organization_id = app_org()"
EVERY_ROW = "true"


@dataclass(frozen=True)
class Guard:
    """What each role may do with a table, and which of its rows it sees.

    A table without policies lies outside the wall: sign-in comes before an organization is known.
    """

    grants: Mapping[str, str]
    policies: Mapping[str, str] = field(default_factory=dict)
    checks: Mapping[str, str] = field(default_factory=dict)
    """Rows that a role may write, where those are fewer than it sees."""


def _shared(office: str, client: str = "SELECT", worker: str = "SELECT") -> Guard:
    """Rows that both parties read: the contractor writes them, and nobody deletes any."""
    return Guard(
        grants={roles.OFFICE: office, roles.CLIENT: client, roles.WORKER: worker},
        policies={
            roles.OFFICE: BY_CONTRACTOR,
            roles.CLIENT: BY_CLIENT,
            roles.WORKER: EVERY_ROW,
        },
    )


def _register(client: str = "SELECT") -> Guard:
    """Rows of the register: the contractor changes them."""
    return _shared("SELECT, INSERT, UPDATE", client)


def _work(office: str) -> Guard:
    """Rows of a contractor's work: the client has no privilege on them at all."""
    return Guard(
        grants={roles.OFFICE: office, roles.WORKER: "SELECT"},
        policies={roles.OFFICE: BY_CONTRACTOR, roles.WORKER: EVERY_ROW},
    )


def _read_by(guard: Guard, column: str) -> Guard:
    """The same, read besides by the contractors that a column of the row lists."""
    also = f"{BY_CONTRACTOR} OR app_org() = ANY ({column})"
    return replace(
        guard,
        policies={**guard.policies, roles.OFFICE: also},
        checks={roles.OFFICE: BY_CONTRACTOR},
    )


# What an event names stays in sight of those who performed it.
_FORMER = "former_contractors"
# The client hands records on to the next contractor.
_HANDED = "handed_to"

_ENTRY = (
    "INSERT (id, contractor_id, client_id, site_id, person_id, person_name, role, token_id,"
    " address, action, kind, subject, name, before, after, reason)"
)

_OWN_OR_PARTNER = (
    "id = app_org() OR id IN (SELECT {theirs}_id FROM records_clientele"
    " WHERE {ours}_id = app_org())"
)

GUARDS: dict[str, Guard] = {
    "records_organization": Guard(
        grants={
            roles.OFFICE: "SELECT, INSERT, UPDATE",
            roles.CLIENT: "SELECT",
            roles.WORKER: "SELECT",
        },
        policies={
            roles.OFFICE: _OWN_OR_PARTNER.format(theirs="client", ours="contractor"),
            roles.CLIENT: _OWN_OR_PARTNER.format(theirs="contractor", ours="client"),
            roles.WORKER: EVERY_ROW,
        },
    ),
    "records_clientele": _shared("SELECT, INSERT, UPDATE (units, paper)"),
    "records_membership": Guard(
        grants={roles.OFFICE: "SELECT, INSERT, UPDATE (role, ended_at)"},
        policies={roles.OFFICE: BY_ORGANIZATION},
    ),
    # Written by who runs the service, looked up at sign-in by `memberships_of`.
    "records_admission": Guard(grants={}),
    "records_token": Guard(
        grants={
            roles.OFFICE: "SELECT, INSERT, UPDATE (revoked_at)",
            roles.CLIENT: "SELECT, INSERT, UPDATE (revoked_at)",
        },
        policies={
            roles.OFFICE: BY_ORGANIZATION,
            roles.CLIENT: f"{BY_ORGANIZATION} AND role = 'client'",
        },
    ),
    # Written once by the device itself; its token says how long it holds. Lists of tokens join it.
    "records_devicekey": Guard(
        grants={roles.OFFICE: "SELECT, INSERT", roles.CLIENT: "SELECT"},
        policies={roles.OFFICE: BY_ORGANIZATION, roles.CLIENT: BY_ORGANIZATION},
    ),
    # Used by `use_enrolment`; a worker drops what has expired, unread.
    "records_enrolment": Guard(
        grants={
            roles.OFFICE: "SELECT, INSERT, DELETE",
            roles.WORKER: "SELECT (id, expires_at), DELETE",
        },
        policies={roles.OFFICE: BY_ORGANIZATION, roles.WORKER: EVERY_ROW},
    ),
    "records_appointment": _register(),
    "records_site": _read_by(_register(), _FORMER),
    # A worker keeps due dates, by what triggers have marked.
    "records_sitesummary": _shared(
        "SELECT, INSERT, UPDATE",
        client="SELECT (site_id, contractor_id, client_id, last_number, last_digest,"
        " last_sealed_at, client_due_dates, due_changes_on, due_edition)",
        worker="SELECT, UPDATE (due_dates, client_due_dates, due_changes_on, due_edition)",
    ),
    "records_duemark": _shared("SELECT", worker="SELECT, DELETE"),
    "records_pump": _register(),
    "records_motor": _register(),
    "records_drive": _register(),
    "records_sensor": _register(),
    "records_vessel": _register(),
    "records_pumpset": _read_by(_register(), _FORMER),
    "records_instrument": _work("SELECT, INSERT, UPDATE"),
    "records_event": _work("SELECT, INSERT, UPDATE"),
    "records_finding": _work("SELECT, INSERT, UPDATE"),
    "records_answer": _work("SELECT, INSERT"),
    "records_signature": _work("SELECT, INSERT, UPDATE (void_since)"),
    "records_attachment": _work("SELECT, INSERT, DELETE"),
    "records_trace": _work("SELECT, INSERT, DELETE"),
    # Under way: nobody's but the office's; a worker drops what has expired, unread.
    "records_upload": Guard(
        grants={
            roles.OFFICE: "SELECT, INSERT, UPDATE (received, parts, changed_at, completed_at),"
            " DELETE",
            roles.WORKER: "SELECT (row, changed_at), DELETE",
        },
        policies={roles.OFFICE: BY_CONTRACTOR, roles.WORKER: EVERY_ROW},
    ),
    "records_uploadpart": Guard(
        grants={roles.OFFICE: "SELECT, INSERT, DELETE"},
        policies={roles.OFFICE: BY_CONTRACTOR},
    ),
    # Spreadsheets on their way: the office's alone. A worker sees what waits for it, and how it
    # fared; what it reads and writes of them, it does in the place of who asked for that.
    "records_import": Guard(
        grants={
            roles.OFFICE: "SELECT, INSERT, UPDATE",
            roles.WORKER: "SELECT (row, id, contractor_id, created_by_id, asked_by_id, state,"
            " attempts, held_since, changed_at),"
            " UPDATE (state, done, attempts, held_since, problem, changed_at), DELETE",
        },
        policies={roles.OFFICE: BY_CONTRACTOR, roles.WORKER: EVERY_ROW},
    ),
    "records_importline": Guard(
        grants={roles.OFFICE: "SELECT, INSERT, DELETE"},
        policies={roles.OFFICE: BY_CONTRACTOR},
    ),
    "records_record": _read_by(_shared("SELECT, INSERT"), _HANDED),
    "records_recorddocument": _read_by(
        _shared(
            "SELECT, INSERT",
            worker="SELECT, UPDATE (sha256, size, crc32, made_at, attempts, last_error)",
        ),
        _HANDED,
    ),
    "records_recordreadings": _read_by(_shared("SELECT, INSERT"), _HANDED),
    "records_recordedvalue": _read_by(_shared("SELECT, INSERT"), _HANDED),
    "records_performedtask": _read_by(_shared("SELECT, INSERT"), _HANDED),
    # Written by a trigger on the register alone.
    "records_piecestanding": _shared("SELECT"),
    "records_intervalsetting": _shared(
        "SELECT, INSERT, UPDATE (ended_at, ended_by_id, ended_by_name)"
    ),
    # Set by offices; a worker counts the periods and asks for the report of each.
    "records_reportschedule": _shared(
        "SELECT, INSERT, UPDATE (ended_at, ended_by_id, ended_by_name)",
        worker="SELECT, UPDATE (next_begins, due_at)",
    ),
    "records_report": _shared(
        "SELECT, INSERT",
        worker="SELECT, INSERT, UPDATE (done, total, worked_at, attempts, last_error, made_at,"
        " summary, pdf_sha256, pdf_size, xlsx_sha256, xlsx_size, json_sha256, json_size)",
    ),
    "records_reportmail": _shared(
        "SELECT, INSERT", worker="SELECT, INSERT, UPDATE (sent_at, attempts, last_error)"
    ),
    # Looked up by `find_calendar`; people see and revoke their own, an office those of its people.
    "records_calendar": Guard(
        grants={
            roles.OFFICE: "SELECT, INSERT, UPDATE (revoked_at)",
            roles.CLIENT: "SELECT, INSERT, UPDATE (revoked_at)",
        },
        policies={
            roles.OFFICE: BY_ORGANIZATION,
            roles.CLIENT: f"{BY_ORGANIZATION} AND role = 'client'",
        },
    ),
    "records_rulesetting": _shared("SELECT, INSERT, UPDATE (ended_at, ended_by_id, ended_by_name)"),
    # Written once; row and time are the database's own. A client's people add what they do with
    # their tokens to their own organization's, and read nothing.
    "records_auditentry": Guard(
        grants={roles.OFFICE: f"SELECT, {_ENTRY}", roles.CLIENT: _ENTRY},
        policies={roles.OFFICE: BY_CONTRACTOR, roles.CLIENT: BY_CONTRACTOR},
    ),
    # Outside the wall: no organization is known yet, or there is nothing to hide.
    "records_signingkey": Guard(
        grants={
            roles.OFFICE: "SELECT",
            roles.CLIENT: "SELECT",
            roles.WORKER: "SELECT",
            roles.LOGIN: "SELECT",
        }
    ),
    # An office sees its own people, those who left as well; `person_of` tells whether an address
    # is anybody's.
    "records_user": Guard(
        grants={
            roles.LOGIN: "SELECT, UPDATE (password, last_login)",
            roles.OFFICE: "SELECT (id, username, full_name, email, is_active, last_login)",
        },
        policies={
            roles.LOGIN: EVERY_ROW,
            roles.OFFICE: "id IN (SELECT user_id FROM records_membership"
            " WHERE organization_id = app_org())",
        },
    ),
    # Sign-in: addresses stand in records_user, these two of the library stay empty.
    "account_emailaddress": Guard(grants={roles.LOGIN: "SELECT"}),
    "account_emailconfirmation": Guard(grants={}),
    "mfa_authenticator": Guard(grants={roles.LOGIN: "SELECT, INSERT, UPDATE, DELETE"}),
    "records_guess": Guard(
        grants={
            roles.LOGIN: "SELECT, INSERT, UPDATE (count, until)",
            roles.WORKER: "SELECT, DELETE",
        }
    ),
    "django_session": Guard(grants={roles.LOGIN: "SELECT, INSERT, UPDATE, DELETE"}),
    "django_migrations": Guard(grants={roles.LOGIN: "SELECT"}),
    "django_content_type": Guard(grants={}),
    "auth_group": Guard(grants={}),
    "auth_group_permissions": Guard(grants={}),
    "auth_permission": Guard(grants={}),
    "records_user_groups": Guard(grants={}),
    "records_user_user_permissions": Guard(grants={}),
}

# Functions that look where the log-in role may not, for exactly one answer each.
FUNCTIONS: dict[str, tuple[str, ...]] = {
    "app_org()": (roles.OFFICE, roles.CLIENT, roles.WORKER),
    "find_token(bytea)": (roles.LOGIN,),
    # Say and do nothing but for who holds the token.
    "use_of_token_is_noted(bytea)": (roles.LOGIN,),
    "note_use_of_token(bytea)": (roles.LOGIN, roles.OFFICE, roles.CLIENT),
    "find_calendar(bytea)": (roles.LOGIN,),
    "memberships_of(uuid)": (roles.LOGIN,),
    # A person is added and invited again without a look at anybody's password.
    "add_person(uuid, text, text, text, text)": (roles.OFFICE,),
    "invite_again(uuid, text)": (roles.OFFICE,),
    "person_of(text)": (roles.OFFICE,),
    "end_sessions_of(uuid)": (roles.OFFICE,),
    # Who has set a second factor up, without a look at it.
    "members_with_second_factor()": (roles.OFFICE,),
    "use_enrolment(bytea)": (roles.LOGIN,),
    # Of one's own organization alone.
    "was_handed_records()": (roles.OFFICE,),
}


_EVERYBODY = ", ".join(("PUBLIC", roles.LOGIN, *roles.ASSUMED))


def policy_name(table: str, role: str) -> str:
    """Name of the one policy that a role has on a table."""
    return f"{table}_for_{role.removeprefix('stationbook_')}"


def build(connection: BaseDatabaseWrapper) -> None:
    """Make the database's grants and policies what this module declares."""
    if "records_event" not in connection.introspection.table_names():
        return  # migrated back to nothing
    with connection.cursor() as cursor:
        for table in GUARDS:
            _build_table(cursor, table, connection.alias)
        with transaction.atomic(using=connection.alias):
            for statement in of_functions():
                cursor.execute(statement)


def _build_table(cursor: CursorWrapper, table: str, using: str) -> None:
    """Taken down and built in one transaction, and only where it is not as it was built.

    A service that runs meanwhile would miss a grant for a moment, and find no row without its
    policy. One table at a time: whoever holds another one's lock waits for this one alone.
    """
    listed = of_table(table, GUARDS[table])
    declared = hashlib.sha256("\n".join(listed).encode()).hexdigest()[:16]
    with transaction.atomic(using=using):
        cursor.execute(_BUILT, [table])
        noted, found = cursor.fetchone() or ("", "")
        if noted == f"wall {declared} {found}":
            return
        for statement in listed:
            cursor.execute(statement)
        cursor.execute(_BUILT, [table])
        _, found = cursor.fetchone() or ("", "")
        cursor.execute(f"COMMENT ON TABLE {table} IS 'wall {declared} {found}'")


# What is noted of a table, and a digest of the grants and policies that it has.
_BUILT = """
SELECT obj_description(oid, 'pg_class'), md5(concat_ws(E'\\n', relrowsecurity, relacl::text,
    (SELECT string_agg(concat_ws(' ', attname, attacl::text), E'\\n' ORDER BY attnum)
       FROM pg_attribute WHERE attrelid = class.oid AND attacl IS NOT NULL),
    (SELECT string_agg(concat_ws(' ', polname, polcmd, polpermissive, polroles::text,
                                 pg_get_expr(polqual, polrelid),
                                 pg_get_expr(polwithcheck, polrelid)), E'\\n' ORDER BY polname)
       FROM pg_policy WHERE polrelid = class.oid)))
FROM pg_class AS class WHERE oid = %s::regclass
"""


def of_functions() -> list[str]:
    """Who may call what, as SQL that is safe to run again."""
    listed = [f"GRANT USAGE ON SCHEMA public TO {', '.join((roles.LOGIN, *roles.ASSUMED))}"]
    for function, allowed in FUNCTIONS.items():
        listed.append(f"REVOKE ALL ON FUNCTION {function} FROM {_EVERYBODY}")
        listed.append(f"GRANT EXECUTE ON FUNCTION {function} TO {', '.join(allowed)}")
    return listed


def of_table(table: str, guard: Guard) -> list[str]:
    """A table's part of the wall, as SQL that is safe to run again."""
    listed = []
    if guard.policies:
        # First, since it locks the table: autovacuum, holding one, waits for grants to be decided.
        listed.append(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
    listed.append(f"REVOKE ALL ON {table} FROM {_EVERYBODY}")
    listed += [f"GRANT {what} ON {table} TO {role}" for role, what in guard.grants.items()]
    for role in (roles.LOGIN, *roles.ASSUMED):
        name = policy_name(table, role)
        listed.append(f"DROP POLICY IF EXISTS {name} ON {table}")
        if role in guard.policies:
            rows = guard.policies[role]
            own = guard.checks.get(role, rows)
            listed.append(
                f"CREATE POLICY {name} ON {table} TO {role} USING ({rows}) WITH CHECK ({own})"
            )
    return listed
