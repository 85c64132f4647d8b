"""What a client's whole book consists of: its tables, which of their rows, and which columns.

One declaration for the way out and the way in. `STAYS` names what is left where it is.
"""

# ruff: noqa: S608  # every name in a statement is of our own declaration

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import models as framework

from records import models

FORMAT = 1

OURS = "client_id = %(client)s"
EVENTS = f"{OURS} AND (state = 'sealed' OR %(drafts)s)"
_OF_EVENTS = f"event_id IN (SELECT row FROM records_event WHERE {EVENTS})"

# Everybody who is a party to something of the client's, or may read it.
_PARTIES = f"""
SELECT %(client)s::uuid
UNION SELECT contractor_id FROM records_clientele WHERE {OURS}
UNION SELECT contractor_id FROM records_appointment WHERE {OURS}
UNION SELECT contractor_id FROM records_event WHERE {OURS}
UNION SELECT contractor_id FROM records_rulesetting WHERE {OURS}
UNION SELECT contractor_id FROM records_intervalsetting WHERE {OURS}
UNION SELECT contractor_id FROM records_piecestanding WHERE {OURS}
UNION SELECT contractor_id FROM records_auditentry WHERE {OURS}
UNION SELECT unnest(contractor_id || former_contractors) FROM records_site WHERE {OURS}
UNION SELECT unnest(contractor_id || handed_to) FROM records_record WHERE {OURS}
"""
_PEOPLE = f"""
SELECT unnest(ARRAY[created_by_id, withdrawn_by_id]) FROM records_event WHERE {EVENTS}
UNION SELECT by_id FROM records_answer WHERE {_OF_EVENTS}
UNION SELECT by_id FROM records_signature WHERE {_OF_EVENTS}
UNION SELECT unnest(ARRAY[set_by_id, ended_by_id]) FROM records_rulesetting WHERE {OURS}
UNION SELECT unnest(ARRAY[set_by_id, ended_by_id]) FROM records_intervalsetting WHERE {OURS}
"""
# A contractor's own, as far as the client's events name them.
_INSTRUMENTS = f"""
SELECT e.contractor_id, (named ->> 'id')::uuid
  FROM records_event e, jsonb_array_elements(e.snapshot -> 'instruments') AS named
 WHERE {EVENTS}
"""
# Neither what people and tokens did to each other, nor what became of a draft that stays; nor what
# it did as the contractor of another client.
_AUDIT = f"""
({OURS} OR contractor_id = %(client)s AND client_id IS NULL)
AND kind NOT IN ('token', 'person', 'calendar')
AND (kind <> 'event' OR subject IN (SELECT id FROM records_event WHERE {EVENTS}))
"""


@dataclass(frozen=True)
class Table:
    """A table of the book. `same` are the columns that name a row that may be there already.

    Without them a row that is there already is a conflict. `named` tells a row to people.
    """

    name: str
    model: type[framework.Model]
    rows: str = OURS
    left_out: tuple[str, ...] = ()
    same: tuple[str, ...] = ()
    named: str = "id"

    @property
    def path(self) -> str:
        """Where it stands in the file."""
        return f"tables/{self.name}.jsonl"

    @property
    def table(self) -> str:
        """Its name in the database."""
        return self.model._meta.db_table

    @property
    def fields(self) -> "list[framework.Field[Any, Any]]":
        """What goes along, in the model's order."""
        every = self.model._meta.concrete_fields
        return [field for field in every if field.column not in self.left_out]

    @property
    def columns(self) -> list[str]:
        """The names of `fields` in the database."""
        return [str(field.column) for field in self.fields]

    @property
    def order(self) -> str:
        """The key that rows are told in the order of."""
        return str(self.model._meta.pk.column)

    @property
    def has_inner_key(self) -> bool:
        """Whether rows are numbered, and get other numbers elsewhere."""
        return "row" in self.columns

    @property
    def refers(self) -> dict[str, "Table"]:
        """Columns that name a row of another table of the book."""
        found = {}
        for field in self.fields:
            other = field.related_model if field.is_relation else None
            if other in _BY_MODEL:
                found[str(field.column)] = _BY_MODEL[other]
        return found

    def query(self) -> str:
        """One JSON document a row, in the order of their keys."""
        if self.model is models.User:
            columns = "id, coalesce(nullif(full_name, ''), username) AS full_name"
        else:
            columns = ", ".join(f'"{column}"' for column in self.columns)
        inner = f"SELECT {columns} FROM {self.table} WHERE {self.rows} ORDER BY {self.order}"
        return f"SELECT row_to_json(r) FROM ({inner}) AS r"

    def schema(self) -> dict[str, Any]:
        """As a table of a Data Package describes its columns."""
        fields = [
            {"name": str(f.column), "type": _TYPES.get(_kind(f), "string")} for f in self.fields
        ]
        return {"fields": fields}


