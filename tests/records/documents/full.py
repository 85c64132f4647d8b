"""A record in which every field of every document holds a value of its own."""

from itertools import count
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from calculations.inputs.base import Moment, Of
from calculations.inputs.subject import Subject
from calculations.units import KINDS
from tests.records.documents import sample

Document = dict[str, Any]


class Filler:
    """Gives every field a value that occurs nowhere else, where its kind allows that."""

    def __init__(self) -> None:
        self.numbers = count(100001)

    def document(self, model: type[BaseModel]) -> Document:
        """A document with every field of a model."""
        return {
            info.alias or name: self._value(name, info.annotation, info.metadata)
            for name, info in model.model_fields.items()
        }

    def _value(self, name: str, annotation: Any, metadata: list[Any]) -> Any:
        quantity = next((mark for mark in metadata if isinstance(mark, Of)), None)
        if quantity is not None:
            return self._quantity(quantity)
        origin, inner = get_origin(annotation), get_args(annotation)
        if origin is Annotated:
            return self._value(name, inner[0], [*metadata, *inner[1:]])
        if origin in (Union, UnionType):
            return self._value(name, inner[0], metadata)
        if origin is Literal:
            return inner[0]
        if origin is list:
            return [self._value(name, inner[0], []) for _ in range(3)]
        return self._single(name, annotation)

    def _single(self, name: str, annotation: Any) -> Any:
        number = next(self.numbers)
        if issubclass(annotation, BaseModel):
            return self.document(annotation)
        if issubclass(annotation, Moment):
            return f"2026-03-14T09:30:00.{number}-05:00"
        if annotation is bool:
            return True
        return number if annotation is int else f"t{number} {name}"

    def _quantity(self, of: Of) -> Document:
        unit = KINDS[of.kinds[0]][0]
        return {"value": f"{next(self.numbers)}.5", "unit": unit}


def record() -> Document:
    """The fullest record there can be."""
    subject = Filler().document(Subject)
    event = subject.pop("event")
    subject["site"]["time_zone"] = "America/Chicago"
    made = sample.record()
    judgement = made["judgement"] | {"not_evaluated": LACKING}
    corrects = {"record_id": "t90001 record", "number": 90002, "reason": "t90003 reason"}
    return made | {
        "event": event,
        "snapshot": subject,
        "judgement": judgement,
        "corrects": corrects,
    }


LACKING = [
    {"rule": "motor.slip", "subject": "/motor", "needs": ["/motor/poles", "/motor/ratings/0"]},
    {"rule": "motor.poles", "subject": "/motor", "waits_for": "motor.slip"},
    {
        "rule": "insulation.minimum",
        "subject": "/event/motor_tests/insulation",
        "needs": ["/event/motor_tests/insulation/winding_temperature"],
        "because": "the temperature is not one that a winding has",
    },
]
