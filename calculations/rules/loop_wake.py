"""Rule of what wakes a pump that sleeps."""

from collections.abc import Iterator

from calculations.aspects import loop, suction
from calculations.aspects.storage import WAKE, wake_value
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, each_alone, within
from calculations.rules.closeness import above, below
from calculations.rules.loop_set_point import SCALED, SET_POINT
from calculations.rules.loop_signal import shown, shown_difference
from calculations.rules.loop_sleep import sleeps
from calculations.units import Quantity


def _wake(case: Case, place: str) -> Iterator[Finding]:
    # A difference is one from whichever set point holds.
    absolute = case.is_("/settings/wake_basis", "absolute")
    others = loop.alternatives(case) if absolute else ()
    return each_alone(*(_wake_at(case, each) for each in (SET_POINT, *others)))


def _wake_at(case: Case, pointer: str) -> Iterator[Finding]:
    """The wake value against one set point; against all else once, with the first."""
    aim, wake = loop.process_value(case, pointer), wake_value(case)
    place = case.place(WAKE if pointer == SET_POINT else pointer)
    sign = -1 if loop.more_speed_lowers(case) else 1
    room = case.limit("loop.wake.room") * loop.process_span(case)
    compared: dict[str, Shown | Quantity] = {
        "wake": case.quantity(WAKE),
        "set_point": case.quantity(pointer),
        "wakes_at": shown(case, wake),
    }
    if below(sign * (aim - wake), room):
        variant = "wrong_side" if sign * (aim - wake) <= 0 else "at_once"
        yield WAKE_RULE.finding(
            variant, "review", place, compared=compared, room=shown(case, abs(room)),
            which=within(loop.which(case, pointer)),
        )  # fmt: skip
    elif pointer == SET_POINT and loop.keeps_discharge_pressure(case):
        yield from _wake_too_low(case, place, wake, compared)
    elif pointer == SET_POINT and loop.keeps_pressure_of_pump(case) and not above(wake, 0.0):
        away = shown_difference(case, aim)
        absolute = case.is_("/settings/wake_basis", "absolute")
        better = (
            "Set the wake value above zero."
            if absolute
            else (f"Set the difference to the set point to less than {away}.")
        )
        yield WAKE_RULE.finding(
            "never_difference", "review", place, compared=compared, better=better
        )


def _wake_too_low(
    case: Case, place: str, wake: float, compared: dict[str, Shown | Quantity]
) -> Iterator[Finding]:
    least = case.find("/site/minimum_service_pressure")
    if least is not None and below(wake, least.at_least):
        limit = f"at least {least.value} {least.unit}"
        variant, more = _meant(case, "service", least.si)
        yield WAKE_RULE.finding(
            variant, "review", place, compared=compared | {"service": least}, limit=limit, **more
        )
        return
    held = _held(case)
    if not above(wake, held):
        variant, more = _meant(case, "never", held)
        yield WAKE_RULE.finding(
            variant, "review", place, compared=compared | {"held": shown(case, held)}, **more
        )


def _held(case: Case) -> float:
    """What the highest suction holds by itself at the set point's datum [Pa]."""
    return suction.pressure(case, "high", loop.set_point_elevation(case))


def _meant(case: Case, variant: str, least: float) -> tuple[str, dict[str, str]]:
    """The variant, and how to wake at `least` [Pa] or more, in what the wake value is entered as.

    A value taken for a difference is named as that: the one remedy for it is not to raise it.
    """
    if variant == "never" and not below(least, loop.set_point(case)):
        return variant, {
            "better": "Check set point and highest suction with their units: the suction alone "
            "holds what is asked for."
        }
    if case.is_("/settings/wake_basis", "absolute"):
        difference = loop.process_difference(case, WAKE)
        other = _serves(case, loop.set_point(case) - difference)
        also = ", or its basis to below the set point if a difference is meant" if other else ""
        return variant, {"better": f"Set the wake value to {shown(case, least)} or more{also}."}
    meant = loop.process_value(case, WAKE)
    if _serves(case, meant):
        away = shown_difference(case, loop.set_point(case) - meant)
        return f"basis_{variant}", {"difference": str(away)}
    room = loop.set_point(case) - least
    if room <= 0:
        return variant, {"better": "Raise the set point first."}
    away = shown_difference(case, room)
    return variant, {"better": f"Set the difference to the set point to {away} or less."}


def _serves(case: Case, wake: float) -> bool:
    """Whether a wake value [Pa] would draw nothing: below the set point, and high enough."""
    room = case.limit("loop.wake.room") * loop.process_span(case)
    service = case.find("/site/minimum_service_pressure")
    low = service is not None and below(wake, service.at_least)
    if low or below(loop.set_point(case) - wake, room):
        return False
    try:
        return above(wake, _held(case))
    except (Missing, Waits):
        return True  # nothing speaks against it


WAKE_RULE = Rule(
    id="loop.wake",
    title="Wake value within reach, and apart from the set point",
    severities=("review",),
    condition="The wake value lies on the side of the set point where demand shows, at least 0.5 "
    "% of span from it, and from every alternative where it is no difference; with pressure it is "
    "not below the minimum service pressure and above what the highest suction holds by itself; a "
    "difference of pressures is above zero.",
    source="logic; room: common practice, from memory",
    subject=WAKE,
    needs=("/settings/sleep_method", WAKE, "/settings/wake_basis", SET_POINT,
           "/settings/regulated_quantity"),
    waits_for=(*SCALED, "loop.differential", "loop.set-point-unit", "loop.limits-order",
               "loop.set-point-in-span"),
    applies=sleeps,
    check=_wake,
    limits={"room": Limit(0.5, "%", "from the set point, of span", "higher", "from memory")},
    sentences={
        "wrong_side": "The drive wakes at {wakes_at}, which the {which} {set_point} has passed "
        "already: it wakes as soon as it sleeps.",
        "at_once": "The drive wakes at {wakes_at}, less than {room} from the {which} "
        "{set_point}: noise wakes it as soon as it sleeps.",
        "service": "The drive wakes at {wakes_at} only, below the minimum service pressure "
        "{service}.",
        "never_difference": "The drive wakes at a difference of {wakes_at}, but a pump that stands "
        "lets water through from its suction: the difference hardly falls below zero, and the "
        "drive may never wake.",
        "never": "The drive wakes at {wakes_at}, but the highest suction alone holds {held}: it "
        "may never wake.",
        "basis_service": "The wake value {wake} is probably meant as it stands, not as a "
        "difference to the set point {set_point}: as a difference the drive wakes at {wakes_at} "
        "only, below the minimum service pressure {service}.",
        "basis_never": "The wake value {wake} is probably meant as it stands, not as a difference "
        "to the set point {set_point}: as a difference the drive wakes at {wakes_at}, but the "
        "highest suction alone holds {held}, and it may never wake.",
    },
    remedies={
        **dict.fromkeys(("never_difference", "service", "never"), "{better}"),
        **dict.fromkeys(
            ("basis_service", "basis_never"),
            "Set the basis of the wake value to absolute, or the wake value to a difference of "
            "{difference}.",
        ),
        "wrong_side": "Set the wake value on the other side of the set point; check whether it is "
        "meant as a value or as a difference.",
        "at_once": "Set the wake value further from the set point.",
    },
)  # fmt: skip
