"""What vessels hold for the time that a pump sleeps, and the pressures between which they do."""

from calculations.aspects import liquid, loop
from calculations.case import Case, Missing
from calculations.inputs.sensor import Vessel

WAKE = "/settings/wake_value"
CHARGED = ("bladder", "diaphragm")


def bridges(vessel: Vessel) -> bool:
    """Whether a vessel gives water while the pump sleeps."""
    return vessel.kind in CHARGED and vessel.location != "suction"


def wake_value(case: Case) -> float:
    """The wake value in SI of what is regulated, also where it is set below the set point."""
    if case.word("/settings/wake_basis") == "absolute":
        return loop.process_value(case, WAKE)
    away = loop.process_difference(case, WAKE)
    sign = -1 if loop.more_speed_lowers(case) else 1
    return loop.set_point(case) - sign * away


def over_sensor(case: Case, place: str) -> float:
    """What the pressure at a vessel is above that where the loop reads it, at no flow [Pa].

    A vessel that stands away from the station is taken to stand at a sensor that does.
    """
    return 0.0 if case.is_(f"{place}/location", "remote") else loop.over_remote(case)


def usable_volume(case: Case, place: str) -> float:
    """Water that the vessel gives between the stop and the wake pressure [m3].

    V p_0 (1 / p_wake - 1 / p_stop), absolute pressures at the site; Boyle's law.
    """
    volume, charge = case.require(f"{place}/volume", f"{place}/pre_charge_pressure_design")
    over = over_sensor(case, place)
    wake, stop = wake_value(case) + over, loop.set_point(case) + loop.boost(case) + over
    if not charge.si <= wake < stop:
        raise Missing(place, because="pre-charge, wake and stop pressure are not in order")
    air = liquid.atmosphere(case)
    gas: float = volume.si * (charge.si + air)
    return gas * (1 / (wake + air) - 1 / (stop + air))


def lasting(case: Case, flow: float) -> float | None:
    """Time [s] for which the vessels give a flow [m3/s]; None where that is not known."""
    held = 0.0
    try:
        for index, vessel in enumerate(case.find("/vessels") or ()):
            if bridges(vessel):
                held += usable_volume(case, f"/vessels/{index}")
    except Missing:
        return None
    return held / flow if held > 0 and flow > 0 else None
