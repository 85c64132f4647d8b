"""A book on its way in, read like what is entered here: no seal speaks for register and drafts.

What no call of the API could bring is refused with its table, row and field. Columns have to be
those that follow from the document that stands beside them.
"""

# ruff: noqa: S608  # every name in a statement is of our own declaration

from collections.abc import Iterator, Mapping
from typing import Any, cast

from django.db import connections
from django.db.models import DateField

from calculations.inputs.reading import InvalidDocument, Problem
from calculations.tasks.catalogue import BY_ID
from records import permissions
from records.errors import Conflict, Invalid
from records.models import Event, IntervalSetting, Organization, RuleSetting
from records.models.base import Registered
from records.models.fields import QuantityField
from records.selectors.book_tables import BY_NAME, TABLES, Table
from records.services import book_drafts, events, interval_settings, register, rule_settings
from records.services.book_staging import Staging
from records.services.kinds import KINDS, Kind

_CORRECTED = (
    "SELECT 1 FROM staged_records r WHERE r.id = %(id)s AND r.site_id = %(site)s AND "
    + permissions.known_to_sql("r")
)
_Ids = Mapping[str, Mapping[int, str]]  # by table and row


def refuse(staging: Staging) -> None:
    """`Conflict` with the first thing that could not have been entered."""
    _refuse_times(staging)
    for table in TABLES:
        _refuse_first(table.name, _of_shape(staging, table))
    ids = {table.name: _ids(staging, table.name) for table in TABLES if table.has_inner_key}
    for kind in KINDS.values():
        _refuse_first(kind.name.replace("-", "_"), _of_register(staging, kind, ids))
    _refuse_first("rule_settings", _of_limits(staging))
    _refuse_first("interval_settings", _of_intervals(staging))
    _refuse_first("events", _of_drafts(staging, ids))
    _refuse_first("signatures", book_drafts.of_signatures(staging))
    _refuse_first("attachments", book_drafts.of_attachments(staging))
    _refuse_first("traces", book_drafts.of_traces(staging))
    _refuse_first("audit", _of_audit(staging))


def _refuse_times(staging: Staging) -> None:
    """PostgreSQL keeps times that Python cannot say, `infinity` too: no page could show one."""
    for table in TABLES:
        for column in [field.column for field in table.fields if isinstance(field, DateField)]:
            query = (
                f"SELECT {column}::text FROM staged_{table.name}"
                f" WHERE {column} NOT BETWEEN '0002-01-01' AND '9998-12-31' LIMIT 1"
            )
            for [found] in staging.execute(query):
                words = f"{table.path} has {found} as {column}, which is no time of ours"
                raise Conflict(f"nothing is taken in: {words}")


def _of_shape(staging: Staging, table: Table) -> Iterator[tuple[object, Problem]]:
    """What no row of ours could be read with: nothing where something stands, other JSON."""
    name = next((each for each in ("id", "row") if each in table.columns), table.columns[0])
    for field in table.fields:
        column = f'"{field.column}"'
        wanted, words = f"{column} IS NOT NULL", "expected a value"
        if isinstance(field, QuantityField):
            check = field.db_check(cast("Any", connections[staging.using]))
            wanted = f"CASE jsonb_typeof({column}) WHEN 'object' THEN {check} END"
            words = "expected a quantity within its limits: value, unit and si"
        elif field.column == "plate":
            wanted, words = "jsonb_typeof(plate) = 'object'", "expected an object"
        unless = f"{column} IS NOT NULL AND" if field.null else ""
        query = (
            f"SELECT {name} FROM staged_{table.name} WHERE {unless} ({wanted}) IS NOT TRUE LIMIT 1"
        )
        for [identity] in staging.execute(query):
            yield identity, Problem(f"/{field.column}", "shape", words)


def _refuse_first(table: str, found: Iterator[tuple[object, Problem]]) -> None:
    for identity, problem in found:
        where = f"{BY_NAME[table].path}, {identity}"
        raise Conflict(f"nothing is taken in: {where}: {problem.pointer}: {problem.detail}")


