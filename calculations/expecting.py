"""What to expect of a pump set before anything is measured, and what is missing for it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from calculations.aspects import content, insulation_test, pumping, system
from calculations.aspects.check_points import CheckPoint, check_points
from calculations.case import Case, Missing, Waits
from calculations.catalogue import VALUES
from calculations.derived.speeds import is_read_at_sensor, pressure_unit, shut_off_reading
from calculations.derived.station import FLOW_UNIT
from calculations.errors import Beyond, InvalidInput
from calculations.findings import Derived, digits
from calculations.inputs.event import Event, SettingsPair
from calculations.inputs.readings import DutyPoint, Insulation, MotorTests
from calculations.inputs.settings import Settings
from calculations.inputs.subject import Subject
from calculations.judging import Limits, case_of
from calculations.rule import Value, entered, show
from calculations.rules.closeness import above
from calculations.rules.protections import Wanted, wanted
from calculations.rules.speed_and_system import bearing_parts, weakest
from calculations.units import Quantity, from_si, kinds_of
from calculations.without_drive import ONLY_A_DRIVE_HAS

STEPS = 4
"""Steps between the lowest and the highest frequency at which points are expected."""

SETTINGS = "/event/settings"
AT_A_POINT = (
    "duty.curve-head",
    "duty.expected-current",
    "duty.expected-output-voltage",
    "duty.expected-input-current",
)
"""Values of a duty point that need no reading but its frequency and flow."""

WINDING_TEMPERATURES = (10, 20, 30, 40)
"""At which least insulation resistances are told [degC]."""


@dataclass(frozen=True, slots=True)
class Lacking:
    """A value that cannot be given: places it needs, the rule it waits for, or why."""

    id: str
    subject: str
    needs: tuple[str, ...] = ()
    waits_for: str = ""
    because: str = ""


@dataclass(frozen=True, slots=True)
class Point:
    """What to expect at one frequency; None where something for it is not known."""

    frequency: Quantity
    flow: Quantity | None
    shut_off: Quantity | None
    values: tuple[Derived, ...]


@dataclass(frozen=True, slots=True)
class LeastInsulation:
    """What the meter must show at least at a winding temperature."""

    temperature: Quantity
    resistance: Quantity

    def temperature_in(self, unit: str) -> Quantity:
        """The temperature in degC or degF, to three digits where it is converted."""
        if unit == self.temperature.unit:
            return self.temperature
        return Quantity.of(digits(from_si(self.temperature.si, unit), 3), unit, "temperature")


@dataclass(frozen=True, slots=True)
class Expectation:
    """Values that follow from plates and settings, points on the system, and what is missing.

    `settings` are names of those that a start-up has to write down; `protections` what it has to
    prove, in words, with the functions any of which proves it; `sensors` the points at which each
    of them is checked. Pressures at a closed valve are `at_sensor`, the regulating one, or else at
    the station's datum; `weakest` is what bears least of pipework, pump and vessels, and how much.
    """

    derived: tuple[Derived, ...]
    points: tuple[Point, ...]
    lacking: tuple[Lacking, ...]
    insulation: tuple[LeastInsulation, ...]
    settings: tuple[str, ...]
    protections: tuple[Wanted, ...]
    at_sensor: bool
    sensors: tuple[tuple[CheckPoint, ...], ...]
    weakest: tuple[str, Quantity] | None

    def overloads(self, pressure: float) -> str:
        """What a pressure at a closed valve [Pa] would load beyond its limit; else nothing."""
        if self.weakest is None or not above(pressure, self.weakest[1].si):
            return ""
        whose, limit = self.weakest
        return f"{whose} ({entered(limit)})"


def expect(subject: Subject, limits: Limits | None = None) -> Expectation:
    """Everything that can be said of a pump set from its plates and the settings known so far.

    `subject` is as for `judge`; settings stand in its event, readings are not looked at. `limits`
    are a client's own, by `rule.limit`, in SI. A value that rests on readings is left out; one
    that lacks a plate's or a setting's value is listed with the places that it needs.
    """
    subject = _without_readings(subject)
    case = case_of(subject, limits)
    found = [value for each in VALUES if each.applies(case) for value in _values(each, case)]
    return Expectation(
        tuple(value for value in found if isinstance(value, Derived)),
        tuple(_points(case, limits)),
        tuple(each for each in found if isinstance(each, Lacking) and _can_be_given(case, each)),
        tuple(_insulation(case, limits)),
        tuple(_settings(case, limits)),
        tuple(wanted(case)) if case.find("/site/kind") else (),
        is_read_at_sensor(case),
        tuple(check_points(sensor) for sensor in subject.sensors or ()),
        weakest(case) if bearing_parts(case) else None,
    )


def _without_readings(subject: Subject) -> Subject:
    settings = subject.event.settings if subject.event else None
    return subject.model_copy(update={"event": Event(settings=settings)})


def _values(each: Value, case: Case) -> Iterator[Derived | Lacking]:
    places = list(case.elements(each.each)) if each.each else [each.subject]
    for place in places:
        found = _value(each, case, place)
        if isinstance(found, Derived) or not _rests_on_readings(found):
            yield found


def _value(each: Value, case: Case, place: str) -> Derived | Lacking:
    at = case.place(place)
    try:
        si = each.compute_each(case, place) if each.compute_each else case.value(each.id)
    except Missing as missing:
        return Lacking(each.id, at, missing.places, because=missing.because)
    except Waits as waits:
        return Lacking(each.id, at, waits_for=waits.rule)
    except InvalidInput as error:
        return Lacking(each.id, at, because=str(error))
    except ArithmeticError:
        return Lacking(each.id, at, because=str(Beyond()))
    shown = show(si, each.unit(case), each.significant)
    return Derived(each.id, at, si, shown, each.formula, each.source)


def _can_be_given(case: Case, lacking: Lacking) -> bool:
    """Whether the set can have what is lacking: one without a drive has no settings of one."""
    if not case.fixed_speed:
        return True
    asked = (place.removeprefix(f"{SETTINGS}/as_left/") for place in lacking.needs)
    return not any(
        name == "regulation" or name in ONLY_A_DRIVE_HAS or name.startswith("/drive")
        for name in asked
    )


def _rests_on_readings(found: Lacking) -> bool:
    return any(
        place.startswith("/event") and not place.startswith(SETTINGS) for place in found.needs
    )


# -- settings -----------------------------------------------------------------------------------


def _settings(case: Case, limits: Limits | None) -> Iterator[str]:
    """What has to be written down; a set with a sensor to regulate on is taken to do so."""
    settings = case.settings or Settings()
    if settings.regulation in (None, "unknown") and case.regulating_sensor is not None:
        settings = settings.model_copy(update={"regulation": "closed_loop_in_drive"})
        event = Event(settings=SettingsPair(as_left=settings))
        case = case_of(case.subject.model_copy(update={"event": event}), limits)
    yield from content.needed(case, settings)


# -- insulation ---------------------------------------------------------------------------------


def _insulation(case: Case, limits: Limits | None) -> Iterator[LeastInsulation]:
    """Minima at winding temperatures of a motor at rest; an immersed one with its cable."""
    if case.find("/rating/voltage") is None:
        return
    for celsius in WINDING_TEMPERATURES:
        temperature = Quantity.of(celsius, "degC", "temperature")
        test = Insulation(
            winding_temperature=temperature, includes_cable=case.find("/motor/immersed")
        )
        least = insulation_test.minimum_today(
            _with(case, limits, motor_tests=MotorTests(insulation=test))
        )
        megohm = digits(from_si(least, "Mohm"), 2)
        yield LeastInsulation(temperature, Quantity.of(megohm, "Mohm", "resistance"))


# -- points on the system -----------------------------------------------------------------------


def _points(case: Case, limits: Limits | None) -> Iterator[Point]:
    """Points from the lowest to the highest frequency that the drive is set to."""
    if not pumping.is_centrifugal(case):
        return
    known = [(each, _flow(case, each)) for each in _frequencies(case)]
    there = _at(case, known, limits)
    for index, (frequency, flow) in enumerate(known):
        yield Point(frequency, flow, _shut_off(case, frequency), tuple(_derived(there, f"{index}")))


def _frequencies(case: Case) -> list[Quantity]:
    lowest = case.find("/settings/minimum_frequency")
    highest = case.find("/settings/maximum_frequency") or case.find("/rating/frequency")
    if highest is None:
        return []
    if case.fixed_speed or lowest is None or not 0 < lowest.si < highest.si:
        return [_shown(highest.si, "Hz", 1)]
    step = (highest.si - lowest.si) / STEPS
    return [_shown(lowest.si + index * step, "Hz", 1) for index in range(STEPS + 1)]


def _flow(case: Case, frequency: Quantity) -> Quantity | None:
    """Flow of this pump alone on the system, at the highest lift."""
    try:
        found = system.flow(case, frequency.si, "low")
    except (Missing, Waits, InvalidInput, ArithmeticError):
        return None
    unit = FLOW_UNIT(case)
    return _shown(found, unit, 0 if found == 0 or from_si(found, unit) >= LARGE else 1)


LARGE = 100
"""From here on a flow is told without decimals [1]."""


def _shut_off(case: Case, frequency: Quantity) -> Quantity | None:
    if not pumping.may_shut_off(case):
        return None
    try:
        found = shut_off_reading(case, frequency.si)
    except (Missing, Waits, InvalidInput, ArithmeticError):
        return None
    return _shown(found, pressure_unit(case), 1)


def _at(case: Case, known: list[tuple[Quantity, Quantity | None]], limits: Limits | None) -> Case:
    points = [DutyPoint(frequency=frequency, flow=flow) for frequency, flow in known]
    return _with(case, limits, duty_points=points)


def _with(case: Case, limits: Limits | None, **parts: Any) -> Case:
    """The same with parts of an event in it."""
    settings = case.event.settings if case.event else None
    event = Event(settings=settings, **parts)
    return case_of(case.subject.model_copy(update={"event": event}), limits)


def _derived(case: Case, index: str) -> Iterator[Derived]:
    for each in VALUES:
        if each.id in AT_A_POINT and each.applies(case):
            found = _value(each, case, f"/event/duty_points/{index}")
            if isinstance(found, Derived):
                yield found


def _shown(si: float, unit: str, decimals: int) -> Quantity:
    """A computed value with so many decimals, as if it had been entered."""
    return Quantity.of(f"{from_si(si, unit):.{decimals}f}", unit, *kinds_of(unit))
