"""What changed from what to what, place by place, in the words of records."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from records.documents import labels
from records.documents.shown import Shown, is_quantity

# Names of rows and digests are for programs: the API has them.
_FOR_PROGRAMS = frozenset(
    {"answer", "attachment", "digest", "finding", "id", "record", "sha256", "signature", "trace"}
)
_GONE = object()


@dataclass(frozen=True, slots=True)
class Line:
    """One place, with what stood there and what stands there."""

    place: str
    before: str
    after: str


def lines(before: Any, after: Any, shown: Shown) -> list[Line]:
    """Every place that two merge patches lead to; a dash where nothing stood or stands."""
    return list(_walk("", before or {}, after or {}, shown))


def _walk(at: str, old: Any, new: Any, shown: Shown) -> Iterator[Line]:
    if old == new:
        return
    if _is_object(old) and _is_object(new):
        yield from _inside(at, old, new, shown)
    elif _is_listed(old) and _is_listed(new):
        yield from _inside(at, *_paired(old, new), shown)
    else:
        name = next(step for step in reversed(at.split("/")) if not step.isdigit())
        words = [shown.words(name, None if side is _GONE else side) for side in (old, new)]
        yield Line(labels.sentence(labels.place(at)), *words)


def _inside(
    at: str, old: Mapping[str, Any], new: Mapping[str, Any], shown: Shown
) -> Iterator[Line]:
    for name in dict.fromkeys((*old, *new)):
        if name not in _FOR_PROGRAMS:
            yield from _walk(f"{at}/{name}", old.get(name, _GONE), new.get(name, _GONE), shown)


def _is_object(value: Any) -> bool:
    return isinstance(value, Mapping) and not is_quantity(value)


def _is_listed(value: Any) -> bool:
    return isinstance(value, list) and all(_is_object(each) for each in value)


def _paired(old: list[Any], new: list[Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Elements by where they stand now: one with an id is the same wherever it stands."""
    places = {each["id"]: str(index) for index, each in enumerate(new) if "id" in each}
    gone = (str(index) for index in range(len(new), len(new) + len(old)))
    paired = {}
    for index, each in enumerate(old):
        stays = places.get(each["id"]) if "id" in each else str(index)
        paired[stays or next(gone)] = each
    return paired, {str(index): each for index, each in enumerate(new)}
