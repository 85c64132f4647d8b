"""Rules of the feedback's way into the drive: signal, input selector, scaling."""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from calculations.aspects import chain, kinds, levels, liquid, loop, weighing
from calculations.case import Case
from calculations.constants import STANDARD_ATMOSPHERE
from calculations.findings import Finding, Severity, Shown, digits
from calculations.rule import Limit, Rule, percent, show
from calculations.rules import mix_ups
from calculations.rules.closeness import Apart, above, signed_percent
from calculations.sensor_chains import ChainPoint
from calculations.units import KINDS, Quantity, factor, to_si

AT_LOWER, AT_UPPER = "/settings/feedback_at_lower_signal", "/settings/feedback_at_upper_signal"
RANGE = ("/regulating_sensor/lower_range_value", "/regulating_sensor/upper_range_value")
SETTING_WITHIN = 0.002
UNUSUAL_EXPLAINS = 0.002
"""How well a unit that nobody takes for the one entered must explain it [1]; no source."""

ATMOSPHERE_WITHIN = 0.25
"""Share of the standard atmosphere that elevation and weather take away; ISO 2533 at 2,000 m."""


def shown(case: Case, value: float) -> Shown:
    """A computed value of what is regulated, in the unit that people read it in."""
    unit = loop.process_unit(case)
    return show(loop.process_range(case).share(value) if unit == "%" else value, unit)


# -- signal type --------------------------------------------------------------------------------


def _signal_type(case: Case, place: str) -> Iterator[Finding]:
    output, expected = case.word(chain.OUTPUT), case.word(chain.INPUT)
    if output == expected:
        return
    compared = {"output": Shown(output, ""), "expected": Shown(expected, "")}
    if not chain.is_connected(case):
        to_voltage = (chain.carries(output), chain.carries(expected)) == ("current", "voltage")
        yield SIGNAL_TYPE.finding(
            "floats" if to_voltage else "kind", "stop", place,
            compared=compared, then=_at_its_top(case),
        )  # fmt: skip
        return
    worst = chain.worst(chain.points(case))
    severity = _severity_of_chain(case, worst)
    if severity:
        away = _away(case, worst, lambda value: shown(case, value))
        yield SIGNAL_TYPE.finding(
            "wrong", severity, place,
            compared=compared | away.compared, limit="1 % of span",
            shows=away.words, error=signed_percent(away.error),
        )  # fmt: skip
    elif chain.has_live_zero(output) and not chain.has_live_zero(expected):
        yield SIGNAL_TYPE.finding("no_live_zero", "note", place, compared=compared)


class Away(NamedTuple):
    """How a chain is wrong: in words, in values, and as an error [1 of span]."""

    words: str
    compared: dict[str, Shown | Quantity]
    error: float


def _away(case: Case, worst: ChainPoint, told: Callable[[float], Shown]) -> Away:
    """What the drive shows against what is true at the worst point.

    Where it is not known what the height of the tapping adds, no single value is known to be
    wrong, but how much the drive shows over the whole range is.
    """
    if loop.datum_offsets(case) is not None:
        indicated, true = told(worst.indicated), told(worst.true)
        words = f"shows {indicated} where {true} is true"
        return Away(words, {"indicated": indicated, "true": true}, worst.error)
    low, *_, high = chain.points(case)
    moves, span = high.indicated - low.indicated, high.true - low.true
    change, width = shown_difference(case, moves), shown_difference(case, span)
    words = f"shows a change of {change} over the sensor's whole range of {width}"
    return Away(words, {"change": change, "range": width}, (moves - span) / abs(span))


def shown_difference(case: Case, value: float) -> Shown:
    """A difference of what is regulated, in the unit that people read it in."""
    unit = loop.process_unit(case)
    if unit == "%":
        return show(value / loop.process_span(case), unit)
    return Shown(digits(value / factor(unit)), unit)


_AT_TOP_LEVEL = {
    True: "and the pump runs on as if the well were full",
    False: "and the pump stands as if the tank were full",
    None: "and the pump does not follow the level",
}
"""By whether the pump empties what the level is in."""