def _kind(field: "framework.Field[Any, Any]") -> str:
    target = field.target_field if field.is_relation else field  # type: ignore[attr-defined]
    return str(target.get_internal_type())


_TYPES: Mapping[str, str] = {
    "BigAutoField": "integer",
    "PositiveIntegerField": "integer",
    "PositiveBigIntegerField": "integer",
    "PositiveSmallIntegerField": "integer",
    "FloatField": "number",
    "BooleanField": "boolean",
    "DateField": "date",
    "DateTimeField": "datetime",
    "JSONField": "any",
    "DocumentField": "any",
    "QuantityField": "object",
    "ArrayField": "array",
}

_UNKNOWN_TO_US = tuple(
    str(field.column)
    for field in models.User._meta.concrete_fields
    if field.column not in ("id", "full_name")
)
# What the sealed text itself says is taken from there.
_IN_THE_TEXT = ("canonical", "digest", "previous_digest", "signature", "key_id")


def _of_events(name: str, model: type[framework.Model]) -> Table:
    return Table(name, model, rows=_OF_EVENTS)


# In the order in which they are written: each after those that it names.
TABLES: tuple[Table, ...] = (
    Table("organizations", models.Organization, f"id IN ({_PARTIES})", same=("id",), named="name"),
    Table(
        "people", models.User, f"id IN ({_PEOPLE})", _UNKNOWN_TO_US, same=("id",),
        named="full_name",
    ),
    Table("clienteles", models.Clientele, left_out=("id",), same=("contractor_id", "client_id")),
    Table("sites", models.Site, named="code"),
    Table("pumps", models.Pump, named="tag"),
    Table("motors", models.Motor, named="tag"),
    Table("drives", models.Drive, named="tag"),
    Table("sensors", models.Sensor, named="tag"),
    Table("vessels", models.Vessel, named="tag"),
    Table("pump_sets", models.PumpSet, named="tag"),
    Table(
        "instruments", models.Instrument, f"(contractor_id, id) IN ({_INSTRUMENTS})",
        same=("contractor_id", "id"), named="serial",
    ),
    Table("appointments", models.Appointment, left_out=("id",)),
    Table("standing", models.PieceStanding),
    Table("rule_settings", models.RuleSetting, named="rule"),
    Table("events", models.Event, EVENTS),
    _of_events("findings", models.Finding),
    _of_events("answers", models.Answer),
    _of_events("signatures", models.Signature),
    _of_events("attachments", models.Attachment),
    _of_events("traces", models.Trace),
    Table("records", models.Record, left_out=_IN_THE_TEXT),
    Table("documents", models.RecordDocument),
    Table("performed_tasks", models.PerformedTask, named="task"),
    Table("interval_settings", models.IntervalSetting, named="task"),
    Table(
        "audit", models.AuditEntry, _AUDIT, left_out=("person_id", "token_id", "address"),
    ),
)  # fmt: skip
_BY_MODEL: dict[Any, Table] = {table.model: table for table in TABLES}
# Of another installation alone, or on its way; and what is made anew, out of sealed texts or, as
# reports of any day, out of the rest. Keys go along as `keys.json`, with what was sealed with them.
STAYS: tuple[type[framework.Model], ...] = (
    models.Membership, models.Admission, models.Token, models.DeviceKey, models.Enrolment,
    models.Guess,
    models.Upload, models.UploadPart, models.Calendar,
    models.ReportSchedule, models.Report, models.ReportMail, models.Import, models.ImportLine,
    models.SiteSummary, models.DueMark, models.RecordReadings, models.RecordedValue,
    models.SigningKey,
)  # fmt: skip
# Older files have it, without a row.
ALWAYS_EMPTY = {"tables/reports.jsonl"}
BY_NAME: dict[str, Table] = {table.name: table for table in TABLES}
OF_EVENTS = ("findings", "answers", "signatures", "attachments", "traces")
