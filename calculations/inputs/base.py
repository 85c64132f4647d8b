"""How a document's values are read: quantities as entered, words, counts, moments.

A field says what it holds (`quantity("flow", above="0 gpm")`), so that reading, limits, the
database and the API description all follow from one line. Reading reports every error at once,
each with its place.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from operator import attrgetter
from typing import Annotated, Any, ClassVar
from uuid import UUID

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StringConstraints,
    WithJsonSchema,
)
from pydantic_core import core_schema

from calculations.findings import Shown, digits
from calculations.inputs.entered import NumberText, is_plain, read_quantity, refusal
from calculations.units import KINDS, NUMBER, Quantity, from_si, to_si

LONGEST_TEXT = 2000
LONGEST_LIST = 200


class Part(BaseModel):
    """One part of a document: unknown fields are refused, nothing changes after reading."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, ser_json_inf_nan="strings")


@dataclass(frozen=True, slots=True)
class Needed:
    """When the job cannot be closed without this field, and under which condition."""

    by: str
    condition: str = ""


# Without it the register refuses the resource.
REQUIRED = Needed("register")
# Needed before a start-up is sealed: missing is a finding, never a refusal.
START_UP = Needed("start_up")


def needed_when(condition: str) -> Needed:
    """Needed for a start-up only under `condition`, in words."""
    return Needed("start_up", condition)


@dataclass(frozen=True, slots=True)
class Bound:
    """A hard limit: outside it the value is impossible, or certainly a typing slip."""

    text: str
    si: float
    included: bool = True

    @property
    def words(self) -> str:
        """The limit as people read it: without a unit where it has none."""
        return self.text.removesuffix(" 1")

    def words_beside(self, unit: str) -> str:
        """The same, with the limit in `unit` behind it where it is declared in another one."""
        own = self.text.partition(" ")[2] or "1"
        told = in_unit(self.si, unit) if unit != own and self.si else ""
        return f"{self.words} ({told})" if told else self.words

    @classmethod
    def read(cls, text: str, included: bool = True) -> "Bound":
        """Read `"100 rpm"`; a bound of a dimensionless kind has unit 1 or %."""
        value, _, unit = text.partition(" ")
        return cls(text, to_si(float(value), unit or "1"), included)


@dataclass(frozen=True, slots=True)
class Of:
    """Kinds of quantity that a field may hold, and its hard limits."""

    kinds: tuple[str, ...]
    low: Bound | None = None
    high: Bound | None = None
    also: tuple[str, ...] = ()
    optional: bool = True

    def read(self, given: object) -> Quantity | str:
        """A quantity from `{"value", "unit"}`, or one of the words in `also`."""
        if isinstance(given, str) and given in self.also:
            return given
        if isinstance(given, Quantity):
            return self._within(given)
        return self._within(read_quantity(given, self.kinds))

    def _within(self, quantity: Quantity) -> Quantity:
        too_low = self.low and not _reaches(quantity.si, self.low)
        if too_low or (self.high and not _reaches(-quantity.si, self.high, -1.0)):
            expected = self.words(lambda bound: bound.words_beside(quantity.unit))
            raise refusal("out_of_range", f"expected {expected}, got {shown(quantity)}")
        return quantity

    def words(self, said: Callable[[Bound], str] = attrgetter("words")) -> str:
        """The hard limits in words; `said` tells one in other units than it was declared in."""
        parts = []
        if self.low:
            parts.append(("at least " if self.low.included else "more than ") + said(self.low))
        if self.high:
            parts.append(("at most " if self.high.included else "less than ") + said(self.high))
        return " and ".join(parts)

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        read = core_schema.no_info_plain_validator_function(
            self.read,
            serialization=core_schema.plain_serializer_function_ser_schema(
                _as_document, when_used="unless-none"
            ),
        )
        return core_schema.nullable_schema(read) if self.optional else read

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return json_schema(self)


def json_schema(of: Of) -> dict[str, Any]:
    """What a quantity of these kinds looks like in a JSON document."""
    units = [unit for kind in of.kinds for unit in KINDS[kind]]
    alone: dict[str, Any] = {
        "type": "object",
        "x-quantity": "Quantity_" + "_or_".join(of.kinds),
        "properties": {
            "value": {
                "type": ["string", "number"],
                "description": "Decimal digits as entered; comes back as text.",
                "examples": ["7.50"],
            },
            "unit": {"type": "string", "enum": list(dict.fromkeys(units))},
        },
        "required": ["value", "unit"],
        "additionalProperties": False,
    }
    limits = {"description": f"Hard limits: {of.words()}."} if of.words() else {}
    choices: list[dict[str, Any]] = [alone]
    if of.kinds == ("conductor",):
        choices.append({"type": "string", "examples": ["6 AWG", "4/0 AWG", "250 kcmil"]})
    elif is_plain(of.kinds):
        choices.append(_ALONE)
    if of.also:
        choices.append({"type": "string", "enum": list(of.also)})
    if of.optional:
        choices.append({"type": "null"})
    return ({"anyOf": choices} if len(choices) > 1 else alone) | limits


_ALONE: dict[str, Any] = {
    "type": ["number", "string"],
    "pattern": f"^{NUMBER.pattern}$",
    "description": "A number or its digits; alone, it has the unit 1.",
}


def in_unit(si: float, unit: str) -> str:
    """An SI value to five digits in `unit`, as people read it."""
    return str(Shown(digits(from_si(si, unit), 5), unit))


