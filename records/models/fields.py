"""Columns for quantities and for words out of closed lists.

What a column may hold is declared once, in `calculations.inputs`; the database checks the same
hard limits as the API.
"""

from typing import Annotated, Any, get_args, get_origin

from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from pydantic import BaseModel

from calculations.inputs.base import REQUIRED, Bound, Of
from calculations.units import Quantity
from records.json_text import Decoder, Encoder

_NO_BOUNDS = {"low": "", "high": "", "above": "", "below": ""}


def _declaration(model: type[BaseModel], name: str) -> tuple[Of, bool]:
    metadata = model.model_fields[name].metadata
    of = next(mark for mark in metadata if isinstance(mark, Of))
    return of, REQUIRED in metadata


def _bounds(of: Of) -> dict[str, str]:
    bounds = dict(_NO_BOUNDS)
    if of.low:
        bounds["low" if of.low.included else "above"] = of.low.text
    if of.high:
        bounds["high" if of.high.included else "below"] = of.high.text
    return bounds


class DocumentField(models.JSONField):
    """A whole document; written and read several times as fast as by the standard library."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options, encoder=Encoder, decoder=Decoder)

    def deconstruct(self) -> Any:
        """For migrations it is a column like any other of its type."""
        name, _, args, options = super().deconstruct()
        del options["encoder"], options["decoder"]
        return name, "django.db.models.JSONField", args, options


class QuantityField(models.JSONField):
    """A quantity as entered (digits and unit) with its SI value, in one JSONB column.

    `QuantityField(inputs.Pump)` takes kinds, hard limits and whether it is required from the
    field of the same name there.
    """

    def __init__(
        self,
        declared_in: type[BaseModel] | None = None,
        *,
        kinds: tuple[str, ...] = (),
        low: str = "",
        high: str = "",
        above: str = "",
        below: str = "",
        **options: Any,
    ) -> None:
        self.declared_in = declared_in
        self.kinds = tuple(kinds)
        self.bounds = {"low": low, "high": high, "above": above, "below": below}
        if declared_in is not None:
            options |= {"null": True, "blank": True}
        super().__init__(**options)

    def contribute_to_class(
        self, cls: type[models.Model], name: str, private_only: bool = False
    ) -> None:
        """Take over the declaration of the same name."""
        if self.declared_in is not None:
            of, required = _declaration(self.declared_in, name)
            self.kinds, self.bounds = of.kinds, _bounds(of)
            self.null = self.blank = not required
        super().contribute_to_class(cls, name, private_only)

    def deconstruct(self) -> Any:
        """Migrations hold the declaration as it was, not a reference to it."""
        name, path, args, options = super().deconstruct()
        options |= {"kinds": self.kinds} | {k: v for k, v in self.bounds.items() if v}
        return name, path, args, options

    def db_check(self, connection: BaseDatabaseWrapper) -> str:
        """Digits, unit and SI value are there, and SI lies within the hard limits."""
        column = connection.ops.quote_name(str(self.column))
        si = f"({column}->>'si')::float8"
        signs = {"low": ">=", "high": "<=", "above": ">", "below": "<"}
        checks = [f"{column} ?& ARRAY['value','unit','si']"]
        checks += [
            f"{si} {signs[name]} {self._limit(text, name)!r}"
            for name, text in self.bounds.items()
            if text
        ]
        return " AND ".join(checks)

    @staticmethod
    def _limit(text: str, name: str) -> float:
        """The limit in SI, with room for what conversion alone may change."""
        si = Bound.read(text).si
        slack = abs(si) * 1e-9
        return {"low": si - slack, "high": si + slack}.get(name, si)

    def from_db_value(self, value: Any, expression: Any, connection: Any) -> Any:
        """The quantity as it was entered."""
        stored = super().from_db_value(value, expression, connection)
        if not isinstance(stored, dict):
            return stored
        kind = stored.get("kind") or self.kinds[0]
        return Quantity(stored["value"], stored["unit"], kind, stored["si"])

    def get_prep_value(self, value: Any) -> Any:
        """Digits, unit and SI value for the column."""
        if isinstance(value, Quantity):
            value = {"value": value.value, "unit": value.unit, "kind": value.kind, "si": value.si}
        return super().get_prep_value(value)

    def get_db_prep_value(self, value: Any, connection: Any, prepared: bool = False) -> Any:
        """As `get_prep_value`, for the paths that skip it."""
        if isinstance(value, Quantity):
            value = self.get_prep_value(value)
        return super().get_db_prep_value(value, connection, prepared)


def choices(words: Any) -> list[tuple[str, str]]:
    """Choices of a column from a closed list of words, annotated or not."""
    if get_origin(words) is Annotated:
        words = get_args(words)[0]
    return [(str(word), label(str(word))) for word in get_args(words)]


def label(word: str) -> str:
    """A word of a closed list as people read it."""
    return {"start_up": "start-up", "re_verification": "re-verification"}.get(
        word, word.replace("_", " ")
    )


class WordField(models.TextField):  # type: ignore[type-arg]
    """One word out of a closed list, checked by the database as well."""

    def __init__(self, words: Any = None, **options: Any) -> None:
        if words is not None:
            options["choices"] = choices(words)
        super().__init__(**options)

    def db_check(self, connection: BaseDatabaseWrapper) -> str:
        """The word is one of the list."""
        column = connection.ops.quote_name(str(self.column))
        listed = ", ".join("'" + str(word) + "'" for word, _ in self.choices or [])
        return f"{column} IN ({listed})"


class DegreesField(models.TextField):  # type: ignore[type-arg]
    """Decimal degrees with the digits as entered."""

    def __init__(self, limit: int = 180, **options: Any) -> None:
        self.limit = limit
        super().__init__(**options)

    def deconstruct(self) -> Any:
        """Keep the limit."""
        name, path, args, options = super().deconstruct()
        return name, path, args, options | {"limit": self.limit}

    def db_check(self, connection: BaseDatabaseWrapper) -> str:
        """A number within the limit."""
        column = connection.ops.quote_name(str(self.column))
        return f"abs({column}::numeric) <= {self.limit}"
