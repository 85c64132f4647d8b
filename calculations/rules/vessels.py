"""Rules of hydropneumatic vessels: their pre-charge."""

from collections.abc import Iterator

from calculations.aspects import liquid, loop
from calculations.aspects.storage import WAKE, bridges, over_sensor, wake_value
from calculations.case import Case, Missing
from calculations.findings import Finding
from calculations.inputs.sensor import Vessel
from calculations.rule import Limit, Rule, about, entered, percent, show
from calculations.rules.closeness import above, below, signed_percent
from calculations.rules.loop_set_point import SCALED

CHECKS = "/event/vessel_checks"


def serves_sleep(case: Case) -> bool:
    """Whether a vessel bridges the time until the pump wakes."""
    return loop.on_discharge_pressure(case) and any(
        bridges(vessel) for vessel in case.find("/vessels") or ()
    )


def vessel_of(case: Case, place: str) -> tuple[str, Vessel]:
    """The vessel that a check belongs to, with its place."""
    named = case.find(f"{place}/vessel")
    vessels = list(enumerate(case.find("/vessels") or ()))
    for index, vessel in vessels:
        alone = named is None and len(vessels) == 1
        if alone or (named is not None and named in (vessel.id, vessel.tag, vessel.serial)):
            return f"/vessels/{index}", vessel
    raise Missing(f"{place}/vessel")


WITHOUT_PRESSURE = (
    "Lock out the pumps that could start, isolate the vessel, and open its drain and vent until "
    "its water side holds no pressure; leave them open, and "
)
READ_AGAIN = WITHOUT_PRESSURE + "read its gas side again."


def _bring_it_to(target: str) -> str:
    return (
        f"bring its gas to {target}, with dry nitrogen or clean dry air as its maker says, through "
        "a pressure regulator, and never above {most}."
    )


def _most(vessel: Vessel) -> str:
    """The highest pressure that a vessel may be charged to, in words."""
    stated = vessel.maximum_pressure
    return (
        f"the {entered(stated)} it is made for"
        if stated is not None
        else "the highest pressure on its plate"
    )


# -- pre-charge -----------------------------------------------------------------------------------


def _precharge(case: Case, place: str) -> Iterator[Finding]:
    stands, vessel = vessel_of(case, place)
    if not bridges(vessel):
        return
    if not case.require(f"{place}/system_drained")[0]:
        read = case.find(f"{place}/pre_charge_as_left") or case.find(f"{place}/pre_charge_as_found")
        if read is not None:
            yield PRECHARGE.finding(
                "not_drained", "review", place,
                compared={"precharge": read}, tag=vessel.tag or "the vessel",
            )  # fmt: skip
        return
    left = case.find(f"{place}/pre_charge_as_left") or case.quantity(f"{place}/pre_charge_as_found")
    over = over_sensor(case, stands)
    wake = wake_value(case) + over
    if wake <= 0:
        raise Missing(case.place(WAKE), because="no pressure to charge a vessel to")
    least = case.limit("vessel.precharge.least")
    low, high = (case.limit(f"vessel.precharge.{end}") * wake for end in ("low", "high"))
    if not below(left.at_most, low) and not above(left.at_least, high):
        return
    fits = below(left.at_least, wake) and not below(left.at_most, least * wake)
    grave = "low" if below(left.si, least * wake) else "high"
    aside = "below_target" if below(left.si, low) else "above_target"
    yield PRECHARGE.finding(
        aside if fits else grave, "note" if fits else "review", place,
        compared={"precharge": left, "wake": show(wake, left.unit)},
        limit=f"{percent(least)} of the wake pressure, and below it",
        tag=vessel.tag or "The vessel", share=percent(left.si / wake),
        target_low=about(low, left.unit), target_high=about(high, left.unit), most=_most(vessel),
        there=f" at the vessel ({show(wake - over, left.unit)} at the remote sensor)" if over
        else "",
    )  # fmt: skip


