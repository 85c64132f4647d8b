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

    `change` returns False where the entry has no place for it. `by_note`: the rule only notes it.
    `stops`: it has to be a stop. `without_curve`: for pumps without a curve alone; others are for
    those that have one.
    """

    name: str
    rule: str
    change: Change
    by_note: bool = False
    without_curve: bool = False
    stops: bool = False

    def concerns(self, entered: Entered) -> bool:
        """Whether the pump has a curve, where that is wanted, or none."""
        return bool(entered.document["pump"].get("curve_points")) is not self.without_curve


_KINDS: list[Mistake] = []
_MODULES = (
    "on_plates",
    "on_drives",
    "on_loops",
    "on_kept",
    "on_levels",
    "on_readings",
    "on_sensors",
    "on_traces",
    "on_meters",
    "on_records",
    "on_running",
    "on_guards",
    "on_mains",
    "on_machines",
    "on_points",
    "on_groups",
    "on_trends",
)


NOT_SINGLY = {
    "motor.full-load-current-table": "a plate that disagrees with itself is told by its power "
    "balance; one that agrees and is off the table is a motor, not a mistake",
    "drive.motor-voltage": "volts per hertz tell one wrong voltage; it takes a wrong frequency of "
    "nearly the same share beside it",
    "speed.minimum-pressure": "a minimum frequency so high stands above the frequencies of the "
    "day's own points, its sleep and its trace",
    "station.stand-by": "sets of the bench beside another one have a drive like its own",
    "record.not-received": "no document says it: whoever stores the files does",
}
"""Rules that no single mistake of a whole entry lights alone, and why."""


def mistake(
    name: str,
    rule: str,
    *,
    by_note: bool = False,
    without_curve: bool = False,
    stops: bool = False,
) -> Callable[[Change], Change]:
    """Register a kind of mistake."""

    def register(change: Change) -> Change:
        _KINDS.append(Mistake(name, rule, change, by_note, without_curve, stops))
        return change

    return register


def mistake_on_a_drive(
    name: str, rule: str, *, by_note: bool = False
) -> Callable[[Change], Change]:
    """Register a kind of mistake that only a set with a drive has a place for."""

    def register(change: Change) -> Change:
        on_a_drive = mistake(name, rule, by_note=by_note)
        return on_a_drive(lambda e: change(e) if e.station.driven else False)

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