def _reaches(value: float, bound: Bound, sign: float = 1.0) -> bool:
    limit = sign * bound.si
    if value > limit and bound.included:
        return True
    # Conversion alone must not push a value that equals the limit outside it.
    close = math.isclose(value, limit, rel_tol=1e-12, abs_tol=1e-15)
    if close and bound.included:
        return limit != 0 or value >= 0  # nothing converts to exactly nothing, in any unit
    return not close and value > limit


def shown(quantity: Quantity) -> str:
    """Digits and unit as entered."""
    return quantity.value if quantity.unit == "1" else f"{quantity.value} {quantity.unit}"


def _as_document(given: Quantity | str) -> object:
    return given if isinstance(given, str) else given.as_document()


def quantity(
    *kinds: str,
    low: str = "",
    high: str = "",
    above: str = "",
    below: str = "",
    also: tuple[str, ...] = (),
    needed: Needed | None = None,
    about: str = "",
) -> Any:
    """An optional field holding a quantity of one of `kinds`, with its hard limits."""
    lowest = Bound.read(low) if low else Bound.read(above, included=False) if above else None
    highest = Bound.read(high) if high else Bound.read(below, included=False) if below else None
    return _field(Of(kinds, lowest, highest, also), needed, about)


HEIGHT: dict[str, Any] = {"low": "-10000 m", "high": "10000 m"}
"""Hard limits of a height: one over the sea is taken, and told by the rule of the datum."""

OVER_DATUM = "Over the site datum."


def element(*kinds: str, low: str = "", high: str = "") -> Of:
    """What each element of a list of quantities may hold; none of them is empty."""
    return Of(
        kinds,
        Bound.read(low) if low else None,
        Bound.read(high) if high else None,
        optional=False,
    )


def optional(needed: Needed | None = None, about: str = "") -> Any:
    """An optional field of the annotated type."""
    return _field(None, needed, about)


def _field(of: Of | None, needed: Needed | None, about: str) -> Any:
    info: Any = Field(default=None, description=about or None)
    info.metadata.extend(mark for mark in (of, needed) if mark is not None)
    return info


def _text(given: object) -> object:
    if isinstance(given, NumberText):
        raise refusal("text", "expected text in quotation marks, got a number")
    return given


Text = Annotated[str, StringConstraints(max_length=LONGEST_TEXT), BeforeValidator(_text)]


def _said(given: str) -> str:
    if not given.strip():
        raise refusal("blank", "expected text, got nothing but blanks")
    return given


# Text that says something.
Words = Annotated[Text, AfterValidator(_said)]


def _identifier(given: object) -> object:
    if not isinstance(given, str):
        raise refusal("id", "expected a UUID as text")
    try:
        identity = UUID(given)
    except ValueError:
        pass
    else:
        if identity.int:
            return str(identity)
    raise refusal("id", "expected a UUID such as 01890a5d-ac96-774b-bcce-b302099a8057")


Id = Annotated[
    str, BeforeValidator(_identifier), WithJsonSchema({"type": "string", "format": "uuid"})
]


def _count(given: object) -> object:
    """A whole number, plain or as a quantity of unit 1."""
    if isinstance(given, dict) and set(given) == {"value", "unit"} and given["unit"] == "1":
        given = given["value"]
    if isinstance(given, str) and re.fullmatch(r"-?(0|[1-9][0-9]{0,8})(\.0+)?", given):
        return int(float(given))
    if isinstance(given, int) and not isinstance(given, bool):
        return given
    raise refusal("count", "expected a whole number")


_OR_DIGITS = {"type": ["integer", "string"], "description": "A whole number, or its digits."}
Count = Annotated[int, BeforeValidator(_count), Field(json_schema_extra=_OR_DIGITS)]


class Moment(str):
    """A time as it was given (RFC 3339 with offset), with the instant it means."""

    __slots__ = ()
    _PATTERN: ClassVar[re.Pattern[str]] = re.compile(
        r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt ][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?"
        r"([Zz]|[+-][0-9]{2}:[0-9]{2})"
    )

    @property
    def at(self) -> datetime:
        """The instant, aware of its offset."""
        return datetime.fromisoformat(self.upper())

    @classmethod
    def read(cls, given: object) -> "Moment":
        """Read an RFC 3339 time; the offset is kept."""
        if isinstance(given, str) and cls._PATTERN.fullmatch(given):
            moment = cls(given)
            try:
                moment.at.astimezone()
            except (ValueError, OverflowError):
                pass
            else:
                return moment
        raise refusal("time", "expected an RFC 3339 time with offset: 2026-03-14T09:30:00+01:00")

    @classmethod
    def __get_pydantic_core_schema__(
        cls, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(
            cls.read, serialization=core_schema.to_string_ser_schema()
        )

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {"type": "string", "format": "date-time"}


def _date(given: object) -> object:
    if isinstance(given, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", given):
        try:
            datetime.fromisoformat(given)
        except ValueError:
            pass
        else:
            return given
    raise refusal("date", "expected a date such as 2026-03-14")


Day = Annotated[str, BeforeValidator(_date), WithJsonSchema({"type": "string", "format": "date"})]


def even(number: int) -> int:
    """Refuse an odd number of poles."""
    if number % 2:
        raise refusal("poles", "expected an even number of poles")
    return number


Poles = Annotated[Count, Field(ge=2, le=24), AfterValidator(even)]


def at_most(longest: int) -> Callable[[list[Any]], list[Any]]:
    """Refuse a list of more than `longest` elements."""

    def check(given: list[Any]) -> list[Any]:
        if len(given) > longest:
            raise refusal("too_long", f"expected at most {longest} elements, got {len(given)}")
        return given

    return check


SHORT_LIST = AfterValidator(at_most(LONGEST_LIST))
