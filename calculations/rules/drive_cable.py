"""Rules of the cable between drive and motor: length, reflected waves, voltage drop."""

from collections.abc import Iterator
from typing import NamedTuple

from calculations import cables, drives
from calculations.aspects.rating import most_given, run_rating
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.cable_ampacity import require_alone, times_less_lost
from calculations.rules.closeness import above
from calculations.rules.scope import has_drive, is_immersed
from calculations.units import Quantity

LENGTH = "/drive/motor_cable_length"
FITTED = "/drive/output_filter_fitted"
SMOOTHING = ("reactor", "dv_dt", "sine_wave")
USUAL_POWER_FACTOR = 0.85
USUAL_RISE_TIME = 0.1e-6
"""Rise time of a drive's pulses [s]; from memory."""

# -- length -------------------------------------------------------------------------------------


def _length(case: Case, place: str) -> Iterator[Finding]:
    length, highest = case.require(LENGTH, "/drive/maximum_motor_cable_length")
    if above(length.at_least, highest.si):
        yield CABLE_LENGTH.finding(
            "long", "review", place, compared={"length": length, "highest": highest},
            limit="the drive's own limit",
        )  # fmt: skip


CABLE_LENGTH = Rule(
    id="drive.cable-length",
    title="Motor cable against the drive's limit",
    severities=("review",),
    condition="The motor cable is not longer than the drive allows for that cable, carrier "
    "frequency and filter.",
    source="the drive's manual",
    subject=LENGTH,
    needs=(LENGTH, "/drive/maximum_motor_cable_length"),
    applies=has_drive,
    check=_length,
    sentences={"long": "The motor cable is {length} long; the drive allows {highest}."},
    remedies={"long": "Fit the output filter that the drive's manual asks for, or shorten it."},
)

# -- reflected waves ----------------------------------------------------------------------------


def critical_length(case: Case) -> float:
    """Length [m] from which a pulse is fully reflected at the motor."""
    return drives.critical_cable_length(rise_time=USUAL_RISE_TIME)


def terminal_peak(case: Case) -> float:
    """Peak [V] at the motor's terminals at the end of a long cable without a filter."""
    return drives.terminal_peak(dc_link=drives.dc_link_voltage(line_voltage=_voltage(case)))


def _voltage(case: Case) -> float:
    """Voltage that the d.c. link is fed with [V]: the supply's, else the motor's."""
    supply = case.find("/site/supply_nominal_voltage")
    return most_given(case, supply.si) if supply is not None else case.si("/rating/voltage")


def _peak_slowed(case: Case, share: float) -> float:
    """Peak [V] behind a reactor at a share of the length [1] from which the whole wave returns."""
    link = drives.dc_link_voltage(line_voltage=_voltage(case))
    returned = drives.REFLECTION_FACTOR * min(share, 1.0)
    return drives.terminal_peak(dc_link=link, reflection_factor=returned)


def _share_borne(case: Case, bears: Quantity | None) -> float:
    """Share of that length [1] up to which a motor bears what returns.

    One that states nothing: what reaches a motor of the highest voltage that the lengths are for.
    """
    usual = drives.dc_link_voltage(line_voltage=case.limit("drive.reflected-wave.slowed-to"))
    peak = bears.si if bears is not None else drives.terminal_peak(dc_link=usual)
    over = peak / drives.dc_link_voltage(line_voltage=_voltage(case)) - 1
    return float(min(max(over / drives.REFLECTION_FACTOR, 0.0), 1.0))


def is_unfiltered(case: Case) -> bool:
    """Whether the drive's pulses reach the motor, as far as is known."""
    return has_drive(case) and not case.is_(FITTED, *SMOOTHING)


def may_reflect(case: Case) -> bool:
    """The same, or through a reactor alone: that slows the pulses, and lets them swing over."""
    return has_drive(case) and not case.is_(FITTED, "dv_dt", "sine_wave")


