"""The database's own say in a rule's limits: a reason, one in force, ended and never rewritten."""

import psycopg
import pytest
from psycopg import errors

from records import roles
from tests import database
from tests.records.cast import Cast

INSERT = """
INSERT INTO records_rulesetting (id, contractor_id, client_id, rule, "limit", value, unit, si,
  tighter, catalogue_si, reason, created_digest, set_by_id, set_by_name, set_at, ended_by_name)
VALUES (gen_random_uuid(), %(contractor)s, %(client)s, 'motor.slip', %(limit)s, '1', '1', %(si)s,
  %(tighter)s, 0.1, %(reason)s, '', %(by)s, 'Orla', now(), '')
"""


@pytest.fixture
def office(cast, stage):
    """The log-in role in the office's place; nothing is committed."""
    with psycopg.connect(database.dsn(roles.LOGIN, stage.database)) as connection:
        connection.execute("SELECT set_config('role', %s, false)", [roles.OFFICE])
        connection.execute("SELECT set_config('app.org', %s, false)", [str(cast.contractor)])
        yield connection
        connection.rollback()


def put(connection: psycopg.Connection, cast: Cast, **changes: object) -> None:
    values = {"contractor": cast.contractor, "client": cast.client, "by": cast.orla.id,
              "limit": "large", "si": 0.05, "tighter": "lower", "reason": ""}  # fmt: skip
    connection.execute(INSERT, values | changes)


@pytest.mark.parametrize(
    ("si", "tighter", "reason", "taken"),
    [
        (0.1, "lower", "", True),
        (0.11, "lower", "", False),
        (0.11, "lower", "asked for", True),
        (0.1, "higher", "", True),
        (0.09, "higher", "", False),
        (0.09, "higher", "asked for", True),
    ],
)
def test_a_looser_limit_without_a_reason_is_refused(office, cast, si, tighter, reason, taken):
    given = {"si": si, "tighter": tighter, "reason": reason}
    if taken:
        put(office, cast, **given)
    else:
        with pytest.raises(errors.CheckViolation, match="looser_limit_has_a_reason"):
            put(office, cast, **given)


def test_a_limit_is_set_once_at_a_time(office, cast):
    put(office, cast)
    with pytest.raises(errors.UniqueViolation, match="one_setting_in_force_a_limit"):
        put(office, cast)


@pytest.mark.parametrize("client", ["other_client", "contractor"])
def test_limits_are_set_for_clients_of_one_s_own(office, cast, client):
    with pytest.raises(errors.ForeignKeyViolation, match="rule_setting_for_a_client"):
        put(office, cast, client=getattr(cast, client))


def test_another_contractors_limits_cannot_be_written(office, cast):
    with pytest.raises(errors.InsufficientPrivilege):
        put(office, cast, contractor=cast.other_contractor, client=cast.other_client)


END = "UPDATE records_rulesetting SET ended_at = now(), ended_by_id = set_by_id"


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE records_rulesetting SET si = 0.01",
        "UPDATE records_rulesetting SET reason = 'another'",
        "UPDATE records_rulesetting SET ended_at = now()",
        "UPDATE records_rulesetting SET ended_by_id = set_by_id",
        f"{END}; UPDATE records_rulesetting SET ended_at = NULL, ended_by_id = NULL",
        f"{END}; {END}",
        f"{END}, value = '2'",
        "DELETE FROM records_rulesetting",
        "TRUNCATE records_rulesetting",
    ],
)
@pytest.mark.parametrize("role", [roles.OFFICE, roles.OWNER])
def test_what_was_set_is_ended_and_never_rewritten(office, stage, cast, statement, role):
    connection = office
    if role == roles.OWNER:
        connection = psycopg.connect(database.dsn(roles.OWNER, stage.database))
    try:
        put(connection, cast)
        connection.execute("SET CONSTRAINTS ALL IMMEDIATE")
        with pytest.raises(
            (errors.InsufficientPrivilege, errors.IntegrityConstraintViolation,
             errors.CheckViolation)
        ):  # fmt: skip
            connection.execute(statement)
    finally:
        connection.rollback()
        if role == roles.OWNER:
            connection.close()


def test_it_is_ended_by_somebody(office, cast):
    put(office, cast)
    assert office.execute(END).rowcount == 1
