"""Rules of the speed range: its order, and what the pump and the motor permit."""

from collections.abc import Iterator, Mapping

from calculations.aspects import holding, load, pumping, system
from calculations.case import Case, Missing, Waits
from calculations.derived import speeds
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, entered, percent, show
from calculations.rules import motor_plate
from calculations.rules.closeness import above, below, rounding
from calculations.rules.scope import has_drive, is_immersed
from calculations.units import Quantity

RESTS_ON_CURVE = ("curve.shape", "curve.speed")
"""What has to be right before speeds on the pump's curve mean anything."""

MINIMUM, MAXIMUM = "/settings/minimum_frequency", "/settings/maximum_frequency"


def has_pump_on_drive(case: Case) -> bool:
    """Whether a drive runs a centrifugal pump, as far as is known."""
    return has_drive(case) and pumping.is_centrifugal(case)


# -- order --------------------------------------------------------------------------------------


def _free_of_skips(case: Case) -> float:
    """Width [Hz] of the range that no skip band takes."""
    lowest, highest = case.si(MINIMUM), case.si(MAXIMUM)
    bands = []
    for index, band in enumerate(case.find("/settings/skip_bands") or ()):
        if band.centre is None or band.width is None:
            raise Missing(case.place(f"/settings/skip_bands/{index}"))
        bands.append((band.centre.si - band.width.si / 2, band.centre.si + band.width.si / 2))
    free, reached = 0.0, lowest
    for low, high in sorted(bands):
        free += max(min(low, highest) - reached, 0.0)
        reached = max(reached, high)
    return free + max(highest - reached, 0.0)


def _order(case: Case, place: str) -> Iterator[Finding]:
    lowest, highest = case.quantity(MINIMUM), case.quantity(MAXIMUM)
    compared = {"minimum": lowest, "maximum": highest}
    if lowest.si >= highest.si:
        variant = "equal" if lowest.si == highest.si else "reversed"
        yield ORDER.finding(variant, "stop", place, compared=compared)
    elif _free_of_skips(case) <= 0:
        bands = case.place("/settings/skip_bands")
        yield ORDER.finding("skipped", "stop", bands, compared=compared)


ORDER = Rule(
    id="speed.order",
    title="Minimum frequency below maximum frequency",
    severities=("stop",),
    condition="The minimum frequency is below the maximum frequency, and skip bands leave part of "
    "the range between them.",
    source="logic",
    subject=MINIMUM,
    needs=(MINIMUM, MAXIMUM),
    applies=has_drive,
    check=_order,
    sentences={
        "reversed": "Minimum frequency {minimum} is above maximum frequency {maximum}: the drive "
        "has no range to regulate in.",
        "equal": "Minimum and maximum frequency are both {minimum}: the drive has no range to "
        "regulate in.",
        "skipped": "The skip bands take the whole range from {minimum} to {maximum}: there is no "
        "speed that the drive may stay at.",
    },
    remedies={
        "reversed": "Read both again: they may have been swapped.",
        "equal": "Set the maximum frequency above the minimum.",
        "skipped": "Make the skip bands narrower, or move the range.",
    },
)


# -- minimum permitted --------------------------------------------------------------------------


def _floors(case: Case) -> Iterator[tuple[str, Quantity]]:
    permitted = case.find("/pump/minimum_frequency_permitted")
    bearing = case.find("/pump/bearing_frequency")
    if permitted:
        yield "pump", permitted
    if bearing:
        yield "bearing", bearing


def _minimum_permitted(case: Case, place: str) -> Iterator[Finding]:
    lowest = case.quantity(MINIMUM)
    floors = list(_floors(case))
    if not floors:
        yield from _unstated_minimum(case, place, lowest)
        return
    variant, floor = max(floors, key=lambda each: each[1].si)
    if below(lowest.si, floor.si):
        yield MINIMUM_PERMITTED.finding(
            variant, "review", place,
            compared={"minimum": lowest, "permitted": floor}, limit=f"at least {entered(floor)}",
        )  # fmt: skip


