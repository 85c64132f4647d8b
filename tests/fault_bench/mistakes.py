"""What a mistake is, and the register of all kinds."""

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module

from .stand import Entered
from .writing import Document, q

Change = Callable[[Entered], "bool | None"]


@dataclass(frozen=True)
class Mistake:
    """One kind of single mistake: what it does to a clean entry, and the rule that must tell it.

    `change` returns False where the entry has no place for it.
    """

    name: str
    rule: str
    change: Change


_KINDS: list[Mistake] = []
_MODULES = (
    "on_plates",
    "on_drives",
    "on_loops",
    "on_levels",
    "on_readings",
    "on_sensors",
    "on_records",
    "on_running",
)


def mistake(name: str, rule: str) -> Callable[[Change], Change]:
    """Register a kind of mistake."""

    def register(change: Change) -> Change:
        _KINDS.append(Mistake(name, rule, change))
        return change

    return register


def mistake_on_a_drive(name: str, rule: str) -> Callable[[Change], Change]:
    """Register a kind of mistake that only a set with a drive has a place for."""

    def register(change: Change) -> Change:
        return mistake(name, rule)(lambda e: change(e) if e.station.driven else False)

    return register


def kinds() -> tuple[Mistake, ...]:
    """Every kind, in the order of the modules."""
    for name in _MODULES:
        import_module(f"tests.fault_bench.{name}")
    return tuple(_KINDS)


def number(quantity: Document) -> float:
    """The figure of a quantity."""
    return float(quantity["value"])


def times(quantity: Document, factor: float, digits: int = 3) -> Document:
    """The quantity times a factor, to significant digits, in its unit."""
    from .writing import significant

    return q(significant(number(quantity) * factor, digits), quantity["unit"])


def in_unit(quantity: Document, unit: str) -> Document:
    """The same digits in another unit."""
    return q(quantity["value"], unit)


def swapped(text: str) -> str | None:
    """The first two digits exchanged; None where nothing changes."""
    digits = [index for index, sign in enumerate(text) if sign.isdigit()]
    if len(digits) < 2:
        return None
    signs = list(text)
    first, second = digits[:2]
    signs[first], signs[second] = signs[second], signs[first]
    found = "".join(signs)
    return None if found == text or found[0] == "0" else found
