"""A book on its way in: its rows in temporary tables, held against each other and against ours.

Everything is loaded by COPY and typed by the database, so that memory stays small. `staged_NAME`
has the columns of the table, `row` as in the file, and `new_row` as it will be.
"""

# ruff: noqa: S608  # every name in a statement is of our own declaration

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from django.db import connections
from django.db.backends.utils import CursorWrapper

from records.errors import Conflict
from records.models import Organization, User
from records.selectors.book_tables import BY_NAME, OF_EVENTS, TABLES, Table
from records.services.book_files import BookFile, Text
from records.services.register_checks import time_zones

_TEXTS = """
CREATE TEMP TABLE staged_texts (
  record uuid PRIMARY KEY, canonical bytea, digest bytea, signature text, key text, pdf bytea,
  size bigint, crc32 bigint
) ON COMMIT DROP
"""
# What a record's own text says of it, beside what the tables say: the first that differs.
_SAME = """
SELECT coalesce(t.record, r.id)
  FROM staged_texts t
  FULL JOIN (
    SELECT r.*, s.id AS site, e.id AS event, p.id AS pump_set, c.id AS corrected,
           e.document, e.snapshot, e.state, e.performed_at AS event_at, e.kind AS event_kind,
           e.contractor_id AS event_contractor, e.site_id AS event_site,
           e.pump_set_id AS event_set, e.catalogue, e.judgement - 'findings' AS judgement
      FROM staged_records r
      JOIN staged_sites s ON s.row = r.site_id
      JOIN staged_events e ON e.row = r.event_id
      LEFT JOIN staged_pump_sets p ON p.row = r.pump_set_id
      LEFT JOIN staged_records c ON c.row = r.corrects_id
  ) r ON r.id = t.record
 CROSS JOIN LATERAL (SELECT convert_from(t.canonical, 'UTF8')::jsonb AS said) AS x
 WHERE (
   said #>> '{contractor,id}', said #>> '{client,id}', said #>> '{event,site}',
   said #>> '{event,id}', said #>> '{event,pump_set}', said #>> '{corrects,record_id}',
   (said ->> 'number')::int, (said ->> 'format')::int, (said ->> 'sealed_at')::timestamptz,
   (said #>> '{event,performed_at}')::timestamptz, said #>> '{event,kind}',
   said -> 'event', said -> 'snapshot', 'sealed',
   (said #>> '{event,performed_at}')::timestamptz, said #>> '{event,kind}',
   said #>> '{contractor,id}', r.site_id, r.pump_set_id,
   said #>> '{judgement,catalogue}', (said -> 'judgement') - 'findings'
 ) IS DISTINCT FROM (
   r.contractor_id::text, r.client_id::text, r.site::text,
   r.event::text, r.pump_set::text, r.corrected::text,
   r.number, r.format::int, r.sealed_at,
   r.performed_at, r.kind,
   r.document, r.snapshot, r.state,
   r.event_at, r.event_kind,
   r.event_contractor::text, r.event_site, r.event_set,
   r.catalogue, r.judgement
 )
 LIMIT 1
"""
# Parts of events, as the texts of records hold them and as the tables do.
_BY = (("p ->> 'role'", "(p ->> 'at')::timestamptz"), ("by_role", "at"))
_FILE = (("p ->> 'id'", "p ->> 'sha256'", "p ->> 'name'"),
         ("id::text", "encode(sha256, 'hex')", "name"))  # fmt: skip
