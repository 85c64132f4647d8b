"""Rule of the speed that a controller outside asks for by its signal."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule
from calculations.rules.closeness import above
from calculations.rules.scope import has_drive

SIGNAL = "/settings/speed_reference_signal"
LOWER, UPPER = "/settings/frequency_at_lower_reference", "/settings/frequency_at_upper_reference"


def _reference(case: Case, place: str) -> Iterator[Finding]:
    lower, upper = case.require(LOWER, UPPER)
    if above(upper.si, lower.si):
        return
    fixed = not above(lower.si, upper.si)
    yield REFERENCE.finding(
        "one_speed" if fixed else "inverted", "review", case.place(place),
        compared={"lower": lower, "upper": upper, "signal": Shown(case.find(SIGNAL) or "", "")},
    )  # fmt: skip


REFERENCE = Rule(
    id="loop.speed-reference",
    title="Frequencies at the ends of the speed reference",
    severities=("review",),
    condition="The more a controller outside asks for, the faster the pump runs: the frequency at "
    "the lower end of its signal is below that at the upper end.",
    source="common practice, no source: a wire that breaks shall not ask for full speed",
    subject=LOWER,
    applies=lambda case: (
        has_drive(case)
        and case.is_("/settings/regulation", "speed_from_external_controller")
        and case.find(LOWER) is not None
        and case.find(UPPER) is not None
    ),
    check=_reference,
    sentences={
        "inverted": "The speed reference is upside down: {lower} at the lower end of the signal, "
        "{upper} at its upper end. The controller that asks for more gets less, and a broken wire "
        "that the drive does not notice asks for full speed.",
        "one_speed": "The speed reference means {lower} at both ends of the signal: the controller "
        "changes nothing.",
    },
    remedies={
        "inverted": "Exchange the two; or have the controller's output and direction confirmed, "
        "and what a broken wire does.",
        "one_speed": "Set the frequencies at the ends of the signal.",
    },
)
