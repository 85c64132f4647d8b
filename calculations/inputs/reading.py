"""Reading a document into typed inputs, with every error at once and its place."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from calculations.errors import CalculationError

Model = TypeVar("Model", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Problem:
    """One value that cannot be taken: its JSON Pointer (RFC 6901), a code, what was expected."""

    pointer: str
    code: str
    detail: str


class InvalidDocument(CalculationError, ValueError):
    """A document holds values that cannot be taken; all of them are listed."""

    code = "invalid-document"

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{p.pointer}: {p.detail}" for p in self.problems))


def read(model: type[Model], document: object, at: str = "") -> Model:
    """Read `document` as `model`; `InvalidDocument` lists all problems; pointers begin `at`."""
    try:
        return model.model_validate(document)
    except ValidationError as error:
        details = error.errors(include_url=False, include_input=False)
        raise InvalidDocument(_problem(detail, at) for detail in details) from None


def pointer(*steps: str | int) -> str:
    """A JSON Pointer (RFC 6901) through `steps`."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in steps)


_CODES = {
    "extra_forbidden": ("unknown_field", "there is no such field here"),
    "missing": ("required", "this field is required"),
    "string_type": ("text", "expected text"),
    "string_too_long": ("too_long", "expected at most 2,000 characters"),
    "bool_type": ("boolean", "expected true or false"),
    "list_type": ("list", "expected a list"),
    "model_type": ("object", "expected an object"),
    "model_attributes_type": ("object", "expected an object"),
}
# Limits that a field states itself, in the words of all others.
_LIMITS = {
    "greater_than_equal": ("out_of_range", "expected at least {ge}"),
    "greater_than": ("out_of_range", "expected more than {gt}"),
    "less_than_equal": ("out_of_range", "expected at most {le}"),
    "less_than": ("out_of_range", "expected less than {lt}"),
    "too_short": ("too_short", "expected at least {min_length} elements, got {actual_length}"),
    "too_long": ("too_long", "expected at most {max_length} elements, got {actual_length}"),
}


def _problem(detail: ErrorDetails, at: str) -> Problem:
    context: dict[str, Any] = detail.get("ctx", {})
    inside = str(context.get("inside", ""))
    place = at + pointer(*detail["loc"]) + (f"/{inside}" if inside else "")
    code, words = _CODES.get(detail["type"], (detail["type"], detail["msg"]))
    if "message" not in context and detail["type"] in _LIMITS:
        code, words = _LIMITS[detail["type"]]
        words = words.format(**context).replace("at least 1 elements", "at least one element")
    if code == "literal_error":
        code, words = "choice", f"expected one of {_choices(str(context['expected']))}"
    return Problem(place, code, words)


def _choices(expected: str) -> str:
    return expected.replace("'", "").replace(" or ", ", ")