def _reflected_wave(case: Case, place: str) -> Iterator[Finding]:
    length: Quantity = case.quantity(LENGTH)
    highest = case.find("/drive/maximum_motor_cable_length")
    # What is longer than the drive allows is another finding: shortened to that, it may still fail.
    certain = length.at_least if highest is None else min(length.at_least, highest.si)
    slowed = "-slowed" if case.is_(FITTED, "reactor") else ""
    kind = "immersed" if is_immersed(case) else "dry"
    limit = case.limit(f"drive.reflected-wave.{kind}{slowed}")
    peak, bears = terminal_peak(case), case.find("/motor/peak_voltage_limit")
    voltage = _voltage(case)
    whole = not slowed and above(voltage, case.limit("drive.reflected-wave.whole-to"))
    if slowed and above(voltage, case.limit("drive.reflected-wave.slowed-to")):
        peak = _peak_slowed(case, certain / limit)
        limit *= _share_borne(case, bears)
    elif whole:
        limit = critical_length(case)  # the whole wave is back from there on
    if not above(certain, critical_length(case)) or voltage < case.limit(
        "drive.reflected-wave.from"
    ):
        return
    if slowed and not above(certain, limit):
        return
    if bears is not None:
        if above(peak, bears.si):
            yield REFLECTED_WAVE.finding(
                "peak" + slowed.replace("-", "_"), "review", place,
                compared={"length": length, "peak": about(peak, "V"), "bears": bears},
                limit="the motor's stated peak",
            )  # fmt: skip
    elif not case.is_("/motor/inverter_suitability", "yes_stated"):
        far = above(certain, limit)
        yield REFLECTED_WAVE.finding(
            "far_slowed" if slowed else "far" if far else "near",
            "review" if far else "note", place,
            compared={"length": length, "peak": about(peak, "V")},
            limit=f"{about(limit, length.unit)} review" if slowed or whole
            else f"{about(critical_length(case), length.unit)} note, "
            f"{about(limit, length.unit)} review",
        )  # fmt: skip


_WAVE = (
    "With {length} of cable and no filter the pulses reach about {peak} at the motor, and nothing "
    "states that it is made for a drive."
)

_SLOWED = (
    "A reactor slows the pulses, but {length} of cable let them swing over all the same: up to "
    "about {peak} may reach the motor, "
)

REFLECTED_WAVE = Rule(
    id="drive.reflected-wave",
    title="Reflected waves at the end of the motor cable",
    severities=("review", "note"),
    condition="Without a dv/dt or sine-wave filter, at 380 V and more: the peak at the motor does "
    "not exceed what it states; a motor that states nothing has at most 30 m of cable (immersed "
    "15 m), noted from about 7.5 m; above 600 V at most those 7.5 m, since the whole wave is back "
    "from there on, and more than any motor of 600 V sees. A reactor alone slows the pulses' "
    "rise: nothing is said up to 100 m (immersed 50 m). Above 500 V the wave that returns is taken "
    "to grow in proportion up to these lengths, and a motor that states nothing to bear as much as "
    "one at 500 V does. A cable longer than the drive allows is judged as if shortened so.",
    source="travelling-wave theory; NEMA MG 1-2011 30.2.2.8; lengths from memory; those with a "
    "reactor: common practice, no source",
    subject=LENGTH,
    needs=(LENGTH, FITTED),
    applies=may_reflect,
    check=_reflected_wave,
    limits={
        "dry": Limit(30, "m", "cable to a dry motor", "lower", "from memory"),
        "immersed": Limit(15, "m", "cable to an immersed motor", "lower", "from memory"),
        "dry-slowed": Limit(100, "m", "the same behind a reactor", "lower", "common practice"),
        "immersed-slowed": Limit(
            50, "m", "the same behind a reactor, immersed", "lower", "common practice"
        ),
        "slowed-to": Limit(
            500,
            "V",
            "up to which the lengths behind a reactor are meant",
            "lower",
            "common practice",
        ),
        "whole-to": Limit(
            600, "V", "up to which the lengths without a filter are meant", "lower", "from memory"
        ),
        "from": Limit(380, "V", "voltage from which it matters", "lower", "from memory"),
    },
    sentences={
        "peak": "With {length} of cable and no filter the pulses reach about {peak} at the motor, "
        "which bears {bears}.",
        "far": _WAVE,
        "far_slowed": _SLOWED + "and nothing states that it is made for a drive.",
        "peak_slowed": _SLOWED + "which bears {bears}.",
        "near": _WAVE,
    },
    remedies=dict.fromkeys(
        ("peak", "far", "peak_slowed", "far_slowed"),
        "Fit a dv/dt or sine-wave filter at the drive, or find the motor maker's statement that it "
        "bears this supply and cable.",
    ),
)

# -- voltage drop -------------------------------------------------------------------------------


class Drop(NamedTuple):
    """Voltage lost [1] in the cable and in the filter; the filter's may not be known."""

    cable: float
    filter: float | None


def voltage_drop(case: Case) -> Drop:
    """Voltage lost between drive and motor at the plate's current, over the motor's voltage."""
    length, conductor, current = case.require(
        LENGTH, "/drive/motor_cable_conductor", "/rating/current"
    )
    power_factor = case.find("/rating/power_factor")
    voltage = run_rating(case).voltage
    lost = cables.voltage_drop(
        current=current.si,
        length=length.si / times_less_lost(case),
        resistance=cables.resistance_per_metre(area=conductor.si),
        power_factor=power_factor.si if power_factor is not None else USUAL_POWER_FACTOR,
    )
    return Drop(lost / voltage, _filter_drop(case, voltage))


