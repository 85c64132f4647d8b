"""Parts of a plot that cannot be drawn, and why."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from calculations.case import Missing, Waits
from calculations.errors import Beyond, InvalidInput

Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class Lacking:
    """A part of a plot that is not there: places it needs, the rule it waits for, or why."""

    part: str
    needs: tuple[str, ...] = ()
    waits_for: str = ""
    because: str = ""


def tried(part: str, compute: Callable[[], Found]) -> Found | Lacking:
    """What `compute` gives, or what it lacks."""
    try:
        return compute()
    except Missing as missing:
        return Lacking(part, missing.places, because=missing.because)
    except Waits as waits:
        return Lacking(part, waits_for=waits.rule)
    except InvalidInput as error:
        return Lacking(part, because=str(error))
    except ArithmeticError:
        return Lacking(part, because=str(Beyond()))


class Parts:
    """Parts of a plot as far as they are known; `lacking` is why the others are not."""

    def __init__(self) -> None:
        self.lacking: list[Lacking] = []

    def of(self, part: str, compute: Callable[[], Found]) -> Found | None:
        """The part, or None."""
        found = tried(part, compute)
        if isinstance(found, Lacking):
            self.lacking.append(found)
            return None
        return found
