"""Rule of the kinds of quantity that meet in a loop: a pressure and a flow are not compared."""

from collections.abc import Iterator

from calculations.aspects import kinds, loop
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Rule, entered, spaced
from calculations.rules.loop_signal import AT_LOWER, AT_UPPER
from calculations.rules.scope import has_drive
from calculations.units import Quantity

Named = tuple[str, Quantity]
"""A value's place and itself."""

AIMS = ("/settings/set_point", AT_LOWER, AT_UPPER)
"""Without these nothing of the loop can be judged."""

OTHERS = (
    "/settings/wake_value", "/settings/sleep_boost", "/settings/stage_set_point_offset",
    "/settings/flow_compensation/at_zero_flow", "/settings/flow_compensation/at_design_flow",
)  # fmt: skip
LIMITS = ("low_suction_limit", "low_discharge_limit", "high_discharge_limit")
NAMES = {
    "feedback_at_lower_signal": "feedback at the lower end of the signal",
    "feedback_at_upper_signal": "feedback at the upper end of the signal",
    "from_value": "set point before the step", "to": "set point after the step",
    "at_zero_flow": "set point at zero flow", "at_design_flow": "set point at design flow",
}  # fmt: skip
HEAD_UNIT = {"ft": "ftH2O", "in": "inH2O", "m": "mH2O"}
LOCATION = f"{kinds.REGULATING}/location"
OTHER_SIDE = {"discharge_pressure": "suction", "suction_pressure": "discharge"}
DRY_RUN = {
    "suction_pressure": ("pressure", "length", "ratio"),
    "level": ("length", "pressure", "ratio"),
    "float": ("length", "ratio"),
    "flow_switch": ("flow", "ratio"),
    "underload": ("power", "current", "torque", "ratio"),
}


def _kinds(case: Case, place: str) -> Iterator[Finding]:
    if not kinds.sensor_fits(case):
        yield _other_sensor(case)
        return
    wrong = [each for each in _of_the_loop(case) if not kinds.readable(_kind(case), each[1])]
    for kind in dict.fromkeys(value.kind for _, value in wrong):
        yield _finding(case, [each for each in wrong if each[1].kind == kind])
    yield from _at_suction(case)
    yield from _dry_run(case)


def _kind(case: Case) -> str | None:
    """What values of the loop may be; a loop all in % takes any unit here, for want of one."""
    kind = kinds.of_loop(case)
    return None if kind == "ratio" else kind


def _of_the_loop(case: Case) -> Iterator[Named]:
    """Every value that belongs to what the loop regulates, as far as it is known."""
    if not loop.reads_feedback(case):
        return
    regulates = loop.is_closed(case)
    places = [*AIMS, *OTHERS, *_listed(case)] if regulates else [AT_LOWER, AT_UPPER]
    places += [
        f"/settings/{name}"
        for name in LIMITS
        if case.is_(f"/settings/{name}_measured_by", "regulating_sensor")
    ]
    for pointer in places:
        found = case.find(pointer)
        if found is not None:
            yield pointer, found


def _listed(case: Case) -> Iterator[str]:
    for index in range(len(case.find("/settings/set_point_alternatives") or ())):
        yield f"/settings/set_point_alternatives/{index}/set_point"
    for index, test in enumerate(case.find("/event/step_tests") or ()):
        if test.step_kind == "set_point":
            yield f"/event/step_tests/{index}/from_value"
            yield f"/event/step_tests/{index}/to"


def _finding(case: Case, wrong: list[Named]) -> Finding:
    """One finding for all values of one wrong kind."""
    pointer, first = wrong[0]
    kept = _kind(case)
    in_head = kept == "pressure" and first.kind == "length"
    aims = any(each in AIMS for each, _ in wrong)
    read = f"{first.value} {HEAD_UNIT[first.unit]}" if first.unit in HEAD_UNIT else "in mH2O"
    return KINDS.finding(
        "head" if in_head else "other", "stop" if aims and not in_head else "review",
        _as_entered(case.place(pointer)),
        compared={_name(each): value for each, value in wrong},
        kept=_kept(case), kind=kinds.WORDS[first.kind], read=read,
        values=" and ".join(f"{_name(each)} {entered(value)}" for each, value in wrong[:3]),
        are="is" if len(wrong) == 1 else "are each",
    )  # fmt: skip