def _filter_drop(case: Case, voltage: float) -> float | None:
    stated = case.find("/drive/filter_voltage_drop")
    if stated is not None:
        return float(stated.si if stated.kind == "ratio" else stated.si / voltage)
    return None if case.is_(FITTED, "sine_wave", "dv_dt") else 0.0


def _voltage_drop(case: Case, place: str) -> Iterator[Finding]:
    drop = voltage_drop(case)
    total = drop.cable + (drop.filter or 0.0)
    note, review = map(
        case.limit, ("drive.cable-voltage-drop.note", "drive.cable-voltage-drop.review")
    )
    usual, whole, sine = note, review, case.is_(FITTED, "sine_wave")
    if sine:
        usual = max(note, case.limit("drive.cable-voltage-drop.sine-wave-usual"))
        whole = max(review, case.limit("drive.cable-voltage-drop.sine-wave"))
    if above(drop.cable, note) or above(total, usual):
        require_alone(case)
        grave = above(drop.cable, review) or above(total, whole)
        severity: Severity = "review" if grave else "note"
        yield VOLTAGE_DROP.finding(
            _cause(drop, whole if grave else usual), severity, place,
            compared={
                "length": case.quantity(LENGTH),
                "current": case.quantity("/rating/current"),
                "drop": about(total, "%"),
            },
            limit=f"{percent(note)} note, {percent(review)} review"
            + (f"; with the filter {percent(usual)} and {percent(whole)}" if sine else ""),
            filter=percent(drop.filter or 0.0), full=about(_full_flux(case, total), "Hz"),
        )  # fmt: skip
    elif drop.filter is None:
        raise Missing("/drive/filter_voltage_drop")


def _cause(drop: Drop, limit: float) -> str:
    """What loses the voltage: no conductor helps where the filter alone loses too much."""
    if not drop.filter:
        return "cable"
    return "filter_alone" if above(drop.filter, limit) else "filter"


def _full_flux(case: Case, total: float) -> float:
    """Frequency [Hz] up to which the motor still has its volts per hertz behind what is lost."""
    return case.si("/rating/frequency") * (1.0 - total)


VOLTAGE_DROP = Rule(
    id="drive.cable-voltage-drop",
    title="Voltage lost between drive and motor",
    severities=("review", "note"),
    condition="Cable and filter lose at most 3 % (note) and 5 % (review) of the motor's voltage at "
    "its plate current; copper at 75 degC. With a sine-wave filter, which alone loses 4 to 8 %, "
    "the note begins at 8 % of both, or 3 % of the cable alone, and review at 10 % of both, or 5 % "
    "of the cable alone. A conductor that may be one of several is not judged.",
    source="definition; NFPA 70 210.19 and 215.2 informational notes for the figures, from memory; "
    "sine-wave filter: common practice, no source",
    subject="/drive/motor_cable_conductor",
    needs=(LENGTH, "/drive/motor_cable_conductor", "/rating/current", "/rating/voltage"),
    waits_for=("motor.power-balance", "drive.volts-per-hertz", "drive.cable-ampacity"),
    applies=has_drive,
    check=_voltage_drop,
    limits={
        "note": Limit(3, "%", "worth a note", "lower", "from memory"),
        "review": Limit(5, "%", "needs an answer", "lower", "from memory"),
        "sine-wave-usual": Limit(
            8, "%", "worth a note with a sine-wave filter", "lower", "common practice"
        ),
        "sine-wave": Limit(10, "%", "the same with a sine-wave filter", "lower", "common practice"),
    },
    sentences={
        "cable": "{length} of motor cable lose {drop} of the voltage at {current}: near rated "
        "frequency the motor lacks torque and draws more.",
        "filter": "{length} of motor cable and the filter ({filter}) lose {drop} of the voltage at "
        "{current}: near rated frequency the motor lacks torque and draws more.",
        "filter_alone": "{length} of motor cable and the filter ({filter}) lose {drop} of the "
        "voltage at {current}: near rated frequency the motor lacks torque and draws more.",
    },
    remedies={
        **dict.fromkeys(
            ("cable", "filter"), "Take a larger conductor, or accept less than rated frequency."
        ),
        "filter_alone": "No conductor cures it, as the filter alone loses {filter}: full flux ends "
        "at about {full}, which has to do, or take a filter that loses less.",
    },
)
