"""Sensors that were exchanged on a visit: what was found is one thing, what was left another."""

from typing import NamedTuple

from calculations.aspects import verifying
from calculations.aspects.verifying import VERIFICATIONS
from calculations.case import Case, Missing, once

SENSORS = "sensor"
REPLACED = "/event/replaced"


class Exchange(NamedTuple):
    """Serial numbers of what was taken out and of what was put in; empty where not known."""

    old_serial: str
    new_serial: str


def is_exchanged(case: Case, place: str) -> bool:
    """Whether a verification was read of two sensors: found the old one, left the new one."""
    return bool(case.is_(f"{place}/adjusted", "replaced"))


def of_sensor(case: Case, sensor: str) -> Exchange:
    """The exchange of the sensor at a place of the subject.

    Where the visit does not say which sensor came, the register is taken to have the old one.
    """
    tag, registered = case.find(f"{sensor}/tag"), str(case.find(f"{sensor}/serial") or "")
    for each in case.find(REPLACED) or ():
        if each.resource == SENSORS and each.tag == tag:
            new = str(each.new_serial or "")
            return Exchange(str(each.old_serial or (registered if registered != new else "")), new)
    return Exchange(registered, "")


class Serials(NamedTuple):
    """Serial numbers of the sensor that a verification found, and of the one that it left."""

    found: str | None
    left: str | None


def serials(case: Case, place: str, sensor: str) -> Serials:
    """Which sensor a verification was read of: before an exchange the old one, the new one after.

    A visit may have several verifications of what stands at a tag; they stand in their order.
    """
    at = _exchange(case, sensor)
    if at is None:
        serial = case.find(f"{sensor}/serial")
        registered = None if serial is None else str(serial)
        return Serials(registered, registered)
    old, new = (each or None for each in of_sensor(case, sensor))
    if at == place:
        return Serials(old, new)
    listed = _of(case, sensor)
    one = old if listed.index(place) < listed.index(at) else new
    return Serials(one, one)


def is_of_exchange(case: Case, sensor: str) -> bool:
    """Whether a visit's verifications of a sensor are of two, of which one replaced the other."""
    return _exchange(case, sensor) is not None


def _exchange(case: Case, sensor: str) -> str | None:
    return next((each for each in _of(case, sensor) if is_exchanged(case, each)), None)


@once
def _of(case: Case, sensor: str) -> tuple[str, ...]:
    """The verifications of the sensor at a place of the subject."""
    return tuple(each for each in case.elements(VERIFICATIONS) if _is_of(case, each, sensor))


def _is_of(case: Case, place: str, sensor: str) -> bool:
    try:
        return verifying.sensor_place(case, place) == sensor
    except Missing:
        return False


def named(case: Case, sensor: str) -> bool:
    """Whether the visit says by which sensor the one at a place was replaced."""
    tag = case.find(f"{sensor}/tag")
    return any(
        each.resource == SENSORS and each.tag == tag and each.new_serial
        for each in case.find(REPLACED) or ()
    )