_OF_FINDING = "(SELECT f.id::text FROM staged_findings f WHERE f.row = finding_id)"
_PARTS = {
    "attachments": (
        "{attachments}", (*_FILE[0], "p ->> 'content_type'", "p ->> 'purpose'"),
        (*_FILE[1], "content_type", "purpose"), "true",
    ),
    "traces": (
        "{traces}", (*_FILE[0], "(p ->> 'rows')::int", "p -> 'columns'"),
        (*_FILE[1], "rows", "columns"), "true",
    ),
    "answers": (
        "{answers}",
        ("p ->> 'id'", "p ->> 'finding'", "p ->> 'text'", "p ->> 'by'",
         "(p ->> 'accepted')::boolean", *_BY[0]),
        ("id::text", _OF_FINDING, "text", "by_name", "accepted", *_BY[1]), "true",
    ),
    "signatures": (
        "{signatures}",
        ("p ->> 'id'", "p ->> 'digest'", "p #>> '{by,id}'", "p #>> '{by,name}'",
         "p ->> 'meaning'", "p ->> 'organization'", "p -> 'device'", *_BY[0]),
        ("id::text", "encode(digest, 'hex')", "by_id::text", "by_name",
         "meaning", "by_organization", "device", *_BY[1]), "void_since IS NULL",
    ),
    "findings": (
        "{judgement,findings}",
        ("p ->> 'id'", "p", "p ->> 'severity'", "p ->> 'rule'", "p ->> 'subject'"),
        ("id::text", "document", "severity", "rule", "subject"), "present",
    ),
}  # fmt: skip
_SAME_PARTS = """
WITH told AS (
  SELECT r.event_id, {said}
    FROM staged_texts t JOIN staged_records r ON r.id = t.record,
         jsonb_array_elements(convert_from(t.canonical, 'UTF8')::jsonb #> '{place}') AS p
), kept AS (
  SELECT event_id, {kept} FROM staged_{name}
   WHERE {which} AND event_id IN (SELECT event_id FROM staged_records)
), other AS (
  (SELECT * FROM told EXCEPT SELECT * FROM kept)
  UNION ALL (SELECT * FROM kept EXCEPT SELECT * FROM told)
)
SELECT e.id FROM other JOIN staged_events e ON e.row = other.event_id LIMIT 1
"""
_NAMED_FILES = """
SELECT DISTINCT f.sha256, f.size FROM (
  SELECT sha256, size FROM staged_attachments UNION ALL SELECT sha256, size FROM staged_traces
  UNION ALL SELECT sha256, size FROM staged_documents WHERE sha256 IS NOT NULL
) AS f
"""
_OTHER_PDF = """
SELECT r.id FROM staged_texts t
  JOIN staged_records r ON r.id = t.record
  LEFT JOIN staged_documents d ON d.record_id = r.row AND d.kind = 'pdf'
 WHERE d.sha256 IS DISTINCT FROM t.pdf
 LIMIT 1
"""