def _keeps(regulated: str) -> str:
    """What a loop keeps: a level is one, whichever way it is kept."""
    return f"The loop keeps a {'level' if regulated in loop.LEVELS else spaced(regulated)}"


def _kept(case: Case) -> str:
    """What the loop keeps, and what its sensor measures, in words."""
    regulated, sensor = case.find("/settings/regulated_quantity"), case.find(kinds.REGULATING)
    measured = sensor.quantity if sensor is not None else None
    told = _keeps(regulated) if regulated is not None else ""
    if measured in (None, "unknown"):
        return told or f"The loop is scaled in {kinds.WORDS[str(_kind(case))].split()[-1]}"
    measures = f"{sensor.tag or 'the sensor'} measures {spaced(measured)}"
    return f"{told}, and {measures}" if told else measures[0].upper() + measures[1:]


def _other_sensor(case: Case) -> Finding:
    regulated, sensor = case.require("/settings/regulated_quantity", kinds.REGULATING)
    return KINDS.finding(
        "sensor", "stop", case.place("/settings/regulated_quantity"),
        compared={}, kept=_keeps(regulated), tag=sensor.tag or "the sensor",
        measured=spaced(sensor.quantity),
    )  # fmt: skip


def _at_suction(case: Case) -> Iterator[Finding]:
    """The low-suction limit against the suction sensor that it is read from."""
    found = case.find("/settings/low_suction_limit")
    sensor = case.find("/suction_sensor")
    if found is None or sensor is None or sensor.quantity in (None, "unknown"):
        return
    if not case.is_("/settings/low_suction_limit_measured_by", "suction_sensor"):
        return
    if kinds.fits_sensor(case, "/suction_sensor", found):
        return
    measures = f"{sensor.tag or 'The suction sensor'} measures {spaced(sensor.quantity)}"
    head = found.kind == "length" and found.unit in HEAD_UNIT and sensor.quantity == "pressure"
    yield KINDS.finding(
        "head" if head else "other", "review", case.place("/settings/low_suction_limit"),
        compared={"low suction limit": found}, kept=measures, kind=kinds.WORDS[found.kind],
        read=f"{found.value} {HEAD_UNIT[found.unit]}" if head else "",
        values=f"low suction limit {entered(found)}", are="is",
    )  # fmt: skip


def _dry_run(case: Case) -> Iterator[Finding]:
    """The dry-run threshold against the method that it belongs to."""
    found, method = (case.find(f"/settings/dry_run_{name}") for name in ("threshold", "method"))
    if found is None or found.kind in DRY_RUN.get(str(method), (found.kind,)):
        return
    yield KINDS.finding(
        "other", "review", case.place("/settings/dry_run_threshold"),
        compared={"dry run threshold": found}, kept=f"The dry-run method is {spaced(method)}",
        kind=kinds.WORDS[found.kind], values=f"dry run threshold {entered(found)}", are="is",
        read="",
    )  # fmt: skip


def _as_entered(pointer: str) -> str:
    return pointer.removesuffix("_value") if pointer.endswith("/from_value") else pointer


def _name(pointer: str) -> str:
    step = pointer.rpartition("/")[2]
    return NAMES.get(step, spaced(step))


KINDS = Rule(
    id="loop.kinds",
    title="Kinds of quantity that meet in the loop",
    severities=("stop", "review"),
    condition="Set point, scaling, wake value, boost, offsets, steps and the limits that the "
    "regulating sensor watches are of the kind that the loop regulates, or in % of its span (a "
    "level also in units of pressure); the regulating sensor measures what is regulated; the "
    "low-suction limit and the dry-run threshold are of the kind of what watches them.",
    source="definition: quantities of different kinds cannot be compared",
    subject="/settings/set_point",
    applies=has_drive,
    correct_only=True,
    check=_kinds,
    sentences={
        "other": "{kept}, but the {values} {are} {kind}: the two cannot be compared, and what "
        "rests on it is not judged.",
        "head": "{kept}, but the {values} {are} a length. A height of water is written {read}.",
        "sensor": "{kept}, but {tag}, which the drive is regulated on, measures {measured}.",
    },
    remedies={
        "other": "Read value and unit on the drive again, and check what is regulated.",
        "head": "Write {read} if a height of water is meant.",
        "sensor": "Correct what is regulated, or the sensor that the drive is regulated on.",
    },
)