PRECHARGE = Rule(
    id="vessel.precharge",
    title="Pre-charge against the wake pressure",
    severities=("review", "note"),
    condition="The pre-charge, measured with the system drained, is below the wake pressure and "
    "not below 60 % of it; outside the target of 80 to 95 % it is noted. A wake pressure that is "
    "read at a remote sensor counts with the height of the sensor over the pump.",
    source="common practice, from memory",
    each=CHECKS,
    needs=(WAKE, "/settings/wake_basis", "./system_drained"),
    waits_for=(*SCALED, "loop.set-point-unit", "loop.wake"),
    applies=serves_sleep,
    check=_precharge,
    limits={
        "least": Limit(60, "%", "of the wake pressure", "higher", "from memory"),
        "low": Limit(80, "%", "of the wake pressure, target", "higher", "from memory"),
        "high": Limit(95, "%", "of the wake pressure, target", "lower", "from memory"),
    },
    sentences={
        "not_drained": "{precharge} were read at {tag} with its water side not drained: that is "
        "the pressure of the water, and says nothing of the pre-charge.",
        "high": "{tag} is charged to {precharge}, not below the wake pressure of {wake}{there}: it "
        "is empty before the pump wakes.",
        "low": "{tag} is charged to {precharge} only, the pump wakes at {wake}{there}: most of the "
        "vessel holds water that it never gives.",
        "below_target": "{tag} is charged to {precharge}, {share} of the wake pressure of "
        "{wake}{there}: it gives less water than it could before the pump wakes.",
        "above_target": "{tag} is charged to {precharge}, {share} of the wake pressure of "
        "{wake}{there}: it is nearly empty when the pump wakes.",
    },
    remedies={"not_drained": READ_AGAIN}
    | dict.fromkeys(
        ("high", "low", "below_target", "above_target"),
        WITHOUT_PRESSURE + _bring_it_to("{target_low} to {target_high}"),
    ),
)


# -- pre-charge of a vessel that bridges no sleep -------------------------------------------------


def _design_decides(case: Case, vessel: Vessel) -> bool:
    """Whether the pre-charge is the design's affair: that of other vessels follows the wake."""
    return not (bridges(vessel) and serves_sleep(case))


def _has_designed(case: Case) -> bool:
    return any(_design_decides(case, vessel) for vessel in case.find("/vessels") or ())


def _as_designed(case: Case, place: str) -> Iterator[Finding]:
    at, vessel = vessel_of(case, place)
    if not _design_decides(case, vessel):
        return
    left = case.find(f"{place}/pre_charge_as_left") or case.quantity(f"{place}/pre_charge_as_found")
    tag = vessel.tag or "The vessel"
    if not case.require(f"{place}/system_drained")[0]:
        yield DESIGNED.finding(
            "not_drained", "review", place, compared={"precharge": left}, tag=tag
        )  # fmt: skip
        return
    designed, air = case.quantity(f"{at}/pre_charge_pressure_design"), liquid.atmosphere(case)
    allowed = case.limit("vessel.precharge-design.difference") * (designed.si + air)
    if not above(abs(left.si - designed.si), allowed + left.resolution + designed.resolution):
        return
    yield DESIGNED.finding(
        "less" if left.si < designed.si else "more", "review", place,
        compared={"precharge": left, "designed": designed},
        limit=f"{about(allowed, designed.unit)} either way",
        tag=tag, difference=signed_percent((left.si - designed.si) / (designed.si + air)),
        most=_most(vessel),
    )  # fmt: skip


_CHARGED = (
    "{tag} is charged to {precharge}, designed for it are {designed} ({difference} of its gas): "
)

DESIGNED = Rule(
    id="vessel.precharge-design",
    title="Pre-charge of a vessel that bridges no sleep against its design",
    severities=("review",),
    condition="The pre-charge of a vessel against surge, or of another that does not bridge the "
    "time while the pump sleeps, measured with the system drained, is that of its design to within "
    "10 % of the absolute pressure: as much more or less gas.",
    source="Boyle's law: the gas in a volume goes with its absolute pressure; limit: common "
    "practice, no source",
    each=CHECKS,
    applies=_has_designed,
    check=_as_designed,
    limits={
        "difference": Limit(10, "%", "of the absolute pressure", "lower", "common practice"),
    },
    sentences={
        "not_drained": "{precharge} were read at {tag} with its water side not drained: that is "
        "the pressure of the water, and says nothing of the pre-charge.",
        "less": _CHARGED + "it fills with water, and has little left to take up a surge.",
        "more": _CHARGED + "it holds little water to give when the pressure falls, and empties "
        "into the main.",
    },
    remedies={"not_drained": READ_AGAIN}
    | dict.fromkeys(
        ("less", "more"),
        f"{WITHOUT_PRESSURE}read its gas side again with its unit; then "
        f"{_bring_it_to('{designed}')} Where a study asks for another pre-charge, enter that as "
        "the design.",
    ),
)
