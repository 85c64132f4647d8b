"""Rules of the controller's terms: gain, integral, derivative, and the filter before it."""

from collections.abc import Iterator
from math import inf

from calculations.aspects import loop
from calculations.case import Case
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, percent, roughly, show
from calculations.rules.closeness import above, below
from calculations.units import Quantity

GAIN, FILTER = "/settings/proportional_gain", "/settings/feedback_filter_time"
DAMPING = "/regulating_sensor/damping_time"
QUICK = (*loop.PRESSURES, "flow")
"""What follows the pump within seconds; a level takes its time."""

SLOW_ERROR, SMALL_ERROR = 0.10, 0.01
"""Errors [1] of span that a loop is tried with, in thought; no source."""


# -- integral -------------------------------------------------------------------------------------


def _integral_off(case: Case, place: str) -> Iterator[Finding]:
    integral = case.require("/settings/integral_time")[0]
    off = integral == "off" or integral.si == 0
    if off:
        case.require("/settings/regulated_quantity")
    on_level = case.is_("/settings/regulated_quantity", *loop.LEVELS)
    if off and not on_level:
        written = Shown("off", "") if integral == "off" else integral
        yield INTEGRAL_OFF.finding("off", "review", place, compared={"integral_time": written})


INTEGRAL_OFF = Rule(
    id="loop.integral-off",
    title="Integral part of the controller in use",
    severities=("review",),
    condition="The integral time is neither off nor zero, except on level, where a lasting "
    "difference is often wanted.",
    source="derived: without an integral part a loop keeps a lasting difference",
    subject="/settings/integral_time",
    needs=("/settings/integral_time",),
    applies=loop.is_closed,
    check=_integral_off,
    sentences={
        "off": "The integral time is {integral_time}: the loop keeps a lasting difference from "
        "its set point.",
    },
    remedies={"off": "Set an integral time; some drives switch it off at 0."},
)


def _derivative(case: Case, place: str) -> Iterator[Finding]:
    derivative = case.quantity("/settings/derivative_time")
    if derivative.si > 0:
        yield DERIVATIVE.finding("on", "note", place, compared={"derivative_time": derivative})


DERIVATIVE = Rule(
    id="loop.derivative",
    title="Derivative part of the controller",
    severities=("note",),
    condition="The derivative time is zero.",
    source="common practice, no source: noise of pressure, level and flow makes it restless",
    subject="/settings/derivative_time",
    applies=lambda case: (
        loop.is_closed(case) and case.find("/settings/derivative_time") is not None
    ),
    check=_derivative,
    sentences={
        "on": "A derivative time of {derivative_time} is set: with pressure, level and flow it "
        "mostly amplifies noise.",
    },
)


# -- gain -----------------------------------------------------------------------------------------


def _gain(case: Case, place: str) -> Iterator[Finding]:
    gain = case.quantity(GAIN)
    quick = case.is_("/settings/regulated_quantity", *QUICK)
    if gain.si <= 0:
        if _answers_nothing(case):
            yield GAIN_RULE.finding("zero", "review", place, compared={"gain": gain})
        return
    swings = _as_a_switch(case, 1 / gain.si, quick)
    if swings:
        limit = case.limit(f"loop.gain.{'least' if quick else 'level'}")
        yield GAIN_RULE.finding(
            "switch", swings, place,
            compared={"gain": gain}, limit=f"at least {percent(limit)} of span",
            band=percent(1 / gain.si), probably=_in_percent(gain),
        )  # fmt: skip
    elif quick:
        yield from _time_of_integral(case, place, gain)


def _answers_nothing(case: Case) -> bool:
    """Whether without a gain nothing is left: the integral part is multiplied by it, or is off."""
    alone = case.is_("/settings/gain_form", "parallel")
    return not alone or _integral_time(case) == inf