def _unstated_minimum(case: Case, place: str, lowest: Quantity) -> Iterator[Finding]:
    if not case.is_("/pump/type", "submersible_well"):
        raise Missing("/pump/minimum_frequency_permitted")
    floor = case.limit("speed.minimum-permitted.submersible")
    if below(lowest.si, floor):
        shown = show(floor, "Hz")
        yield MINIMUM_PERMITTED.finding(
            "submersible", "review", place,
            compared={"minimum": lowest, "permitted": shown}, limit=f"at least {shown}",
        )  # fmt: skip


MINIMUM_PERMITTED = Rule(
    id="speed.minimum-permitted",
    title="Minimum frequency against the lowest that the pump permits",
    severities=("review",),
    condition="The minimum frequency is at least the lowest that the pump's manual permits, and "
    "the lowest at which the film of its bearings carries; 30 Hz for a submersible well pump that "
    "states neither.",
    source="pump's manual; 30 Hz: common practice, from memory",
    subject=MINIMUM,
    needs=(MINIMUM,),
    waits_for=("speed.order",),
    applies=has_drive,
    check=_minimum_permitted,
    limits={
        "submersible": Limit(
            30, "Hz", "submersible well pump whose manual states nothing", "higher", "from memory"
        ),
    },
    sentences={
        "pump": "Minimum frequency {minimum} is below the {permitted} that the pump permits: "
        "seals and bearings may lack lubrication or cooling.",
        "bearing": "Minimum frequency {minimum} is below {permitted}, where the film of the "
        "pump's bearings begins to carry.",
        "submersible": "Minimum frequency {minimum} is low for a submersible well pump: without a "
        "figure in its manual, {permitted} is common practice.",
    },
    remedies=dict.fromkeys(
        ("pump", "bearing", "submersible"), "Set the minimum frequency to {permitted} or more."
    ),
)


# -- maximum speed ------------------------------------------------------------------------------


def _maximum_speed(case: Case, place: str) -> Iterator[Finding]:
    doubtful = motor_plate.doubt(case)
    # The motor's own limit is a frequency: no slip comes in.
    ceilings = list(speeds.ceilings(case, pump=not doubtful))
    if ceilings:
        yield from _beyond_ceiling(case, place, *min(ceilings, key=lambda each: each[2]))
    elif not doubtful:
        raise Missing("/pump/maximum_speed_permitted")
    if doubtful:
        raise Waits(doubtful)


def _beyond_ceiling(
    case: Case, place: str, variant: str, permitted: Quantity, ceiling: float
) -> Iterator[Finding]:
    highest, plate = case.quantity(MAXIMUM), case.quantity("/rating/speed")
    margin = rounding(plate) + rounding(permitted) if variant == "pump" else 0.0
    if not above(highest.si, ceiling * (1 + margin)):
        return
    compared: dict[str, Shown | Quantity] = {"maximum": highest, "permitted": permitted}
    if variant == "pump":
        if "curve.speed" not in case.accepted and pumping.is_ratio_turned(case):
            raise Waits("curve.speed")
        compared["speed"] = show(pumping.speed(case, highest.si), "rpm")
        if pumping.speeds_agree(case) is False:
            variant = "pump_apart"
    yield MAXIMUM_SPEED.finding(
        variant, "stop", place,
        compared=compared,
        limit=f"at most {entered(permitted)}", sensible=about(ceiling, "Hz"),
    )  # fmt: skip


