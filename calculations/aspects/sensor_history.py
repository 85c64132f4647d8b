"""One sensor from visit to visit: known by its tag and its serial number, as it was left before."""

from collections.abc import Iterator
from typing import NamedTuple

from calculations.aspects import entries, exchanges, history, verifying
from calculations.aspects.verifying import VERIFICATIONS, Check
from calculations.case import Case, Missing, once
from calculations.errors import CalculationError
from calculations.rule import elements


class Sensor(NamedTuple):
    """One sensor, as far as it can be told from others; None where not known."""

    tag: str | None
    serial: str | None

    @property
    def kind(self) -> str:
        """By what name the record is kept that its comparison begins from."""
        return " ".join(("sensor", *filter(None, self)))


class Verified(NamedTuple):
    """A verification: which sensor was found, and which one was left there."""

    place: str
    found: Sensor
    left: Sensor


@once
def verified(case: Case) -> tuple[Verified, ...]:
    """The verifications whose sensor is known; what is read after an exchange is the new one."""
    return tuple(_verified(case))


def _verified(case: Case) -> Iterator[Verified]:
    came: dict[str, Sensor] = {}
    for place in elements(case, VERIFICATIONS):
        try:
            at = verifying.sensor_place(case, place)
        except Missing:
            continue
        tag, serial = case.find(f"{at}/tag"), case.find(f"{at}/serial")
        found = left = came.get(at, Sensor(tag, None if serial is None else str(serial)))
        if exchanges.is_exchanged(case, place):
            old, new = exchanges.of_sensor(case, at)
            found = Sensor(tag, old or None)
            left = came[at] = Sensor(tag, new or None)
        yield Verified(place, found, left)


def found(case: Case) -> set[Sensor]:
    """The sensors that were found at a visit, each of which may have been left at one before."""
    return {each.found for each in verified(case)}


def where_left(case: Case, sensor: Sensor) -> str | None:
    """The verification at which a sensor was left and read so; None where there is none."""
    for each in verified(case):
        if each.left == sensor and _is_read(case, each.place):
            return each.place
    return None


def _is_read(case: Case, place: str) -> bool:
    try:
        return bool(case.find(f"{place}/{verifying.state_left(case, place)}"))
    except CalculationError:
        return False


def before(case: Case, place: str) -> tuple[Case, Check]:
    """The first visit at which the same sensor was left and read, and how it was left there.

    Of one that was exchanged at a visit, the new one was left there, and the old one found.
    """
    first, at = history.earlier(case), verifying.sensor_place(case, place)
    (sensor,) = (each.found for each in verified(case) if each.place == place)
    for then in (first, history.sealed(case, case.beside.anew.get(sensor.kind))):
        left = None if then is None else where_left(then, sensor)
        if then is not None and left is not None:
            return then, _written_right(case, then, left, place)
    tag = case.find(f"{at}/tag")
    others = {each.left.serial for each in verified(first) if each.left.tag == tag}
    others.discard(sensor.serial)
    if not others:
        raise Missing(place, because=NOT_LEFT)
    unknown = sensor.serial is None or None in others
    raise Missing(place, because=PERHAPS_OTHER_SENSOR if unknown else OTHER_SENSOR)


def _written_right(case: Case, then: Case, left: str, place: str) -> Check:
    """The verification as left; `Missing` where one slip of writing explains its errors."""
    state = verifying.state_left(then, left)
    if entries.slip(then, left, state):
        visit = "the first visit" if then is case.earlier else history.told(case, then)
        raise Missing(place, because=f"what was written down at {visit} is in doubt")
    return verifying.check(then, left, state)


OTHER_SENSOR = (
    "another sensor stood there at the first visit, and no record has readings of this one as it "
    "was left"
)
NOT_LEFT = "no record has readings of this sensor as it was left"
PERHAPS_OTHER_SENSOR = "its serial number is not known of both visits; it may be another sensor"