# -- the side of the pump -------------------------------------------------------------------------


def _keeps_a_side(case: Case) -> bool:
    """Whether a pressure on one side of the pump is kept, and it is known where the sensor is."""
    side = case.is_("/settings/regulated_quantity", *OTHER_SIDE) and loop.is_known_closed(case)
    return side and case.find(LOCATION) is not None


def _side(case: Case, place: str) -> Iterator[Finding]:
    regulated = case.word("/settings/regulated_quantity")
    if case.is_(LOCATION, OTHER_SIDE[regulated]):
        yield SIDE.finding(
            "other", "review", case.place(place),
            compared={}, kept=_keeps(regulated), side=OTHER_SIDE[regulated],
            tag=case.find(f"{kinds.REGULATING}/tag") or "the sensor",
        )  # fmt: skip


SIDE = Rule(
    id="loop.sensor-side",
    title="Side of the pump on which the regulating sensor is",
    severities=("review",),
    condition="A discharge pressure is not kept by a sensor at the suction, nor a suction pressure "
    "by one at the discharge.",
    source="logic",
    subject=LOCATION,
    waits_for=("loop.kinds", "loop.scaling"),
    applies=_keeps_a_side,
    check=_side,
    sentences={
        "other": "{kept}, but {tag}, which the drive is regulated on, is recorded at the {side}.",
    },
    remedies={"other": "Correct where the sensor is, which sensor it is, or what is regulated."},
)


# -- a difference from one pressure ---------------------------------------------------------------


def _differential(case: Case, place: str) -> Iterator[Finding]:
    sensor = case.require(kinds.REGULATING)[0]
    quantity = case.word(f"{kinds.REGULATING}/quantity")
    if not case.is_("/settings/regulated_quantity", "differential_pressure"):
        if quantity == "differential_pressure":
            yield DIFFERENTIAL.finding(
                "one", "review", place, compared={}, tag=sensor.tag or "the regulating sensor"
            )
        return
    if quantity != "pressure":
        return
    may_subtract = case.find("/pump_set/suction_sensor") is not None
    yield DIFFERENTIAL.finding(
        "subtract" if may_subtract else "gauge", "note" if may_subtract else "review", place,
        compared={}, tag=sensor.tag or "the regulating sensor",
    )  # fmt: skip


DIFFERENTIAL = Rule(
    id="loop.differential",
    title="Differential pressure measured as a difference",
    severities=("review", "note"),
    condition="A loop that keeps a differential pressure is regulated on a sensor of differential "
    "pressure; where a suction sensor is recorded beside one of pressure, the drive may take the "
    "one off the other (note). A loop that keeps one pressure is not regulated on a difference.",
    source="definition of a differential pressure",
    subject="/settings/regulated_quantity",
    needs=(f"{kinds.REGULATING}/quantity",),
    waits_for=("loop.kinds",),
    applies=lambda case: (
        loop.is_closed(case) and case.is_("/settings/regulated_quantity", *loop.PRESSURES)
    ),
    check=_differential,
    sentences={
        "gauge": "The loop keeps a differential pressure, but {tag} measures one pressure alone: "
        "the suction pressure is in what it shows.",
        "one": "The loop is set to keep one pressure, but {tag} measures a difference of two: what "
        "it shows changes with the pressure on its other side.",
        "subtract": "The loop keeps a differential pressure, and {tag} measures one pressure "
        "alone: it is right only if the drive takes the suction sensor's value off it.",
    },
    remedies={
        "gauge": "Regulate on a differential pressure transmitter, or let the drive take a suction "
        "sensor's value off; or regulate the discharge pressure.",
        "one": "Correct what is regulated, if a difference is meant; else regulate on a gauge "
        "transmitter. Where the other side is open to the air, record it as one.",
        "subtract": "Check on the drive that the suction sensor's value is taken off.",
    },
)
