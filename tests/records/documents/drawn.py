"""Records drawn by number: parts left out, lists and texts stretched, numbers at their limits.

The same number gives the same record. What is drawn keeps to what its field takes, but for the
remarks, which are longer than is taken today.
"""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, StringConstraints, ValidationError
from pydantic_core import PydanticCustomError

from calculations.inputs.base import Of
from calculations.inputs.subject import Subject
from records.document_style import Style
from records.documents.charts.beside import NOTHING, Beside
from records.services.event_checks import REQUIRED
from tests.calculations import building
from tests.records.documents import demo, drawn_texts, full, sample
from tests.records.documents.test_figures import beside

Document = dict[str, Any]

STYLES = [Style(units, paper) for units in ("entered", "si", "us")
          for paper in ("usual", "a4", "letter")]  # fmt: skip
DIGITS = (
    "0", "-0", "-0.0", "1e-300", "-1e30", "1E+30", "999999999.9999999", "1234567890.5",
    "0.12345678901234567890123456789012345678", "12345678901234567890.1234567890123456789",
)  # fmt: skip


@dataclass(frozen=True)
class Drawn:
    """A record, how it is to be printed, and what its figures get beside it."""

    record: Document
    style: Style
    beside: Beside


def drawn(number: int) -> Drawn:
    """The record of this number."""
    draw = Random(f"record {number}")
    return Drawn(_record(draw), draw.choice(STYLES), draw.choice((NOTHING, beside())))


def subject(number: int) -> Document:
    """The subject of this number, of all that can be judged at all."""
    draw = Random(f"subject {number}")
    made = draw.choice((sample.record, _metric, _of_the_demo(draw)))()
    return _Bending(draw).document(Subject, made["snapshot"] | {"event": made["event"]})


def _record(draw: Random) -> Document:
    make = draw.choice((sample.record, _metric, _of_the_demo(draw), full.record))
    made = make()
    subject = _Bending(draw).document(Subject, made["snapshot"] | {"event": made["event"]})
    # What is fullest is out of every range, so that nothing can be judged of it.
    judgement = made["judgement"] if make is full.record else sample.judged(subject)
    event = {**subject.pop("event"), "id": sample.EVENT_ID, "remarks": drawn_texts.remarks(draw)}
    findings = _findings(draw, judgement["findings"])
    return made | {
        "event": event,
        "snapshot": subject,
        "judgement": judgement | {"findings": findings},
        "answers": [_answer(draw, *each) for each in enumerate(findings) if draw.random() < 0.8],
        "signatures": [_named(draw, each) for each in sample.signatures()[: draw.randint(0, 2)]],
        "client": made["client"] | {"name": drawn_texts.name(draw)},
        "contractor": made["contractor"] | {"name": drawn_texts.name(draw)},
    }


def _metric() -> Document:
    return sample.record(building.in_metric(sample.adjusted()))


def _of_the_demo(draw: Random) -> Callable[[], Document]:
    name = draw.choice(demo.names())
    return lambda: demo.record_of(name)


def _findings(draw: Random, made: list[Document]) -> list[Document]:
    """From none to forty: those that were made, and made again."""
    count = draw.choice((0, 1, len(made), len(made), 40))
    again = [sample.finding(number, draw.choice(made)) for number in range(count)]
    ids = [f"0195a1b2-0000-7000-8000-0000000005{number:02d}" for number in range(count)]
    return [each | {"id": identity} for each, identity in zip(again, ids, strict=True)]


def _answer(draw: Random, number: int, finding: Document) -> Document:
    words = drawn_texts.text(draw, draw.choice((1, 80, 80, 2000)))
    return sample.answer(number, finding) | {"text": words, "accepted": draw.random() < 0.8}


def _named(draw: Random, signature: Document) -> Document:
    return signature | {"by": signature["by"] | {"name": drawn_texts.name(draw)}}


class _Bending:
    """Draws another document of a model from a given one, each time as much of it."""

    # What every event has, and the event itself.
    kept = frozenset({*REQUIRED, "event"})

    def __init__(self, draw: Random) -> None:
        self.draw = draw
        self.without, self.texts, self.numbers = (draw.choice((0, 0.02, 0.1, 0.5)) for _ in "123")
        self.lists = draw.choice((0, 0.1, 0.5))
        self.longest = 40
        # Elements of stretched lists, and characters: a record stays one that can be read back.
        self.room, self.characters = 120, 20_000

    def document(self, model: type[BaseModel], given: Document) -> Document:
        """Another document, without some of its parts."""
        made = {}
        for name, info in model.model_fields.items():
            name = info.alias or name
            if name not in given:
                continue
            optional = not info.is_required() and name not in self.kept
            if optional and self._happens(self.without):
                if self._happens(0.5):
                    made[name] = self._emptied(given[name])
                continue
            made[name] = self._value(given[name], info.annotation, info.metadata)
        return made if _reads(model, made) or not _reads(model, given) else given

    def _happens(self, chance: float) -> bool:
        return self.draw.random() < chance

    @staticmethod
    def _emptied(given: Any) -> Any:
        if _is_list_of_parts(given):
            return []
        return {} if _is_part(given) else None

    def _value(self, given: Any, annotation: Any, marks: list[Any]) -> Any:
        of = next((mark for mark in marks if isinstance(mark, Of)), None)
        origin, inner = get_origin(annotation), get_args(annotation)
        if given is None:
            return None
        if of is not None:
            return self._quantity(given, of)
        if origin is Annotated:
            return self._value(given, inner[0], [*marks, *inner[1:]])
        if origin in (Union, UnionType):
            return self._value(given, inner[0], marks)
        if origin is list:
            return self._list(given, inner[0])
        if origin is Literal:
            return self.draw.choice(inner) if self._happens(self.numbers) else given
        if isinstance(given, dict):
            return self.document(annotation, given)
        if any(isinstance(mark, StringConstraints) for mark in marks):
            return self._text(given)
        return given

    def _list(self, given: list[Any], kind: Any) -> list[Any]:
        if _is_list_of_parts(given) and self._happens(self.lists):
            given = self.draw.choices(given, k=self._length())
        return [self._value(each, kind, []) for each in given]

    def _length(self) -> int:
        """How many elements; one list of a record is very long."""
        length = self.draw.choice((1, 2, 5, 12, self.longest))
        self.longest = 12 if length == self.longest else self.longest
        length = min(length, max(self.room, 1))
        self.room -= length
        return length

    def _quantity(self, given: Any, of: Of) -> Any:
        if not self._happens(self.numbers):
            return given
        units = [given["unit"]] if isinstance(given, dict) else []
        tried = [{"value": digits, "unit": unit} for digits in DIGITS for unit in units]
        for bound in (each for each in (of.low, of.high) if each):
            digits, _, unit = bound.text.partition(" ")
            tried.append({"value": digits, "unit": unit})
        taken = [each for each in tried if _takes(of, each)]
        return self.draw.choice(taken) if taken else given

    def _text(self, given: str) -> str:
        words = drawn_texts.name(self.draw) if self._happens(self.texts) else given
        if not words.strip() or len(words) > self.characters:
            return given
        self.characters -= len(words)
        return words


def _is_list_of_parts(given: Any) -> bool:
    return isinstance(given, list) and bool(given) and _is_part(given[0])


def _is_part(given: Any) -> bool:
    return isinstance(given, dict) and "unit" not in given


def _reads(model: type[BaseModel], given: Document) -> bool:
    try:
        model.model_validate(given)
    except ValidationError:
        return False
    return True


def _takes(of: Of, given: Document) -> bool:
    try:
        of.read(given)
    except PydanticCustomError:
        return False
    return True
