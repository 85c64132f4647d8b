"""What callers send, typed: every value that cannot be taken is named at once."""

from typing import Any, TypeVar

from pydantic import BaseModel

from calculations.inputs.reading import InvalidDocument, read
from records.errors import Invalid

Model = TypeVar("Model", bound=BaseModel)


def read_input(model: type[Model], given: Any) -> Model:
    """The document; `Invalid` names what cannot be taken."""
    try:
        return read(model, given)
    except InvalidDocument as error:
        raise Invalid(problems=error.problems) from None