MAXIMUM_SPEED = Rule(
    id="speed.maximum-speed",
    title="Speed at the maximum frequency against the limits of pump and motor",
    severities=("stop",),
    condition="At the maximum frequency neither the highest speed that the pump permits nor the "
    "highest frequency of the motor is exceeded. The slip of full load counts, at which the pump "
    "turns slowest.",
    source="pump's and motor's manual",
    subject=MAXIMUM,
    needs=(MAXIMUM, "/rating/speed", "/rating/frequency"),
    waits_for=("speed.order",),
    applies=has_drive,
    check=_maximum_speed,
    sentences={
        "motor": "Maximum frequency {maximum} is above the {permitted} that the motor permits.",
        "pump": "At the maximum frequency {maximum} the pump turns at {speed} or more, above the "
        "{permitted} that it permits.",
        "pump_apart": "By what is entered the pump turns at {speed} or more at the maximum "
        "frequency {maximum}, above the {permitted} that it permits; its curve is for another "
        "speed than the motor gives it.",
    },
    remedies=dict.fromkeys(("motor", "pump"), "Set the maximum frequency to {sensible} or less.")
    | {
        "pump_apart": "With the set locked out, check belt, gear or coupling with its ratio, and "
        "the speed on the pump's plate, first. If they are right, set the maximum frequency to "
        "{sensible} or less.",
    },
)


# -- maximum power ------------------------------------------------------------------------------


def _maximum_power(case: Case, place: str) -> Iterator[Finding]:
    highest = case.quantity(MAXIMUM)
    if not load.tells_power(case):
        yield from _by_water_alone(case, place, highest)
        raise Missing("/pump/curve_points", because=load.NO_POWER)
    needed = load.highest_shaft_power(case, highest.si).power
    usable = speeds.usable_power(case, highest.si)
    share = needed / usable
    severity = _severity_of_power(case, share, rounding(case.quantity("/rating/power")))
    if severity is None:
        if not load.tells_power_to_its_end(case):
            raise Missing("/pump/curve_points", because=load.NO_POWER)
        return
    unit = case.quantity("/rating/power").unit
    compared: dict[str, Shown | Quantity] = {
        "maximum": highest,
        "needed": show(needed, unit),
        "usable": show(usable, unit),
    }
    variant = "immersed" if is_immersed(case) else "dry"
    reached = _power_at_lowest_lift(case, highest.si)
    factor = _of_the_supply(case, needed, highest.si)
    if reached is not None and not above(reached, usable):
        variant, severity = f"{variant}_at_run_out", _MILDER[severity]
        compared["reached"] = show(reached, unit)
    elif factor is not None and not _is_estimated(case):
        variant, severity = "service_factor", _MILDER[severity]
        compared["factor"] = factor
    yield MAXIMUM_POWER.finding(
        variant, severity, place, compared=compared,
        limit=f"100 % review, {percent(case.limit('speed.maximum-power.stop'))} stop",
        load=percent(share), sensible=about(case.value("speed.highest-for-motor-power"), "Hz"),
    )  # fmt: skip


def _by_water_alone(case: Case, place: str, highest: Quantity) -> Iterator[Finding]:
    """What the lifted water takes is too much, whatever the pump's efficiency."""
    power, usable = case.quantity("/rating/power"), speeds.usable_power(case, highest.si)
    needed = load.least_shaft_power(case, highest.si)
    severity = _severity_of_power(case, needed / usable, rounding(power))
    if severity is None:
        return
    if holding.lifts(case):
        flow = system.flow(case, highest.si, "high")
        if not above(load.least_shaft_power(case, highest.si, up_to=flow), usable):
            severity = _MILDER[severity]
    yield MAXIMUM_POWER.finding(
        "water", severity, place,
        compared={"maximum": highest, "needed": show(needed, power.unit),
                  "usable": show(usable, power.unit)},
        limit=f"100 % review, {percent(case.limit('speed.maximum-power.stop'))} stop",
        load=percent(needed / usable), best=percent(load.BEST_EFFICIENCY),
    )  # fmt: skip


_MILDER: Mapping[Severity, Severity] = {"stop": "review", "review": "note"}
"""What becomes of it where only an empty or burst main leads there, or a reserve covers it."""


def _of_the_supply(case: Case, needed: float, frequency: float) -> Quantity | None:
    """The plate's service factor where it covers the power [W], though not stated for a drive."""
    factor: Quantity | None = case.find("/motor/service_factor")
    if factor is None or case.find("/motor/inverter_service_factor") or is_immersed(case):
        return None
    covered = not above(needed, speeds.usable_power(case, frequency) * factor.si)
    return factor if covered and factor.si > 1 else None


