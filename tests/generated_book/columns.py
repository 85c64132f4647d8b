"""Columns of the register's rows from their plates: what the service would write."""

from collections.abc import Mapping
from typing import Any

import orjson
from django.db import models
from psycopg.types import json as psycopg_json

from calculations.inputs.reading import read
from calculations.units import Quantity
from records.models.fields import QuantityField
from records.services.kinds import KINDS
from tests.generated_book.plates import Document


def Jsonb(document: Any) -> psycopg_json.Jsonb:
    """A document for a column, written several times as fast as by the standard library."""
    return psycopg_json.Jsonb(document, dumps=orjson.dumps)


OF = {"pump": "pumps", "motor": "motors", "drive": "drives", "sensor": "sensors",
      "vessel": "vessels", "pump_set": "pump-sets", "site": "sites"}  # fmt: skip


class Columns:
    """The rows of one table; what plates have in common is made once."""

    def __init__(self, word: str) -> None:
        self.kind = KINDS[OF[word]]
        self.table = self.kind.model._meta.db_table
        fields = list(self.kind.model._meta.concrete_fields)
        self.names = [each.column for each in fields]
        self._fields = fields
        self._known: dict[str, dict[str, Any]] = {}

    def row(self, plate: Document, own: Mapping[str, Any], like: str = "") -> list[Any]:
        """The values in the table's order: of the plate, then `own` by column.

        Plates of one `like` differ in tag, serial number and days alone.
        """
        made = self._known.get(like) if like else None
        if made is None:
            made = self._columns(plate)
            if like:
                self._known[like] = made
        varying = {name: plate[name] for name in ("tag", "serial") if name in plate}
        values = made | varying | {"plate": Jsonb(plate)} | own
        return [values.get(name) for name in self.names]

    def _columns(self, plate: Document) -> dict[str, Any]:
        document = read(self.kind.document, plate)
        dumped = document.model_dump(mode="json", exclude_unset=True, by_alias=True)
        return {
            each.column: _column(each, getattr(document, each.name), dumped.get(each.name))
            for each in self._fields
            if each.name in self.kind.document.model_fields and not each.is_relation
        }


def _column(field: Any, value: Any, dumped: Any) -> Any:
    if isinstance(value, Quantity) and isinstance(field, QuantityField):
        told = {"value": value.value, "unit": value.unit, "kind": value.kind, "si": value.si}
        return Jsonb(told)
    if isinstance(field, models.JSONField):
        return None if dumped is None else Jsonb(dumped)
    return dumped
