"""Sensors that were exchanged on a visit: what was found is one thing, what was left another."""

from typing import NamedTuple

from calculations.case import Case

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


def named(case: Case, sensor: str) -> bool:
    """Whether the visit says by which sensor the one at a place was replaced."""
    tag = case.find(f"{sensor}/tag")
    return any(
        each.resource == SENSORS and each.tag == tag and each.new_serial
        for each in case.find(REPLACED) or ()
    )
