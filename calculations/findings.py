"""What judging says: findings, derived values, and what could not be judged."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from calculations.errors import Beyond

Severity = Literal["stop", "review", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "review", "note")


class Shown(NamedTuple):
    """A value as people read it: digits and unit."""

    value: str
    unit: str

    def __str__(self) -> str:
        if self.unit in ("1", ""):
            return self.value
        return f"{self.value} {self.unit}"

    def as_document(self) -> dict[str, str]:
        """As it stands in documents."""
        return {"value": self.value, "unit": self.unit}


class Compared(NamedTuple):
    """One of the values that a finding compares."""

    name: str
    shown: Shown


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule says about one subject: a code with its parameters.

    The sentence is made from `variant` and `parameters` by the catalogue, so that another
    language needs no other rule.
    """

    rule: str
    variant: str
    severity: Severity
    subject: str
    parameters: Mapping[str, str] = field(default_factory=dict)
    compared: tuple[Compared, ...] = ()
    limit: str = ""


class NotEvaluated(NamedTuple):
    """A rule that could not judge: what it needs, or which finding it waits for.

    `because` says why what stands at a place will not do, where something stands there.
    """

    rule: str
    subject: str
    needs: tuple[str, ...] = ()
    waits_for: str = ""
    because: str = ""


class Derived(NamedTuple):
    """A value that follows from what is known, with its formula and source."""

    id: str
    subject: str
    si: float
    shown: Shown
    formula: str
    source: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """Everything that can be said of one subject under one catalogue.

    `judged` counts the places at which a rule came to a verdict, whatever that was.
    """

    catalogue: str
    derived: tuple[Derived, ...]
    findings: tuple[Finding, ...]
    not_evaluated: tuple[NotEvaluated, ...]
    judged: int = 0


_FORMATS = tuple(f".{significant}g" for significant in range(18))
"""By how many significant digits; floats have no more."""


def digits(value: float, significant: int = 4) -> str:
    """A computed value with so many significant digits, never in exponent form.

    Raises InvalidInput where the value is not finite.
    """
    text = f"{value:{_FORMATS[significant]}}"
    if "n" in text:
        raise Beyond  # inf and nan
    if "e" in text:
        text = f"{float(text):.0f}" if abs(value) >= 1 else f"{float(text):.12f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text