def _at_its_top(case: Case) -> str:
    """What a loop does whose feedback stands at the top of its span, as one sees it on site."""
    if kinds.starts_on_level(case):
        return _AT_TOP_LEVEL[levels.empties(case)]
    speeds_up = loop.more_speed_lowers(case)
    if case.find("/settings/action") is not None:  # As it is set: a temperature may go either way.
        speeds_up = case.is_("/settings/action", "rising_feedback_speeds_up")
    if speeds_up:
        return "and the loop runs the pump at full speed"
    if case.find("/settings/sleep_method") not in (None, "none"):
        return "and the pump sleeps as if nothing were asked of it"
    return "and the loop slows the pump to its minimum frequency"


def _severity_of_chain(case: Case, worst: ChainPoint) -> Severity | None:
    """Severity of the largest error of a chain, the sensor's own tolerance granted."""
    silent = chain.granted(case)
    error = abs(worst.error)
    if above(error, max(case.limit("loop.scaling.stop"), silent)):
        return "stop"
    return "review" if above(error, silent) else None


SIGNAL_TYPE = Rule(
    id="loop.signal-type",
    title="Signal that the drive expects against the sensor's output",
    severities=("stop", "review", "note"),
    condition="What the drive shows agrees with what is true at 0, 50 and 100 % of the sensor's "
    "span, to within 1 % of span (stop above 5 %), although the signals differ by name; or they "
    "are the same. A live zero that the drive does not know is a note.",
    source="IEC 60381-1 and 60381-2 (ranges); Ohm's law",
    subject="/settings/feedback_signal",
    needs=(chain.OUTPUT, chain.INPUT),
    applies=chain.has_chain,
    check=_signal_type,
    sentences={
        "floats": "The sensor gives {output}, the drive expects {expected}: without a resistor the "
        "current finds no path, the input floats to its top, {then}.",
        "kind": "The sensor gives {output}, the drive expects {expected}: the feedback does not "
        "reach the drive.",
        "wrong": "The sensor gives {output}, the drive expects {expected}: it {shows}, an "
        "error of {error} of span.",
        "no_live_zero": "The sensor gives {output}, the drive expects {expected} with a scaling "
        "that makes up for it: the values are right, but a broken wire is not seen.",
    },
    remedies={
        "floats": "Set the drive to {output}.",
        "kind": "Set the drive to {output}, or change the sensor.",
        "wrong": "Set the drive to {output}.",
        "no_live_zero": "Set the drive to {output} and the scaling to the sensor's range.",
    },
)


# -- input selector -------------------------------------------------------------------------------


def _input_selector(case: Case, place: str) -> Iterator[Finding]:
    selector = case.word(chain.SELECTOR)
    signal = case.find(chain.INPUT) or case.word(chain.OUTPUT)
    if chain.selector_fits(case):
        return
    pair = (chain.carries(signal), selector)
    variant = {("current", "voltage"): "floats", ("voltage", "current"): "loads"}.get(pair, "other")
    yield INPUT_SELECTOR.finding(
        variant, "stop", place,
        compared={"selector": Shown(selector, ""), "signal": Shown(signal, "")},
        carried=chain.carries(signal), then=_at_its_top(case),
    )  # fmt: skip


INPUT_SELECTOR = Rule(
    id=chain.SELECTOR_RULE,
    title="Input selector against the feedback signal",
    severities=("stop",),
    condition="The selector of the drive's input (current, voltage) is set to what the feedback "
    "signal is carried by.",
    source="IEC 60381-1 and 60381-2; Ohm's law",
    subject=chain.SELECTOR,
    needs=(chain.SELECTOR,),
    waits_for=("loop.signal-type",),
    applies=chain.has_chain,
    check=_input_selector,
    sentences={
        "floats": "The input is selected for voltage, but the signal is {signal}: the current "
        "finds no path, the input floats to its top, {then}.",
        "loads": "The input is selected for current, but the signal is {signal}: the input's small "
        "resistance pulls the voltage down and may harm its source.",
        "other": "The input is selected for {selector}, but the signal is {signal}: the feedback "
        "does not reach the drive.",
    },
    remedies=dict.fromkeys(("floats", "loads", "other"), "Set the selector to {carried}."),
)


# -- scaling ------------------------------------------------------------------------------------


