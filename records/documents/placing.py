"""What of a record has found its place in a document, so that nothing is dropped in silence."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from calculations.inputs.reading import pointer

step = cache(pointer)

# Said by the document as a whole, or in its list of identifiers.
IDENTIFIERS = ("id", "site")
Named = tuple[str, Any]


@dataclass(slots=True)
class _Ledger:
    """Places whose whole value has been placed, and places that are being taken from."""

    placed: set[str] = field(default_factory=set)
    opened: set[str] = field(default_factory=set)


class Part:
    """One object of a record: whatever is taken from it counts as placed."""

    def __init__(
        self, value: Mapping[str, Any], at: str = "", ledger: _Ledger | None = None
    ) -> None:
        self.value = value
        self.at = at
        self.ledger = ledger or _Ledger()

    def take(self, name: str) -> Any:
        """A value, for the caller to place as a whole; None if there is none."""
        self.ledger.placed.add(self.at + step(name))
        return self.value.get(name)

    def see(self, name: str) -> Any:
        """A value without placing it."""
        return self.value.get(name)

    def part(self, name: str) -> "Part":
        """An object inside, to take from; an empty one if there is none."""
        at = self.at + step(name)
        value = self.value.get(name)
        if not isinstance(value, Mapping):
            return Part({}, at, self.ledger)
        self.ledger.opened.add(at)
        return Part(value, at, self.ledger)

    def parts(self, name: str) -> list["Part"]:
        """The objects of a list inside, to take from."""
        value = self.value.get(name)
        listed = value if isinstance(value, Sequence) and not isinstance(value, str) else ()
        at = self.at + step(name)
        self.ledger.opened.add(at)
        return [
            Part(element, at + step(index), self.ledger)
            for index, element in enumerate(listed)
            if isinstance(element, Mapping)
        ]

    def rest(self, order: Iterable[str] = (), leave: Sequence[str] = IDENTIFIERS) -> list[Named]:
        """Everything not placed yet except `leave`, in `order`, unknown names last; now placed."""
        free = [name for name in self.value if name not in leave and self._free(name)]
        rank = {name: index for index, name in enumerate(order)}
        free.sort(key=lambda name: (rank.get(name, len(rank)), name))
        return [(name, self.take(name)) for name in free]

    def _free(self, name: str) -> bool:
        place = self.at + step(name)
        return place not in self.ledger.placed and place not in self.ledger.opened

    def unplaced(self) -> Iterator[tuple[str, Any]]:
        """Every single value that was not placed, with its JSON Pointer."""
        return _unplaced(self.value, self.at, self.ledger.placed)

    def __bool__(self) -> bool:
        return bool(self.value)


def _unplaced(value: Any, at: str, placed: set[str]) -> Iterator[tuple[str, Any]]:
    if at in placed:
        return
    if isinstance(value, Mapping) and value and set(value) != {"value", "unit"}:
        for name, child in value.items():
            yield from _unplaced(child, at + step(name), placed)
    elif isinstance(value, list) and value:
        for index, child in enumerate(value):
            yield from _unplaced(child, at + step(index), placed)
    else:
        yield at, value