def _as_a_switch(case: Case, band: float, quick: bool) -> Severity | None:
    """How grave it is that so small an error [1] moves the output over its whole range."""
    if not quick:
        return "review" if below(band, case.limit("loop.gain.level")) else None
    if below(band, case.limit("loop.gain.least")):
        return "review"
    return "note" if below(band, case.limit("loop.gain.narrow")) else None


def _in_percent(gain: Quantity) -> str:
    """The likely slip: a gain that is shown in % entered as a factor."""
    return f"Probably {gain.value} %. " if gain.unit != "%" else ""


def _integral_time(case: Case) -> float | None:
    """Integral time [s]; infinite where it is off, None where it is not known."""
    found = case.find("/settings/integral_time")
    if found is None:
        return None
    return inf if found == "off" or found.si == 0 else float(found.si)


def _time_of_integral(case: Case, place: str, gain: Quantity) -> Iterator[Finding]:
    """How long the loop takes to move its output over the whole range, at one and ten percent."""
    integral = _integral_time(case)
    if integral is None or integral == inf:
        return
    compared = {"gain": gain, "integral_time": case.quantity("/settings/integral_time")}
    fast, slow = (_time(case, gain.si, integral, error) for error in (SMALL_ERROR, SLOW_ERROR))
    least, longest = case.limit("loop.gain.fastest"), case.limit("loop.gain.slowest")
    if below(fast, least):
        yield GAIN_RULE.finding(
            "fast", "review", place, compared=compared | {"time": roughly(fast, "s")},
            limit=f"at least {show(least, 's')}", error=percent(SMALL_ERROR),
        )  # fmt: skip
    elif _is_hasty(case, gain.si, integral):
        yield GAIN_RULE.finding(
            "hasty", "review", case.place("/settings/integral_time"),
            compared={
                "integral_time": case.quantity("/settings/integral_time"),
                "late": roughly(_late(case), "s"),
            },
            limit=f"at least {percent(case.limit('loop.gain.late'))} of that",
        )  # fmt: skip
    elif above(slow, longest):
        yield GAIN_RULE.finding(
            "slow", "review", place, compared=compared | {"time": roughly(slow, "h")},
            limit=f"at most {show(longest, 'h')}", error=percent(SLOW_ERROR),
        )  # fmt: skip


def _is_hasty(case: Case, gain: float, integral: float) -> bool:
    """Whether an integral part that counts is much quicker than an ordinary feedback can show."""
    if above(_late(case), case.limit("loop.feedback-filter.long")):
        return False
    counts = not below(gain, case.limit("loop.gain.counts"))
    return counts and below(integral, case.limit("loop.gain.late") * _late(case))


def _late(case: Case) -> float:
    """By how much filter and damping hold the feedback back [s]."""
    return float(sum(found.si for found in map(case.find, (FILTER, DAMPING)) if found is not None))


def _time(case: Case, gain: float, integral: float, error: float) -> float:
    """Time until an error [1] that stays has moved the output by all of its range [s]."""
    of_integral = 1.0 if case.is_("/settings/gain_form", "parallel") else gain
    return (1 / error - gain) * integral / of_integral