def _scaling(case: Case, place: str) -> Iterator[Finding]:
    if not chain.is_connected(case):
        return
    worst = chain.worst(chain.points(case))
    severity = _severity_of_chain(case, worst)
    if severity is None:
        return
    variant, read = _explanation(case, worst)
    if variant == "verified":
        severity = "review"
    fitting = chain.fitting_ends(case)
    low, high = _as_scaled(case, fitting.low), _as_scaled(case, fitting.high)
    away = _away(case, worst, lambda value: _as_scaled(case, value))
    yield SCALING.finding(
        variant, severity, place,
        compared={
            "range_low": case.quantity(RANGE[0]),
            "range_high": case.quantity(RANGE[1]),
            "lower": case.quantity(AT_LOWER),
            "upper": case.quantity(AT_UPPER),
        }
        | away.compared,
        limit=f"{percent(case.limit('loop.scaling.review'))} review, "
        f"{percent(case.limit('loop.scaling.stop'))} stop, of span",
        read=read, shows=away.words, error=signed_percent(away.error),
        fitting=_fitting(case, low, high), fit_low=low, fit_high=high,
    )  # fmt: skip


def _fitting(case: Case, low: Shown, high: Shown) -> str:
    if loop.datum_offsets(case) is not None:
        return f"{low} at the lower end of its input and {high} at the upper"
    return (
        f"as wide as from {low} to {high}, both shifted by what the height of the tapping adds; "
        "record that height and the set point's datum"
    )


def _as_scaled(case: Case, value: float) -> Shown:
    """A value of the chain in the unit that the drive's scaling is written in."""
    if loop.shows_percent(case):
        return show(loop.process_range(case).share(value), "%")
    upper = case.quantity(AT_UPPER)
    alike = upper.kind == kinds.of_loop(case)
    return show(value, upper.unit if alike else loop.process_unit(case))


def _explanation(case: Case, worst: ChainPoint) -> tuple[str, str]:
    """The likeliest slip: its variant, and what should be read instead."""
    upper, fitting = case.quantity(AT_UPPER), chain.fitting_ends(case)
    if weighing.is_drives_range_verified(case):
        return "verified", ""
    if _swapped(case):
        return "swapped", ""
    turned = chain.turned_zero(case)
    if turned is not None:
        return "zero", turned
    reference = chain.other_reference(case)
    if reference:
        return "reference", chain.LEVEL_REFERENCES[reference]
    other = chain.range_of_another(case)
    if other:
        return "other", other
    in_units = upper.kind == kinds.of_loop(case)
    unit = other_unit(upper, fitting.high) if in_units else None
    if unit:
        return "unit", f"{upper.value} {unit}"
    if _is_what_the_cell_can(case, upper):
        return "cell", ""
    if _shifted_by_height(case):
        return "own_range" if chain.is_own_range(case) else "height", ""
    if _shifted_by_atmosphere(case):
        return "atmosphere", ""
    digits = mix_ups.other_digits(upper, _exactly(fitting.high)) if in_units else None
    if digits and digits.si != 0:
        return "digits", f"{digits.value} {digits.unit} instead of {upper.value} {upper.unit}"
    return "plain", ""


def _is_what_the_cell_can(case: Case, upper: Quantity) -> bool:
    limit = case.find("/regulating_sensor/range_limit_high")
    if limit is None or limit.kind != upper.kind or not limit.si:
        return False
    return Apart(upper.si / limit.si).near(1, mix_ups.EXPLAINS)


def _exactly(expected: float) -> mix_ups.Fit:
    """A setting is what it is, not a reading: only digits within 0.2 % explain it."""
    magnified = mix_ups.DIGITS_EXPLAIN / SETTING_WITHIN
    return lambda value: (
        Apart(1 + (value / expected - 1) * magnified) if expected else Apart(1.0, float("inf"))
    )


def _swapped(case: Case) -> bool:
    scaled, fitting = loop.displayed_range(case), chain.fitting_ends(case)
    apart = max(abs(scaled.low - fitting.high), abs(scaled.high - fitting.low))
    return not above(apart, mix_ups.EXPLAINS * abs(fitting.span))


def other_unit(entered: Quantity, expected: float) -> str | None:
    """The unit in which the digits entered mean what is expected [SI]."""
    if entered.kind == "ratio" or expected == 0:
        return None
    units = [unit for unit in KINDS[entered.kind] if unit != entered.unit]
    ratios = {unit: to_si(float(entered.value), unit) / expected for unit in units}
    usual = mix_ups.SLIPS.get(entered.unit, ())
    good = [
        unit
        for unit, ratio in ratios.items()
        if Apart(ratio).near(1, mix_ups.EXPLAINS if unit in usual else UNUSUAL_EXPLAINS)
    ]
    return min(good, key=lambda unit: abs(ratios[unit] - 1), default=None)


