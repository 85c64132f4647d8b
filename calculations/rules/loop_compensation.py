"""Rule of a set point that is raised with the flow, to make up for friction."""

from collections.abc import Iterator

from calculations.aspects import group, loop, pumping, sleeping
from calculations.case import Case
from calculations.derived.duty import HEAD_UNIT
from calculations.findings import Finding
from calculations.rule import Limit, Rule, each_alone, show
from calculations.rules.closeness import above, below
from calculations.rules.loop_set_point import SCALED, SET_POINT
from calculations.rules.speed_limits import MAXIMUM, RESTS_ON_CURVE

AT_ZERO, AT_DESIGN = f"{loop.COMPENSATION}/at_zero_flow", f"{loop.COMPENSATION}/at_design_flow"


def _is_raised(case: Case) -> bool:
    return loop.is_closed(case) and case.find(loop.COMPENSATION) is not None


def _compensation(case: Case, place: str) -> Iterator[Finding]:
    return each_alone(_way(case), _apart(case), _reach(case))


def _way(case: Case) -> Iterator[Finding]:
    """Friction grows with the flow, so that what is kept at the pump has to."""
    if below(loop.process_value(case, AT_DESIGN), loop.process_value(case, AT_ZERO)):
        yield COMPENSATION.finding(
            "falling", "review", case.place(AT_DESIGN),
            compared={"zero": case.quantity(AT_ZERO), "design": case.quantity(AT_DESIGN)},
        )  # fmt: skip


def _apart(case: Case) -> Iterator[Finding]:
    set_point = case.find(SET_POINT)
    if set_point is None:
        return
    ends = sorted(loop.process_value(case, each) for each in (AT_ZERO, AT_DESIGN))
    aim = loop.set_point(case)
    if below(aim, ends[0]) or above(aim, ends[1]):
        yield COMPENSATION.finding(
            "apart", "note", case.place(SET_POINT),
            compared={"set_point": set_point, "zero": case.quantity(AT_ZERO),
                      "design": case.quantity(AT_DESIGN)},
        )  # fmt: skip


def _reach(case: Case) -> Iterator[Finding]:
    """What the pump gives at its share of the design flow, at its fastest and lowest suction."""
    if not (loop.keeps_pressure_of_pump(case) and pumping.is_centrifugal(case)):
        return
    highest, aim = case.quantity(MAXIMUM), loop.process_value(case, AT_DESIGN)
    needed = loop.required_head(case, "low", aim)
    available = pumping.curve(case).shut_off_head(speed=pumping.speed(case, highest.si, 0.0))
    unit = HEAD_UNIT(case)
    if not below(needed, available):
        yield COMPENSATION.finding(
            "never", "review", case.place(AT_DESIGN),
            compared={"design": case.quantity(AT_DESIGN), "maximum": highest,
                      "needed": show(needed, unit), "available": show(available, unit)},
        )  # fmt: skip
        return
    wanted = case.quantity("/site/system_design_flow")
    flow = sleeping.flow_at_set_point(case, highest.si, "low", aim)
    least = 1 - case.limit("loop.flow-compensation.flow")
    if below(flow * group.sharing(case), wanted.si * least):
        yield COMPENSATION.finding(
            "little_flow", "review", case.place(AT_DESIGN),
            compared={"design": case.quantity(AT_DESIGN), "maximum": highest,
                      "flow": show(flow, wanted.unit), "wanted": wanted},
        )  # fmt: skip


COMPENSATION = Rule(
    id="loop.flow-compensation",
    title="Set point raised with the flow",
    severities=("review", "note"),
    condition="What the set point is raised to at the design flow is not less than at no flow; at "
    "the maximum frequency and the lowest suction the pump gives it at its share of the design "
    "flow (10 % allowed). The set point itself lies between the two (else note).",
    source="affinity laws, HI engineering data, equation 1.B.6; friction grows with the flow",
    subject=loop.COMPENSATION,
    needs=(AT_ZERO, AT_DESIGN),
    waits_for=("loop.kinds", *SCALED, *RESTS_ON_CURVE, "speed.order", "loop.set-point-in-span"),
    applies=_is_raised,
    check=_compensation,
    limits={"flow": Limit(10, "%", "less than the design flow", "lower", "common practice")},
    sentences={
        "falling": "The set point falls from {zero} at no flow to {design} at the design flow: "
        "friction asks for more with the flow, not for less.",
        "apart": "The set point {set_point} lies outside {zero} to {design}, between which the "
        "flow moves it: which of them holds?",
        "never": "At the design flow {design} are to be kept, {needed} of head at the lowest "
        "suction; at {maximum} the pump gives {available} without any flow.",
        "little_flow": "At {maximum} and the lowest suction the pump gives {design} up to {flow} "
        "only, less than its share of the design flow {wanted}.",
    },
    remedies={
        "falling": "Check whether the two values are swapped.",
        "never": "Lower the set point at the design flow, or check its unit.",
        "little_flow": "Lower the set point at the design flow, or check curve and design flow.",
    },
)
