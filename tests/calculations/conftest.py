"""What is asked of a case, and what is refused, has to make sense in every test.

A misspelt word would make a rule silent for ever, and no error would tell it.
"""

from collections.abc import Callable, Iterator
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import pytest
from pydantic import BaseModel

from calculations.case import Case, Missing, Placed, Waits, placed_by
from calculations.catalogue import RULES
from calculations.errors import InvalidInput
from calculations.inputs.motor import Rating
from calculations.inputs.sensor import Sensor
from calculations.inputs.settings import Settings
from calculations.inputs.subject import Subject

RULE_IDS = {each.id for each in RULES}


@pytest.fixture(scope="module", autouse=True)
def _everything_asked_and_refused_makes_sense() -> Iterator[None]:
    """In each module here, and taken back after it: other tests judge what nobody would write."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Case, "is_", _with_words_of_the_closed_list(Case.is_))
        for error, holds in ((InvalidInput, _argued), (Missing, _missed), (Waits, _waited)):
            patch.setattr(error, "__init__", _where(holds, error.__init__))
        patch.setattr(Placed, "__missing__", _of_a_part_that_there_is(Placed.__missing__))
        placed_by.cache_clear()  # what was put together before was not looked at
        yield


# -- words of closed lists ------------------------------------------------------------------------

SHORTER: dict[str, Any] = {
    "settings": Settings,
    "rating": Rating,
    **dict.fromkeys(("regulating_sensor", "suction_sensor", "flow_meter", "level_sensor"), Sensor),
}
"""What the shorter names stand for by which a case is asked."""


def _with_words_of_the_closed_list(is_: Callable[..., bool]) -> Callable[..., bool]:
    def checked(case: Case, pointer: str, *words: str) -> bool:
        if not set(words) <= words_at(pointer):
            pytest.fail(f"{pointer} never holds one of {words}")
        return is_(case, pointer, *words)

    return checked


def _of_a_part_that_there_is(place: Callable[..., str]) -> Callable[..., str]:
    def checked(placed: Placed, pointer: str) -> str:
        if pointer[1:].partition("/")[0] not in {*SHORTER, *Subject.model_fields}:
            pytest.fail(f"no part of a subject holds {pointer}")
        return place(placed, pointer)

    return checked


@cache
def words_at(pointer: str) -> frozenset[str]:
    """The closed list of the field at a place of a subject."""
    first, *steps = pointer[1:].split("/")
    kind = SHORTER[first] if first in SHORTER else Subject.model_fields[first].annotation
    for step in steps:
        (holder,) = [each for each in _choices(kind) if step.isdigit() or _is_model(each)]
        kind = get_args(holder)[0] if step.isdigit() else holder.model_fields[step].annotation
    return frozenset(word for each in _choices(kind) for word in _words(each))


def _choices(kind: Any) -> list[Any]:
    """What a field may hold, without None and what is annotated."""
    if get_origin(kind) is Annotated:
        return _choices(get_args(kind)[0])
    if get_origin(kind) in (Union, UnionType):
        return [each for one in get_args(kind) for each in _choices(one)]
    return [] if kind is type(None) else [kind]


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _words(kind: Any) -> tuple[str, ...]:
    return get_args(kind) if get_origin(kind) is Literal else ()


# -- refusals -------------------------------------------------------------------------------------


def _where(holds: Callable[[Any], bool], made: Callable[..., None]) -> Callable[..., None]:
    def checked(error: Any, *given: Any, **named: Any) -> None:
        made(error, *given, **named)
        if not holds(error):
            pytest.fail(f"{type(error).__name__} {given} {named}")

    return checked


NAMES = ("American",)


def _goes_on(words: str) -> bool:
    """Whether it can stand behind a colon: a whole phrase, in lower case."""
    return "None" not in words and (not words[:1].isupper() or words.startswith(NAMES))


def _argued(error: InvalidInput) -> bool:
    return error.argument.isidentifier() and bool(error.message) and _goes_on(error.message)


def _missed(error: Missing) -> bool:
    return all(place.startswith("/") for place in error.places) and _goes_on(error.because)


def _waited(error: Waits) -> bool:
    return error.rule in RULE_IDS
