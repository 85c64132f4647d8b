"""Rules of the filter at the drive's output: as fitted, as set, and the carrier it needs."""

from collections.abc import Iterator

from calculations.case import Case, Missing
from calculations.findings import Finding, Severity
from calculations.rule import Rule
from calculations.rules.closeness import above, below
from calculations.rules.scope import has_drive
from calculations.units import Quantity

FITTED = "/drive/output_filter_fitted"
SET_CARRIER = "/settings/carrier_frequency"
CARRIER_MIN, CARRIER_MAX = "/drive/filter_carrier_min", "/drive/filter_carrier_max"
WORDS = {
    "none": "no filter",
    "reactor": "a reactor",
    "dv_dt": "a dv/dt filter",
    "sine_wave": "a sine-wave filter",
    "common_mode": "a common-mode filter",
}
# Rings around the cable: no drive has a setting for them.
NOT_SET = {"common_mode": "none"}

# -- as set -------------------------------------------------------------------------------------


def _filter_setting(case: Case, place: str) -> Iterator[Finding]:
    fitted, chosen = case.word(FITTED), case.word("/settings/output_filter")
    if NOT_SET.get(fitted, fitted) != NOT_SET.get(chosen, chosen):
        variant, severity = _gravity(case, fitted, chosen)
        yield FILTER_SETTING.finding(
            variant, severity, place,
            compared={}, fitted=WORDS[fitted], chosen=WORDS[chosen],
        )  # fmt: skip


def _gravity(case: Case, fitted: str, chosen: str) -> tuple[str, Severity]:
    """Sentence and severity: unset, nothing holds carrier and modulation to what a filter bears.

    A drive that knows no filter is set to none, and held by its carrier frequency alone.
    """
    if fitted != "sine_wave":
        return "differs", "review"
    return ("by_carrier", "review") if chosen == "none" and _inside(case) else ("unheld", "stop")


def _inside(case: Case) -> bool:
    """Whether the carrier frequency is known to lie inside the window of the filter."""
    carrier, low, high = map(case.find, (SET_CARRIER, CARRIER_MIN, CARRIER_MAX))
    if carrier is None or low is None or high is None:
        return False
    return not below(carrier.si, low.si) and not above(carrier.si, high.si)


FILTER_SETTING = Rule(
    id="drive.output-filter-setting",
    title="Output filter as set against the one fitted",
    severities=("stop", "review"),
    condition="The drive is set for the output filter that is fitted (stop where a sine-wave "
    "filter is fitted and not set: nothing then holds carrier and modulation to it; review where "
    "no filter is set and the carrier frequency lies inside the filter's window).",
    source="common practice: drive manuals limit carrier and control mode by it",
    subject="/settings/output_filter",
    needs=(FITTED, "/settings/output_filter"),
    applies=has_drive,
    check=_filter_setting,
    sentences={
        "differs": "The drive is set for {chosen}; {fitted} is fitted.",
        "unheld": "The drive is set for {chosen}, but {fitted} is fitted: nothing holds its "
        "carrier and modulation to what the filter bears, and it overheats or resonates.",
        "by_carrier": "The drive is set for {chosen}, but {fitted} is fitted: the carrier "
        "frequency lies inside the filter's window, but nothing else holds carrier and modulation "
        "to what it bears.",
    },
    remedies={
        **dict.fromkeys(
            ("differs", "unheld"),
            "Set the drive for {fitted}, or correct what is recorded as fitted.",
        ),
        "by_carrier": "Set the drive for {fitted} if it can be; else fix the carrier frequency, so "
        "that neither load nor heat moves it, and accept this.",
    },
)

# -- its carrier --------------------------------------------------------------------------------


def _has_window(case: Case) -> bool:
    return has_drive(case) and case.is_(FITTED, "sine_wave", "dv_dt")


def _carrier(case: Case, place: str) -> Iterator[Finding]:
    carrier: Quantity = case.quantity(SET_CARRIER)
    low, high = case.find(CARRIER_MIN), case.find(CARRIER_MAX)
    sine = case.is_(FITTED, "sine_wave")
    severity: Severity = "stop" if sine else "review"
    if low is not None and below(carrier.si, low.si):
        yield _outside(case, place, "low", severity, low)
    elif high is not None and above(carrier.si, high.si):
        yield _outside(case, place, "high", severity, high)
    elif sine and (low is None or high is None):
        ends = ((CARRIER_MIN, low), (CARRIER_MAX, high))
        raise Missing(*(place for place, end in ends if end is None))
    else:
        yield from _frequency(case)


def _outside(case: Case, place: str, variant: str, severity: Severity, end: Quantity) -> Finding:
    return CARRIER.finding(
        variant, severity, place,
        compared={"carrier": case.quantity(SET_CARRIER), "end": end},
        limit="the filter's window", fitted=WORDS[case.word(FITTED)],
    )  # fmt: skip


def _frequency(case: Case) -> Iterator[Finding]:
    """A filter is made for frequencies up to a highest one."""
    highest, set_to = (
        case.find("/drive/filter_maximum_frequency"),
        case.find("/settings/maximum_frequency"),
    )
    if highest is not None and set_to is not None and above(set_to.si, highest.si):
        yield CARRIER.finding(
            "frequency", "review", case.place("/settings/maximum_frequency"),
            compared={"set": set_to, "end": highest}, limit="the filter's highest frequency",
            fitted=WORDS[case.word(FITTED)],
        )  # fmt: skip


CARRIER = Rule(
    id="drive.carrier-for-filter",
    title="Carrier frequency against the window of the output filter",
    severities=("stop", "review"),
    condition="The carrier frequency lies inside the window of a sine-wave filter (stop) or dv/dt "
    "filter (review), and the maximum frequency below the filter's highest.",
    source="the filter's plate: outside its window a sine-wave filter overheats or resonates",
    subject=SET_CARRIER,
    needs=(SET_CARRIER,),
    applies=_has_window,
    check=_carrier,
    sentences={
        "low": "Carrier frequency {carrier} is below the {end} that {fitted} needs.",
        "high": "Carrier frequency {carrier} is above the {end} that {fitted} bears.",
        "frequency": "Maximum frequency {set} is above the {end} that {fitted} is made for.",
    },
    remedies={
        "low": "Set the carrier frequency to {end} or more, and fix it there.",
        "high": "Set the carrier frequency to {end} or less.",
        "frequency": "Lower the maximum frequency to {end}.",
    },
)
