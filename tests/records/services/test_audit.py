"""Audit entries: what changed leads both ways, and whoever asks, an entry stays as it is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from psycopg import errors

from records import roles
from records.services.audit import difference
from records.services.content import merge_patch
from tests.records import world
from tests.records.services.test_kept import connected, is_refused

_NAMES = st.sampled_from(["a", "b", "value", "unit"])
_LEAVES = st.sampled_from([0, 1, "", "7.50", [], [1, 2]])
_INSIDE = st.dictionaries(_NAMES, _LEAVES, max_size=3)
DOCUMENTS = st.dictionaries(
    _NAMES, _LEAVES | _INSIDE | st.dictionaries(_NAMES, _INSIDE, max_size=2), max_size=3
)


@given(old=DOCUMENTS, new=DOCUMENTS)
def test_a_change_leads_to_either_side(old, new):
    """RFC 7396: each patch applied to one document makes the other."""
    change = difference(old, new)
    assert merge_patch(old, change.after) == new
    assert merge_patch(new, change.before) == old


def test_it_holds_what_changed_alone():
    old = {"a": {"b": 1, "c": 2}, "d": [1, 2], "e": {"value": "7.50", "unit": "kW"}, "f": 1}
    new = {"a": {"b": 1, "c": 3}, "d": [1, 2], "e": {"value": "7.5", "unit": "kW"}, "g": 2}
    change = difference(old, new)
    assert change.after == {
        "a": {"c": 3}, "e": {"value": "7.5", "unit": "kW"}, "f": None, "g": 2,
    }  # fmt: skip
    assert change.before == {
        "a": {"c": 2}, "e": {"value": "7.50", "unit": "kW"}, "f": 1, "g": None,
    }  # fmt: skip


def test_what_did_not_change_is_empty():
    assert difference({"a": {"b": 1}}, {"a": {"b": 1}}) == ({}, {})


# -- kept as it is ------------------------------------------------------------------------------

STATEMENTS = [
    "UPDATE records_auditentry SET reason = 'another'",
    "UPDATE records_auditentry SET person_name = person_name",
    "UPDATE records_auditentry SET at = now() - interval '1 year'",
    "DELETE FROM records_auditentry",
    "TRUNCATE records_auditentry",
]
COPIED = "id, contractor_id, person_id, person_name, role, action, kind, subject, name, reason"
COPY = "INSERT INTO records_auditentry ({0}{1}) SELECT {0}{2} FROM records_auditentry LIMIT 1"


@pytest.fixture
def side(cast, stage, cleared_afterwards):
    """Orla's work, with the entries that it left, committed."""
    return world.of(stage).own


@pytest.mark.parametrize("role", [roles.OWNER, roles.LOGIN, *roles.ASSUMED])
def test_nobody_changes_or_removes_an_entry(side, stage, role):
    with connected(stage, role, side.contractor) as connection:
        for statement in STATEMENTS:
            assert is_refused(connection, statement), statement


def test_an_office_adds_entries_and_can_neither_date_nor_number_them(side, stage):
    with connected(stage, roles.OFFICE, side.contractor) as connection:
        assert connection.execute(COPY.format(COPIED, "", "")).rowcount == 1
        for column, value in (("at", "now()"), ("row", "1")):
            with pytest.raises(errors.InsufficientPrivilege):
                connection.execute(COPY.format(COPIED, f", {column}", f", {value}"))
            connection.rollback()


def test_an_office_adds_none_to_anothers_audit(side, stage, cast):
    with connected(stage, roles.OFFICE, side.contractor) as connection:
        others = COPIED.replace("contractor_id", f"'{cast.other_contractor}'")
        statement = (
            f"INSERT INTO records_auditentry ({COPIED}) SELECT {others} FROM records_auditentry"
        )
        with pytest.raises(errors.InsufficientPrivilege, match="row-level security"):
            connection.execute(statement)
        connection.rollback()


@pytest.mark.parametrize("role", [roles.CLIENT, roles.WORKER, roles.LOGIN])
def test_nobody_else_reads_or_writes_any(side, stage, role):
    with connected(stage, role, side.client) as connection:
        for statement in ("SELECT FROM records_auditentry", COPY.format(COPIED, "", "")):
            with pytest.raises(errors.InsufficientPrivilege, match="permission denied"):
                connection.execute(statement)
            connection.rollback()


def test_an_office_sees_its_own_alone(side, stage, cast):
    with connected(stage, roles.OFFICE, str(cast.other_contractor)) as connection:
        seen = connection.execute(
            "SELECT DISTINCT contractor_id FROM records_auditentry"
        ).fetchall()
        assert seen == [(cast.other_contractor,)]


def test_the_words_are_a_closed_list(side, stage):
    with stage.as_owner(autocommit=False) as owner:
        for column in ("action", "kind"):
            other = COPIED.replace(column, "'tampered'")
            with pytest.raises(errors.CheckViolation):
                owner.execute(
                    f"INSERT INTO records_auditentry ({COPIED}) SELECT {other}"
                    " FROM records_auditentry LIMIT 1"
                )
            owner.rollback()
