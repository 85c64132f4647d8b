"""One sensor from visit to visit: known by its tag and its serial number, as it was left before."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from calculations.aspects import entries, exchanges, history, verifying
from calculations.aspects.verifying import VERIFICATIONS, Check, points_of
from calculations.case import Case, Missing, once
from calculations.errors import CalculationError

ADJUSTED = ("zero", "span", "scaling", "replaced")


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
    for place in case.elements(VERIFICATIONS):
        try:
            at = verifying.sensor_place(case, place)
        except Missing:
            continue
        tag, read = case.find(f"{at}/tag"), exchanges.serials(case, place, at)
        yield Verified(place, Sensor(tag, read.found), Sensor(tag, read.left))


def found(case: Case) -> set[Sensor]:
    """The sensors that were found at a visit, each of which may have been left at one before."""
    return {each.found for each in verified(case)}


class Leaving(NamedTuple):
    """How a visit left a sensor: where that was verified last, whether read, whether adjusted."""

    place: str
    is_read: bool
    is_adjusted: bool


def leaving(case: Case, sensor: Sensor) -> Leaving | None:
    """How a visit left a sensor; None where it neither adjusted nor read it."""
    found = [_leaving(case, each.place) for each in verified(case) if each.left == sensor]
    told = [each for each in found if each.is_read or each.is_adjusted]
    if not told:
        return None
    return told[-1]._replace(is_adjusted=any(each.is_adjusted for each in told))


def _leaving(case: Case, place: str) -> Leaving:
    return Leaving(place, _is_read(case, place), adjusts(case, place))


def adjusts(case: Case, place: str) -> bool:
    """Whether a verification adjusted its sensor, by its word or by what was read."""
    return case.is_(f"{place}/adjusted", *ADJUSTED) or _is_left_otherwise(case, place)


def _is_left_otherwise(case: Case, place: str) -> bool:
    """Whether readings as left tell of an adjustment: not the same again, where there was none."""
    found, left = case.find(f"{place}/as_found"), case.find(f"{place}/as_left")
    if not left:
        return False
    untouched = case.is_(f"{place}/adjusted", "none")
    return not (untouched and found and points_of(left) == points_of(found))


def begins_with(before: Iterable[Leaving | None]) -> int | None:
    """Which visit a sensor's drift is counted from, the oldest first; None where none left it.

    The newest that adjusted it, for that ended the drift before; else the first that read it.
    """
    begun: int | None = None
    is_read = False
    for index, left in enumerate(before):
        if left is not None and (begun is None or left.is_adjusted or not is_read):
            begun, is_read = index, left.is_read
    return begun


def _is_read(case: Case, place: str) -> bool:
    try:
        return bool(case.find(f"{place}/{verifying.state_left(case, place)}"))
    except CalculationError:
        return False


def has_before(case: Case) -> bool:
    """Whether any record is at hand that may have left a sensor of this visit."""
    if case.earlier is not None or not case.beside.anew:
        return case.earlier is not None
    return any(each.kind in case.beside.anew for each in found(case))


def before(case: Case, place: str) -> tuple[Case, Check]:
    """The visit that a sensor's drift is counted from, and how it was left there.

    Of one that was exchanged at a visit, the new one was left there, and the old one found.
    """
    (sensor,) = (each.found for each in verified(case) if each.place == place)
    _require_first_here(case, place, sensor)
    begun = history.sealed(case, case.beside.anew.get(sensor.kind))
    then = history.earlier(case) if begun is None else begun
    left = leaving(then, sensor)
    if left is None:
        raise Missing(place, because=_another(case, then, place, sensor))
    if not left.is_read:
        raise Missing(place, because=f"not read as {history.told(case, then)} left it")
    return then, _written_right(case, then, left.place, place)


def _require_first_here(case: Case, place: str, sensor: Sensor) -> None:
    """Raise `Missing` where this visit adjusted the sensor before this verification."""
    for each in verified(case):
        if each.place == place:
            return
        if each.left == sensor and _leaving(case, each.place).is_adjusted:
            raise Missing(place, because="adjusted before at the same visit")


def _another(case: Case, then: Case, place: str, sensor: Sensor) -> str:
    """Why no record has it: another one may have stood at its tag."""
    tag = case.find(f"{verifying.sensor_place(case, place)}/tag")
    others = {each.left.serial for each in verified(then) if each.left.tag == tag}
    others.discard(sensor.serial)
    if not others:
        return NOT_LEFT
    return PERHAPS_OTHER_SENSOR if sensor.serial is None or None in others else OTHER_SENSOR


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