def _shifted_by_height(case: Case) -> bool:
    """Whether the tapping's height was left out, or taken with the wrong sign."""
    shift, height = chain.shift(case), case.find("/regulating_sensor/tapping_elevation")
    if shift is None or height is None or height.kind != "length":
        return False
    step = abs(liquid.pressure(case, height.si))
    return step > 0 and any(not above(abs(abs(shift) / step - times), 0.05) for times in (1, 2))


def _shifted_by_atmosphere(case: Case) -> bool:
    shift = chain.shift(case)
    if shift is None or not case.is_("/regulating_sensor/quantity", "pressure"):
        return False
    return not above(abs(abs(shift) / STANDARD_ATMOSPHERE - 1), ATMOSPHERE_WITHIN)


_BODY = (
    "The drive is scaled {lower} to {upper}, the sensor measures {range_low} to {range_high}: the "
    "drive {shows}, an error of {error} of span."
)

SCALING = Rule(
    id="loop.scaling",
    title="Scaling of the feedback against the sensor's range",
    severities=("stop", "review"),
    condition="What the drive shows agrees with what is true at 0, 50 and 100 % of the sensor's "
    "span, height of the tapping and reference of the cell included, to within 1 % of span or the "
    "sensor's tolerance (stop above 5 %); where the tapping's height is not known, over the whole "
    "range alone. Scaling in %, a shift that cancels the tapping's height "
    "and a live zero written as a negative value are right.",
    source="definition of a linear signal, IEC 60381-1; hydrostatics; limits from memory",
    subject=AT_UPPER,
    needs=(*RANGE, AT_LOWER, AT_UPPER, chain.OUTPUT, chain.INPUT),
    waits_for=("loop.signal-type",),
    applies=chain.has_chain,
    check=_scaling,
    limits={
        "review": Limit(1, "%", "error of the chain, of span", "lower", "from memory"),
        "stop": Limit(5, "%", "error of the chain, of span", "lower", "from memory"),
    },
    sentences={
        "unit": "Probably {read}, not {upper}. " + _BODY,
        "swapped": "Lower and upper value are probably swapped. " + _BODY,
        "cell": "{upper} is what the cell can do, not what the transmitter is set to. " + _BODY,
        "zero": "Probably the transmitter's zero lies at {read}, which the drive's scaling fits: "
        "heights count upwards from the site's datum. " + _BODY,
        "own_range": "The drive has the transmitter's range as it is, while the set point is said "
        "to count at the pump's datum. " + _BODY,
        "height": "The height of the tapping explains the difference. " + _BODY,
        "atmosphere": "One atmosphere explains the difference: absolute and gauge pressure are "
        "probably mixed up. " + _BODY,
        "digits": "Probably {read}. " + _BODY,
        "verified": "The sensor is recorded with {range_low} to {range_high}, but its signals at "
        "the verification are those of {lower} to {upper}, as the drive is scaled.",
        "reference": "The levels of the drive fit as counted from {read}, which is not what is "
        "recorded. " + _BODY,
        "other": "{lower} to {upper} is the range of {read}. " + _BODY,
        "plain": _BODY,
    },
    remedies=dict.fromkeys(
        ("unit", "swapped", "cell", "height", "atmosphere", "digits", "plain"),
        "Scale the drive {fitting}.",
    )
    | {
        "verified": "Read the range that is set in the transmitter, and correct the record if it "
        "is the drive's.",
        "zero": "Look up the height of the transmitter's zero, and enter it with its sign; else "
        "scale the drive {fitting}.",
        "own_range": "If the set point counts at the transmitter, as one that is kept far away "
        "mostly does, correct its datum and change nothing in the drive; else scale the drive "
        "{fitting}, and the set point and limits with it.",
        "reference": "Correct what levels count from, if the drive counts from {read}; else scale "
        "the drive {fitting}.",
        "other": "Find out which sensor is wired to the drive's input, isolated and with the drive "
        "dead; correct the record if it is {read}, else scale the drive {fitting}.",
    },
)