GAIN_RULE = Rule(
    id="loop.gain",
    title="Gain and integral time against what they do to the output",
    severities=("review", "note"),
    condition="Of pressure or flow, an error of 2 % of span does not move the output over its "
    "whole range at once (note: 10 %), one of 1 % that stays takes 2 s and more for it, and one of "
    "10 % no more than an hour; from a gain of 0.5 on the integral time is not below 30 % of "
    "filter and damping, where these are ordinary; of a level, 0.5 % of span does not at once. The "
    "gain is not zero, except in parallel form with an integral part.",
    source="derived: u = K (e + integral of e / T) in series, K e + integral of e / T in parallel; "
    "limits: common practice, no source",
    subject=GAIN,
    needs=("/settings/regulated_quantity",),
    applies=lambda case: loop.is_closed(case) and case.find(GAIN) is not None,
    check=_gain,
    limits={
        "narrow": Limit(10, "%", "error that is the whole output, to be noted", "higher",
                        "common practice"),
        "least": Limit(2, "%", "error that is the whole output", "higher", "common practice"),
        "level": Limit(0.5, "%", "the same of a level", "higher", "common practice"),
        "fastest": Limit(2, "s", "at an error of 1 % of span", "higher", "common practice"),
        "slowest": Limit(1, "h", "at an error of 10 % of span", "lower", "common practice"),
        "late": Limit(30, "%", "integral time over filter and damping", "higher", "from memory"),
        "counts": Limit(0.5, "1", "gain from which on that counts", "lower", "from memory"),
    },
    sentences={
        "zero": "The proportional gain is {gain}: where it multiplies the integral part too, "
        "the loop does nothing.",
        "switch": "{probably}A gain of {gain} moves the output over its whole range at an error of "
        "{band} of span: the loop works as a switch.",
        "fast": "With a gain of {gain} and an integral time of {integral_time} an error of {error} "
        "of span moves the output over its whole range within {time}: nothing but the ramps holds "
        "the loop back.",
        "hasty": "The integral time {integral_time} is much shorter than the {late} by which "
        "filter and damping hold the feedback back: the loop corrects again what it has "
        "corrected before it sees it, and swings.",
        "slow": "With a gain of {gain} and an integral time of {integral_time} an error of {error} "
        "of span takes {time} to move the output over its whole range: the loop hardly regulates.",
    },
    remedies={
        "zero": "Set a gain; or say that the form is parallel, if the integral part works alone.",
        "switch": "Read the gain again with its unit: % of output per % of span.",
        "fast": "Read gain and integral time again, with their units.",
        "slow": "Read gain and integral time again, with their units.",
        "hasty": "Read the integral time again with its unit, and set it longer than the feedback "
        "is late.",
    },
)  # fmt: skip


# -- filter ---------------------------------------------------------------------------------------


LATE: tuple[tuple[Severity, str], ...] = (("review", "longest"), ("note", "long"))


def _filter(case: Case, place: str) -> Iterator[Finding]:
    if not case.is_("/settings/regulated_quantity", *QUICK):
        return
    filter_, damping = case.quantity(FILTER), case.find(DAMPING)
    late = filter_.si + (damping.si if damping else 0.0)
    for severity, name in LATE:
        limit = case.limit(f"loop.feedback-filter.{name}")
        if above(late, limit):
            yield FILTER_RULE.finding(
                "damped" if damping else "filter", severity, place,
                compared={"filter": filter_} | ({"damping": damping} if damping else {}),
                limit=f"at most {show(limit, 's')} in all",
            )  # fmt: skip
            return


FILTER_RULE = Rule(
    id="loop.feedback-filter",
    title="Filter of the feedback",
    severities=("review", "note"),
    condition="Of pressure or flow, the filter of the feedback and the transmitter's damping are "
    "no more than 5 s together (note), 20 s (review). A level may be smoothed longer.",
    source="common practice, no source: what the loop sees late it answers late, and swings; "
    "limits that are read from the feedback act late as well",
    subject=FILTER,
    needs=("/settings/regulated_quantity", FILTER),
    applies=lambda case: loop.is_closed(case) and case.find(FILTER) is not None,
    check=_filter,
    limits={
        "long": Limit(5, "s", "to be noted", "lower", "common practice"),
        "longest": Limit(20, "s", "to be answered", "lower", "common practice"),
    },
    sentences={
        "filter": "The feedback is filtered over {filter}: the loop, and any limit that is read "
        "from the feedback, sees the pressure or flow of so long ago.",
        "damped": "The feedback is filtered over {filter}, and damped over {damping} in the "
        "transmitter: the loop, and any limit that is read from the feedback, sees the pressure or "
        "flow of so long ago.",
    },
    remedies=dict.fromkeys(
        ("filter", "damped"), "Shorten it to what the noise asks for, and test the step again."
    ),
)