def _ids(staging: Staging, name: str) -> dict[int, str]:
    if "id" not in BY_NAME[name].columns:
        return {}
    return {row: str(each) for row, each in staging.execute(f"SELECT row, id FROM staged_{name}")}


def _of_register(staging: Staging, kind: Kind, ids: _Ids) -> Iterator[tuple[object, Problem]]:
    for row in staging.rows(kind.model, kind.name.replace("-", "_")):
        try:
            expected = register.columns_of(kind, row)
        except Invalid as error:
            yield row.id, error.problems[0]
            continue
        for name, value in (expected | _relations(kind, row)).items():
            if _held(row, name, kind, ids) != value:
                words = "the column says something else than the document beside it"
                yield row.id, Problem(f"/{name}", "differs", words)


def _relations(kind: Kind, row: Registered) -> dict[str, Any]:
    """What the document names. The client stands in columns alone."""
    named = (name for name, model in kind.relations.items() if model is not Organization)
    return {name: row.plate.get(name) for name in named}


def _held(row: Registered, name: str, kind: Kind, ids: _Ids) -> Any:
    if name not in kind.relations:
        return getattr(row, name)
    number = getattr(row, f"{name}_id")
    tables = {each.model: each.name.replace("-", "_") for each in KINDS.values()}
    return None if number is None else ids[tables[kind.relations[name]]].get(number)  # type: ignore[index]


def _of_limits(staging: Staging) -> Iterator[tuple[object, Problem]]:
    for row in staging.rows(RuleSetting, "rule_settings"):
        for problem in rule_settings.problems_of(row):
            yield row.id, problem


def _of_intervals(staging: Staging) -> Iterator[tuple[object, Problem]]:
    for row in staging.rows(IntervalSetting, "interval_settings"):
        for problem in interval_settings.problems_of(row):
            yield row.id, problem
        if row.piece is not None and not _stands_there(staging, row):
            words = "there is no such piece of this task at its station"
            yield row.id, Problem("/piece", "unknown_id", words)


def _stands_there(staging: Staging, row: IntervalSetting) -> bool:
    table = f"staged_{BY_ID[row.task].of}s"
    query = f"SELECT 1 FROM {table} WHERE id = %s AND site_id = %s"
    return bool(staging.execute(query, [row.piece, row.site_id]))


def _of_drafts(staging: Staging, ids: _Ids) -> Iterator[tuple[object, Problem]]:
    for row in staging.rows(Event, "events", "state <> 'sealed'"):
        try:
            document, at = events.read_again(row.document)
        except Invalid as error:
            yield row.id, error.problems[0]
            continue
        except InvalidDocument as error:
            yield row.id, next(iter(error.problems))
            continue
        expected = {
            "id": str(row.id), "kind": row.kind, "site": ids["sites"].get(row.site_id),
            "pump_set": ids["pump_sets"].get(row.pump_set_id or 0),
        }  # fmt: skip
        wrong = [name for name, value in expected.items() if document.get(name) != value]
        if row.document != document or row.performed_at != at or wrong:
            words = "the columns say something else than the document beside them"
            yield row.id, Problem(f"/{wrong[0] if wrong else 'document'}", "differs", words)
            continue
        for problem in (*_of_corrected(staging, row), *book_drafts.snapshot_problems(row)):
            yield row.id, problem


def _of_corrected(staging: Staging, row: Event) -> Iterator[Problem]:
    corrected = row.document.get("corrects")
    asked = {"id": corrected, "site": row.site_id, "contractor": row.contractor_id}
    if corrected and not staging.execute(_CORRECTED, asked):
        yield Problem("/corrects", "unknown_id", "there is no such record of this site")


def _of_audit(staging: Staging) -> Iterator[tuple[object, Problem]]:
    """Merge patches of documents are objects."""
    for column in ("before", "after"):
        query = f"SELECT id FROM staged_audit WHERE jsonb_typeof({column}) <> 'object' LIMIT 1"
        for [identity] in staging.execute(query):
            yield identity, Problem(f"/{column}", "object", "expected an object, or null")