class Staging:
    """The temporary tables of one transaction."""

    def __init__(self, book: BookFile, using: str) -> None:
        """Nothing is loaded yet."""
        self.book, self.using = book, using

    def load(self) -> None:
        """Fill the temporary tables; `Conflict` where a line is not as it should be."""
        with self.cursor() as cursor:
            cursor.execute("CREATE TEMP TABLE staged_lines (position bigserial, line jsonb)"
                           " ON COMMIT DROP")  # fmt: skip
            for table in TABLES:
                self._load(cursor, table)
            cursor.execute(_TEXTS)
            with cursor.copy("COPY staged_texts FROM STDIN (FORMAT BINARY)") as copy:
                copy.set_types(["uuid", "bytea", "bytea", "text", "text", "bytea", "int8", "int8"])
                for text in self.book.texts():
                    copy.write_row(Text(*text))
            cursor.execute("ANALYZE staged_texts")

    def cursor(self) -> CursorWrapper:
        """Where the temporary tables are."""
        return connections[self.using].cursor()

    def _load(self, cursor: Any, table: Table) -> None:
        cursor.execute("TRUNCATE staged_lines RESTART IDENTITY")
        with cursor.copy("COPY staged_lines (line) FROM STDIN") as copy:
            for line in self.book.lines(table):
                copy.write_row([line])
        self._refuse_other_columns(cursor, table)
        cursor.execute(
            f"CREATE TEMP TABLE staged_{table.name} ON COMMIT DROP AS"
            f" SELECT *, NULL::bigint AS new_row FROM {table.table} WITH NO DATA"
        )
        number = f"nextval(pg_get_serial_sequence('{table.table}', 'row'))"
        cursor.execute(
            f"INSERT INTO staged_{table.name}"
            f" SELECT x.*, {number if table.has_inner_key else 'NULL'} FROM ("
            "  SELECT r.* FROM staged_lines CROSS JOIN LATERAL"
            f" jsonb_populate_record(NULL::{table.table}, %s::jsonb || line) AS r"
            "  ORDER BY position) AS x",
            [json.dumps(self.book.defaults[table.name], default=str)],
        )
        if "id" in table.columns or table.has_inner_key:
            key = "row" if table.has_inner_key else "id"
            cursor.execute(f"CREATE UNIQUE INDEX ON staged_{table.name} ({key})")
        cursor.execute(f"ANALYZE staged_{table.name}")

    def _refuse_other_columns(self, cursor: Any, table: Table) -> None:
        told = sorted(set(table.columns) - self.book.defaults[table.name].keys())
        cursor.execute(
            "SELECT position FROM staged_lines WHERE jsonb_typeof(line) <> 'object' OR"
            ' (SELECT array_agg(k ORDER BY k COLLATE "C") FROM jsonb_object_keys(line) AS k)'
            " IS DISTINCT FROM %s::text[] LIMIT 1",
            [told],
        )
        if found := cursor.fetchone():
            raise Conflict(f"{table.path}, line {found[0]}: other columns than its list says")

    # -- the file in itself

    def refuse_contradictions(self) -> None:
        """`Conflict` where rows are a stranger's, lead nowhere, or differ from what is sealed."""
        with self.cursor() as cursor:
            for words in (
                *self._strangers(cursor),
                *self._dangling(cursor),
                *self._unsealed(cursor),
                *self._time_zones(cursor),
            ):
                raise Conflict(f"nothing is taken in: {words}")

    def _strangers(self, cursor: Any) -> Iterator[str]:
        for table in TABLES:
            ours = {
                "instruments": "client_id = contractor_id",
                "audit": "client_id = %(client)s OR client_id IS NULL"
                         " AND contractor_id = %(client)s",
            }.get(table.name, "client_id = %(client)s")  # fmt: skip
            if "client_id" in table.columns:
                query = f"SELECT 1 FROM staged_{table.name} WHERE ({ours}) IS NOT TRUE LIMIT 1"
                if _first(cursor, query, client=self.book.client):
                    yield f"{table.path} has a row that is not this client's"
        if not _first(cursor, "SELECT 1 FROM staged_organizations WHERE id = %(client)s",
                      client=self.book.client):  # fmt: skip
            yield "the client itself is not in it"

    def _dangling(self, cursor: Any) -> Iterator[str]:
        for table in TABLES:
            for column, other in table.refers.items():
                key = "row" if other.has_inner_key else "id"
                query = (
                    f"SELECT s.{column} FROM staged_{table.name} s WHERE s.{column} IS NOT NULL"
                    f" AND NOT EXISTS (SELECT FROM staged_{other.name} o"
                    f" WHERE o.{key} = s.{column}) LIMIT 1"
                )
                if found := _first(cursor, query):
                    yield f"{table.path} names {found} in {column}, which {other.path} has not"
            for column in {"former_contractors", "handed_to"} & set(table.columns):
                query = (
                    f"SELECT o FROM staged_{table.name} s, unnest(s.{column}) AS o"
                    " WHERE NOT EXISTS (SELECT FROM staged_organizations g WHERE g.id = o) LIMIT 1"
                )
                if found := _first(cursor, query):
                    yield f"{table.path} names {found} in {column}, which nobody is"

    def _unsealed(self, cursor: Any) -> Iterator[str]:
        """What the tables say of a record is what was sealed."""
        if found := _first(cursor, _SAME):
            yield f"the tables say other things of record {found} than its sealed text"
        for name in OF_EVENTS:
            place, said, kept, which = _PARTS[name]
            query = _SAME_PARTS.format(
                name=name, place=place, said=_named(said), kept=_named(kept), which=which
            )
            if found := _first(cursor, query):
                yield f"tables/{name}.jsonl says other things of visit {found} than its record"
        query = (
            "SELECT e.id FROM staged_events e WHERE e.state = 'sealed'"
            " AND NOT EXISTS (SELECT FROM staged_records r WHERE r.event_id = e.row) LIMIT 1"
        )
        if found := _first(cursor, query):
            yield f"visit {found} is called sealed and has no record"
        if found := _first(cursor, _OTHER_PDF):
            yield f"the document of record {found} is another than tables/documents.jsonl says"
        yield from self._files(cursor)

    def _time_zones(self, cursor: Any) -> Iterator[str]:
        for name, which in (("sites", "true"), ("standing", "kind = 'site'")):
            cursor.execute(f"SELECT DISTINCT time_zone FROM staged_{name} WHERE {which}")
            for [zone] in cursor.fetchall():
                if zone not in time_zones():
                    yield f"tables/{name}.jsonl has time zone {zone}, which is not known here"

    def _files(self, cursor: Any) -> Iterator[str]:
        there = {(digest, size) for digest, size, _ in self.book.files()}
        cursor.execute(_NAMED_FILES)
        wanted = {(bytes(digest), size) for digest, size in cursor.fetchall()}
        for digest, size in sorted(wanted - there):
            yield f"the file {digest.hex()} of {size} bytes is named and not in it"
        for digest, _ in sorted(there - wanted):
            yield f"the file {digest.hex()} is in it and named by nothing"

    # -- the file beside what is here

    def conflicts(self) -> list[str]:
        """What keeps the book from coming in here, in words; at most some of each kind."""
        with self.cursor() as cursor:
            return [
                *self._stations_here(cursor),
                *self._accounts_here(cursor),
                *self._renamed(cursor),
                *self._already_here(cursor),
            ]

    def _stations_here(self, cursor: Any) -> Iterator[str]:
        """A book comes in whole: who looks after what is here already is not this file's matter."""
        cursor.execute(
            "SELECT count(*) OVER (), code FROM records_site WHERE client_id = %s"
            " ORDER BY code LIMIT 1",
            [self.book.client],
        )
        if found := cursor.fetchone():
            count, code = found
            yield f"sites: the client has stations here already: {count}, such as {code}"

    def _accounts_here(self, cursor: Any) -> Iterator[str]:
        """Who can sign in here has said and signed nothing but here."""
        cursor.execute(
            "SELECT h.id, coalesce(nullif(h.full_name, ''), h.username) FROM staged_people s"
            " JOIN records_user h ON h.id = s.id"
            " WHERE h.is_active OR h.username <> 'taken-in-' || h.id LIMIT 20"
        )
        for identity, name in cursor.fetchall():
            yield f"people: {name}, {identity}, has an account here: expected names alone"

    def _renamed(self, cursor: Any) -> Iterator[str]:
        for name, model, column in (
            ("organizations", Organization, "name"),
            ("people", User, "coalesce(nullif(h.full_name, ''), h.username)"),
        ):
            here = column if "(" in column else f"h.{column}"
            told = "name" if name == "organizations" else "full_name"
            cursor.execute(
                f"SELECT s.id, s.{told}, {here} FROM staged_{name} s"
                f" JOIN {model._meta.db_table} h ON h.id = s.id"
                f" WHERE s.{told} <> {here} LIMIT 20"
            )
            for identity, theirs, ours in cursor.fetchall():
                yield f"{name}: {identity} is {theirs} there and {ours} here"

    def _already_here(self, cursor: Any) -> Iterator[str]:
        for table in TABLES:
            if table.same or "id" not in table.columns or table.name == "audit":
                continue
            also = " OR h.code = s.code" if table.name == "sites" else ""
            mine = "h.client_id = s.client_id AND " if table.name != "records" else ""
            cursor.execute(
                f"SELECT count(*) OVER (), s.{table.named} FROM staged_{table.name} s"
                f" WHERE EXISTS (SELECT FROM {table.table} h WHERE {mine}(h.id = s.id{also}))"
                f" ORDER BY 2 LIMIT 1"
            )
            if found := cursor.fetchone():
                count, name = found
                words = f"such as {name}" if count > 1 else str(name)
                yield f"{table.name}: already here: {count}, {words}"

    def new(self, table: Table) -> str:
        """The condition for rows of `staged_NAME s` that are not here yet."""
        if not table.same:
            return "true"
        same = " AND ".join(f"h.{column} = s.{column}" for column in table.same)
        return f"NOT EXISTS (SELECT FROM {table.table} h WHERE {same})"

    def counts(self) -> dict[str, tuple[int, int]]:
        """Of each table: rows that are added, and rows that are here and stay as they are."""
        found = {}
        with self.cursor() as cursor:
            for table in TABLES:
                cursor.execute(
                    f"SELECT count(*) FILTER (WHERE {self.new(table)}), count(*)"
                    f" FROM staged_{table.name} s"
                )
                new, every = cursor.fetchone()
                found[table.name] = new, every - new
        return found

    # -- into the book

    def insert(self, name: str, where: str = "true", **values: str) -> None:
        """Write the staged rows of a table that are not here; `values`: SQL for columns."""
        table = BY_NAME[name]
        columns, chosen, joins = [], [], []
        refers = {c: o for c, o in table.refers.items() if o.has_inner_key}
        for column in [c for c in table.columns if c not in values]:
            columns.append(column)
            if column == "row":
                chosen.append("s.new_row")
            elif column in refers:
                alias = f"of_{column}"
                joins.append(f"LEFT JOIN staged_{refers[column].name} {alias}"
                             f" ON {alias}.row = s.{column}")  # fmt: skip
                chosen.append(f"{alias}.new_row")
            else:
                chosen.append(f's."{column}"')
        names = ", ".join(f'"{column}"' for column in (*columns, *values))
        order = "s.row" if table.has_inner_key else "1"
        self.execute(
            f"INSERT INTO {table.table} ({names})"
            f" SELECT {', '.join((*chosen, *values.values()))} FROM staged_{table.name} s"
            f" {' '.join(joins)} WHERE {self.new(table)} AND {where} ORDER BY {order}"
        )

    def rows(self, model: Any, name: str, which: str = "true") -> Iterator[Any]:
        """Staged rows as the model has them."""
        query = f"SELECT * FROM staged_{name} WHERE {which} ORDER BY row"
        return iter(model._default_manager.using(self.using).raw(query))

    def execute(self, query: str, parameters: Sequence[Any] | Mapping[str, Any] = ()) -> list[Any]:
        """A statement of the transaction; its rows, where it has any."""
        with self.cursor() as cursor:
            cursor.execute(query, parameters)
            return list(cursor.fetchall()) if cursor.description else []


def _named(columns: Iterable[str]) -> str:
    return ", ".join(f"{each} AS c{at}" for at, each in enumerate(columns))


def _first(cursor: Any, query: str, **parameters: Any) -> Any:
    cursor.execute(query, parameters or None)
    found = cursor.fetchone()
    return found[0] if found else None
