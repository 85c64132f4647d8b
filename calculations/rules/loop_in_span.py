"""Rule of the set point's place in the span of the feedback."""

from collections.abc import Iterator

from calculations.aspects import loop
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, each_alone, percent
from calculations.rules import mix_ups
from calculations.rules.closeness import below
from calculations.rules.loop_set_point import MIXED_UP, SCALED, SET_POINT
from calculations.rules.loop_signal import AT_LOWER, AT_UPPER, shown
from calculations.units import to_si


def _in_span(case: Case, place: str) -> Iterator[Finding]:
    return each_alone(*(_share_of(case, each) for each in loop.aims(case)))


def _share_of(case: Case, pointer: str) -> Iterator[Finding]:
    share = loop.process_range(case).share(loop.process_value(case, pointer))
    wide = case.limit("loop.set-point-in-span.review")
    narrow = case.limit("loop.set-point-in-span.note")
    room = min(share, 1 - share)
    if not below(room, narrow):
        return
    if case.quantity(pointer).kind != "ratio":
        loop.require_level_reference(case)
    severe = below(room, wide)
    limit = wide if severe else narrow
    read = _in_scale_unit(case, wide, pointer) if room < 0 else None
    variant = "unit" if read else "beyond" if room < 0 else "outside" if severe else "near_end"
    yield IN_SPAN.finding(
        variant, "review" if severe else "note", case.place(pointer),
        compared={
            "set_point": case.quantity(pointer),
            "lower": shown(case, loop.process_range(case).low),
            "upper": shown(case, loop.process_range(case).high),
        },
        limit=f"{percent(limit)} to {percent(1 - limit)} of span", share=percent(share),
        room=percent(limit), read=read or "", which=loop.which(case, pointer),
        readings=_readings_inside(case, wide, pointer) if variant == "beyond" else "",
    )  # fmt: skip


def _readings_inside(case: Case, room: float, pointer: str) -> str:
    """What the digits of a pressure would be in units that bring it inside, in words."""
    entered, ranged = case.quantity(pointer), loop.process_range(case)
    read = {unit: to_si(float(entered.value), unit) for unit in MIXED_UP.get(entered.unit, ())}
    inside = [f"in {unit} {about(value, entered.unit)}" for unit, value in read.items()
              if not below(min(ranged.share(value), 1 - ranged.share(value)), room)]  # fmt: skip
    return f": read {', '.join(inside)}" if inside and entered.kind == "pressure" else ""


def _in_scale_unit(case: Case, room: float, pointer: str) -> str | None:
    """The digits of a flow or level in the unit of the drive's scale, if that brings it inside."""
    entered, scale = case.quantity(pointer), case.quantity(AT_UPPER)
    if entered.kind != scale.kind or entered.kind not in ("flow", "length"):
        return None
    meant = mix_ups.in_unit(entered, scale.unit)
    share = loop.process_range(case).share(meant.si)
    inside = not below(min(share, 1 - share), room)
    return f"{meant.value} {meant.unit}" if inside and scale.unit != entered.unit else None


IN_SPAN = Rule(
    id="loop.set-point-in-span",
    title="Set point inside the feedback's span, with room on both sides",
    severities=("review", "note"),
    condition="The set point, every alternative, and what it is raised to with the flow lie at 5 "
    "to 95 % of the span (note: 10 to 90 %).",
    source="common practice, no source",
    subject=SET_POINT,
    needs=(SET_POINT, AT_LOWER, AT_UPPER),
    waits_for=(*SCALED, "loop.set-point-unit", "loop.limits-order"),
    applies=loop.is_closed,
    check=_in_span,
    limits={
        "review": Limit(5, "%", "room at either end, of span", "higher", "from memory"),
        "note": Limit(10, "%", "room at either end, of span", "higher", "from memory"),
    },
    sentences={
        "unit": "Probably {read}, the unit that the drive is scaled in. {which} {set_point} "
        "stands at {share} of the span from {lower} to {upper}.",
        "beyond": "{which} {set_point} lies outside the span from {lower} to {upper}: no feedback "
        "ever shows that it is reached, and the drive runs at a limit.",
        "outside": "{which} {set_point} stands at {share} of the span from {lower} to {upper}: "
        "there is no room to see it exceeded or missed.",
        "near_end": "{which} {set_point} stands at {share} of the span from {lower} to {upper}, "
        "with less than {room} of room on one side.",
    },
    remedies={"unit": "Set the set point to {read}, in the unit that is shown.",
              "beyond": "Check digits and unit of the set point first{readings}. If it is meant "
              "so, it needs a transmitter of a wider range.",
              "outside": "Choose a transmitter range around the set point, or check its unit."},
)  # fmt: skip