def _power_at_lowest_lift(case: Case, frequency: float) -> float | None:
    """Highest power [W] on the system as recorded; None where no lift holds the flow back."""
    if not holding.lifts(case):
        return None
    try:
        flow = system.flow(case, frequency, "high")
    except (Missing, Waits):
        return None
    return load.highest_shaft_power(case, frequency, up_to=flow).power


def _is_estimated(case: Case) -> bool:
    return case.is_("/pump/curve_origin", "estimated")


def _severity_of_power(case: Case, load: float, margin: float) -> Severity | None:
    certain = load / (1 + margin)
    if above(certain, case.limit("speed.maximum-power.stop")):
        return "review" if _is_estimated(case) else "stop"
    return "review" if above(certain, case.limit("speed.maximum-power.review")) else None


_AT_RUN_OUT = (
    "At {maximum} and the lowest lift the pump takes {reached} at most; running out to the end of "
    "its curve, as into an empty or burst main, it takes {needed}, which is {load} of the {usable} "
    "that "
)

MAXIMUM_POWER = Rule(
    id="speed.maximum-power",
    title="Shaft power at the maximum frequency against the motor",
    severities=("stop", "review", "note"),
    condition="Anywhere on its curve, run-out included, the pump takes no more at the maximum "
    "frequency than the motor gives there (stop above 105 %, review where the curve is an "
    "estimate); where it tells neither power nor efficiency, no more than with 95 %. Of an axial "
    "pump what lies below its minimum flow does not count: there it must not run. Where the lowest "
    "lift of the system as recorded keeps it within that, a stop becomes a review and a review a "
    "note; so, too, where a service factor covers it that is stated for the supply only: a "
    "reserve, of which a drive's harmonics take a part. Where the curve is an estimate that "
    "changes nothing. Above the rated frequency (stretched on purpose, that which drive and supply "
    "keep its volts per hertz to) the motor gives the power that it has there, below it its rated "
    "torque; a service factor counts where the plate states it for a drive, or for an immersed "
    "motor.",
    source="affinity law of power, HI engineering data, equation 1.B.6; service factor on a drive: "
    "NEMA MG 1 Parts 30 and 31, from memory; limits from memory",
    subject=MAXIMUM,
    needs=(MAXIMUM, "/rating/power", "/rating/frequency", "/rating/speed", "/pump/curve_points"),
    waits_for=("motor.power-balance", *RESTS_ON_CURVE, "speed.order", "speed.maximum-speed"),
    applies=has_pump_on_drive,
    check=_maximum_power,
    limits={
        "review": Limit(100, "%", "share of the motor's power", "lower", "derived"),
        "stop": Limit(105, "%", "share of the motor's power", "lower", "from memory"),
    },
    sentences={
        "dry": "At {maximum} the pump can take {needed}, which is {load} of the {usable} that the "
        "motor gives at that frequency.",
        "immersed": "At {maximum} the pump can take {needed}, which is {load} of the {usable} "
        "that the immersed motor gives at that frequency, service factor included.",
        "service_factor": "At {maximum} the pump can take {needed}, which is {load} of the "
        "{usable} that the motor gives at that frequency; its service factor of {factor} covers "
        "that, but is not stated for a drive.",
        "water": "At {maximum} the pump can take {needed} even with an efficiency of {best}, which "
        "none has: {load} of the {usable} that the motor gives at that frequency. Its curve tells "
        "neither shaft power nor efficiency.",
        "dry_at_run_out": _AT_RUN_OUT + "the motor gives at that frequency.",
        "immersed_at_run_out": _AT_RUN_OUT
        + "the immersed motor gives at that frequency, service factor included.",
    },
    remedies=dict.fromkeys(
        ("dry", "immersed", "service_factor", "dry_at_run_out", "immersed_at_run_out"),
        "Set the maximum frequency to {sensible} or less.",
    )
    | {
        "water": "Check the units of the curve, and that pump and motor belong together; then "
        "enter shaft power or efficiency of the curve's points, and lower the maximum frequency "
        "to what the motor carries."
    },
)
