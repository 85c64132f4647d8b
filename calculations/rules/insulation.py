"""Rules of the insulation test."""

from collections.abc import Iterator
from itertools import pairwise
from math import log

from calculations import insulation
from calculations.aspects import insulation_test as test
from calculations.aspects.insulation_test import TEST
from calculations.case import Case
from calculations.constants import ICE_POINT
from calculations.findings import Finding, Severity, digits
from calculations.insulation import Winding
from calculations.rule import Limit, Rule, about, show
from calculations.rules.closeness import above, below
from calculations.rules.scope import has_motor, is_immersed, is_new_work, require_place
from calculations.units import Quantity

MAGNUS = (17.62, 243.12)
"""Constants of the dew point [1], [K above 0 degC]; WMO guide no. 8, from memory."""


DRY = 100e6
"""Insulation of a dry winding [ohm], at the least; common practice, no source."""


def is_tested(case: Case) -> bool:
    """Whether the insulation was tested, or should have been."""
    return case.find(TEST) is not None or (is_new_work(case) and has_motor(case))


# -- how the test was made ----------------------------------------------------------------------


def _drive_connected(case: Case, place: str) -> Iterator[Finding]:
    if case.find(f"{TEST}/drive_disconnected") is False:
        # Without a drive a contactor may be all there is: nobody can tell, so that is no review.
        fixed = case.fixed_speed
        severity: Severity = "note" if fixed else "review"
        yield DRIVE_CONNECTED.finding(
            "starter" if fixed else "connected", severity, place, compared={}
        )


def _is_tested_on_drive(case: Case) -> bool:
    connected = case.find(f"{TEST}/drive_disconnected") is False
    return is_tested(case) and (connected or not case.fixed_speed)


DRIVE_CONNECTED = Rule(
    id="insulation.drive-connected",
    title="Drive disconnected during the insulation test",
    severities=("review", "note"),
    condition="The drive, filters and everything electronic were disconnected from the motor; "
    "without a drive a soft starter as well (note).",
    source="IEEE 43-2013 and drive manuals; common practice",
    subject=f"{TEST}/drive_disconnected",
    needs=(f"{TEST}/drive_disconnected",),
    applies=_is_tested_on_drive,
    check=_drive_connected,
    sentences={
        "connected": "The insulation was tested with the drive connected: the reading is that of "
        "the drive's input filters as well, and the test voltage can have damaged it.",
        "starter": "The insulation of a motor without a drive was tested with what feeds it still "
        "connected: a soft starter's thyristors are read as well and can be damaged; a contactor "
        "that stands open is no matter.",
    },
    remedies={
        "connected": "Isolate, measure the d.c. link dead, disconnect the motor cable at the drive "
        "and test again; discharge the winding afterwards."
    },
)


def _discharged(case: Case, place: str) -> Iterator[Finding]:
    if case.find(f"{TEST}/discharged") is False:
        yield DISCHARGED.finding("charged", "review", place, compared={})


DISCHARGED = Rule(
    id="insulation.discharged",
    title="Winding discharged after the insulation test",
    severities=("review",),
    condition="The winding was discharged after the test.",
    source="IEEE 43-2013, from memory; common practice",
    subject=f"{TEST}/discharged",
    applies=lambda case: case.find(f"{TEST}/discharged") is not None,
    check=_discharged,
    sentences={
        "charged": "The winding was not discharged after the insulation test: winding and cable "
        "hold a charge that can hurt whoever touches them."
    },
    remedies={
        "charged": "Connect the winding to earth for at least four times as long as the test took, "
        "and measure that it is dead before anybody touches it."
    },
)


def dew_point(temperature: float, humidity: float) -> float:
    """Temperature [K] at which air of `temperature` [K] and relative `humidity` [1] condenses."""
    a, b = MAGNUS
    celsius = temperature - ICE_POINT
    gamma = log(humidity) + a * celsius / (b + celsius)
    return ICE_POINT + b * gamma / (a - gamma)


def _temperature(case: Case, place: str) -> Iterator[Finding]:
    winding: Quantity = case.quantity(f"{TEST}/winding_temperature")
    air, humidity = case.find("/event/ambient_temperature"), case.find(f"{TEST}/humidity")
    if not is_immersed(case) and air is not None and humidity is not None and humidity.si > 0:
        dew = dew_point(air.si, min(humidity.si, 1.0))
        if below(winding.at_most, dew):
            require_place(case)
            yield TEMPERATURE.finding(
                "dew", "review", place,
                compared={"winding": winding, "air": air, "humidity": humidity},
                limit="above the dew point", dew=about(dew, winding.unit),
            )  # fmt: skip
            return
    if not is_immersed(case) and not _is_correctable(winding):
        require_place(case)
        high = winding.si > ICE_POINT and _is_far_above(case)
        yield TEMPERATURE.finding(
            "high" if high else "range", "note" if high else "review", place,
            compared={"winding": winding}, limit="10 to 85 degC",
        )  # fmt: skip


def _is_far_above(case: Case) -> bool:
    """Whether the reading stands so far above the minimum that no correction would matter."""
    reading = case.find(f"{TEST}/resistance_1_min")
    far = case.limit("insulation.temperature.far-above")
    return reading is not None and not below(reading.si, far * test.limits(case).review)


def _is_correctable(winding: Quantity) -> bool:
    slack = winding.resolution
    lowest, highest = insulation.LOWEST_TEMPERATURE, insulation.HIGHEST_TEMPERATURE
    return not below(winding.si, lowest - slack) and not above(winding.si, highest + slack)


TEMPERATURE = Rule(
    id="insulation.temperature",
    title="Winding temperature during the insulation test",
    severities=("review", "note"),
    condition="The winding of a dry motor was at 10 to 85 degC and above the dew point of the air "
    "(outside that range, and above freezing, a note where the reading is 20 times the minimum).",
    source="IEEE 43-2013 6.3, from memory; dew point by Magnus' formula; 20 times: common practice",
    subject=f"{TEST}/winding_temperature",
    needs=(f"{TEST}/winding_temperature",),
    applies=is_tested,
    check=_temperature,
    limits={
        "far-above": Limit(20, "1", "times the minimum", "higher", "common practice"),
    },
    sentences={
        "dew": "The winding was at {winding}, below the dew point {dew} of air at {air} and "
        "{humidity}: what was measured is water on its surface.",
        "range": "The winding was at {winding}: outside 10 to 85 degC no correction to 40 degC is "
        "published, so that the reading cannot be judged.",
        "high": "The winding was at {winding}: outside 10 to 85 degC no correction to 40 degC is "
        "published; the reading stands far above the minimum, and says no more than that.",
    },
    remedies={
        "dew": "Warm the winding above the dew point and test again.",
        "range": "Test again with the winding between 10 and 85 degC.",
    },
)


def _test_voltage(case: Case, place: str) -> Iterator[Finding]:
    voltage, plate = case.require(f"{TEST}/test_voltage", "/rating/voltage")
    lowest, highest = insulation.direct_test_voltages(line_voltage=plate.si)
    slack = case.limit("insulation.test-voltage.tolerance")
    reaches = not below(voltage.at_most, lowest * (1 - slack))
    if reaches and not above(voltage.at_least, highest * (1 + slack)):
        return
    usual = "" if lowest == highest else f"{digits(lowest)} to "
    usual += str(show(highest, "V"))
    yield TEST_VOLTAGE.finding(
        "high" if voltage.si > highest else "low", "review", place,
        compared={"voltage": voltage, "plate": plate}, limit=usual, usual=usual,
    )  # fmt: skip


_TEST_VOLTAGE = (
    "The insulation was tested with {voltage}; for a winding of {plate} it is {usual} d.c."
)

TEST_VOLTAGE = Rule(
    id="insulation.test-voltage",
    title="Voltage of the insulation test",
    severities=("review",),
    condition="The test voltage is that of the winding's rated voltage: 500 V d.c. up to 500 V, "
    "500 to 1000 V d.c. up to 2.5 kV.",
    source="IEEE 43-2013 table 1, IEC 60364-6 table 6A, from memory",
    subject=f"{TEST}/test_voltage",
    needs=(f"{TEST}/test_voltage", "/rating/voltage"),
    applies=is_tested,
    check=_test_voltage,
    limits={
        "tolerance": Limit(15, "%", "test voltage off the usual", "lower", "common practice"),
    },
    sentences={
        "high": _TEST_VOLTAGE + " A higher voltage can harm a winding that is still fit.",
        "low": _TEST_VOLTAGE + " A lower voltage finds less.",
    },
    remedies=dict.fromkeys(("high", "low"), "Test again with {usual} d.c."),
)


# -- what was measured --------------------------------------------------------------------------


def _minimum(case: Case, place: str) -> Iterator[Finding]:
    require_place(case)
    reading: Quantity = case.quantity(f"{TEST}/resistance_1_min")
    corrected, least = test.resistance_at_40_degrees(case), test.limits(case)
    highest = corrected * (1 + reading.resolution / reading.si) if reading.si else 0.0
    severity: Severity | None = None
    if below(highest, least.stop):
        severity = "stop"
    elif below(highest, least.review):
        severity = "review"
    elif below(highest, least.note_when_new) and test.is_new(case):
        severity = "note"
    if severity is None:
        return
    if is_immersed(case) and highest >= case.limit("insulation.minimum.immersed-stop"):
        case.require(f"{TEST}/includes_cable")
    limit = {"stop": least.stop, "review": least.review, "note": least.note_when_new}[severity]
    variant = "new" if severity == "note" else "cable" if test.is_through_cable(case) else "low"
    if variant == "low" and test.may_be_old_enough(case):
        variant, severity = "year", "review"
    yield MINIMUM.finding(
        variant, severity, place,
        compared={
            "reading": reading,
            "temperature": case.quantity(f"{TEST}/winding_temperature"),
            "corrected": about(corrected, "Mohm"),
            "least": about(limit, "Mohm"),
        },
        limit=str(about(limit, "Mohm")),
    )  # fmt: skip


_MINIMUM = "Insulation of {reading} at {temperature} is {corrected} at 40 degC, "

MINIMUM = Rule(
    id="insulation.minimum",
    title="Insulation resistance at 40 degC against the minimum",
    severities=("stop", "review", "note"),
    condition="The one-minute resistance at 40 degC is at least 5 Mohm (form-wound from 1 kV 100 "
    "Mohm, made before 1970 kV + 1 Mohm); an immersed motor through its cable: stop below 0.5, "
    "review below 2 Mohm. A new winding below 100 Mohm (immersed, without its cable, 20) is noted. "
    "What is enough only before 1970, of a year that nobody knows, is a review.",
    source="IEEE 43-2013 table 3 and 6.3, from memory; immersed motors: common practice",
    subject=f"{TEST}/resistance_1_min",
    needs=(f"{TEST}/resistance_1_min", f"{TEST}/winding_temperature", "/rating/voltage"),
    waits_for=("insulation.drive-connected", "insulation.temperature"),
    applies=is_tested,
    check=_minimum,
    limits={
        "random-wound": Limit(
            5,
            "Mohm",
            "random-wound, and form-wound below 1 kV",
            "higher",
            "from memory",
            "IEEE 43-2013 table 3",
        ),
        "form-wound": Limit(
            100, "Mohm", "form-wound from 1 kV", "higher", "from memory", "IEEE 43-2013 table 3"
        ),
        "new": Limit(100, "Mohm", "new dry motor, note", "higher", "from memory"),
        "immersed-stop": Limit(0.5, "Mohm", "immersed with cable, stop", "higher", "from memory"),
        "immersed": Limit(2, "Mohm", "immersed with cable, review", "higher", "from memory"),
        "immersed-new": Limit(20, "Mohm", "new immersed, no cable, note", "higher", "from memory"),
    },
    correct_only=True,
    sentences={
        "low": _MINIMUM + "below the minimum of {least}.",
        "cable": _MINIMUM + "below the {least} that a motor in water with its cable should have.",
        "new": _MINIMUM + "low for a new winding, which has more than {least}.",
        "year": _MINIMUM + "below the minimum of {least}; in which year the motor was made or "
        "rewound is not known, and before 1970 it would be enough.",
    },
    remedies={
        "low": "Do not connect the motor: dry or repair the winding, then test again.",
        "cable": "Isolate, prove dead, discharge; part motor and cable, and test each to find "
        "which of them it is.",
        "year": "Enter the year of the motor, or the day it was rewound. Until it is known, do not "
        "connect the motor.",
        "new": "Isolate, prove dead, discharge the winding; look for moisture in the terminal box, "
        "and test again before the warranty ends.",
    },
)


# -- polarization index -------------------------------------------------------------------------


def _has_ten_minutes(case: Case) -> bool:
    return case.find(f"{TEST}/resistance_10_min") is not None


def _polarization(case: Case, place: str) -> Iterator[Finding]:
    ten, one = case.require(f"{TEST}/resistance_10_min", f"{TEST}/resistance_1_min")
    if _in_reverse(case):
        yield POLARIZATION.finding(
            "reverse", "review", place,
            compared={"half": case.quantity(f"{TEST}/resistance_30_s"), "one": one, "ten": ten},
        )  # fmt: skip
        return
    index = insulation.polarization_index(ten_minutes=ten.si, one_minute=one.si)
    assessed = insulation.polarization_index_assessable(
        winding=test.winding(case), one_minute_at_40=test.resistance_at_40_degrees(case)
    )
    random = test.winding(case) is Winding.RANDOM_WOUND
    least = case.limit("insulation.polarization.falling") if random else _least_index(case)
    if not (assessed.assessable or random) or not below(index, least):
        return
    yield POLARIZATION.finding(
        "falling" if random else "low", "note", place,
        compared={"ten": ten, "one": one}, limit=digits(least), index=about(index),
        least=digits(least),
    )  # fmt: skip


def _in_reverse(case: Case) -> bool:
    """Whether each reading lies clearly below the one before: entered from the last to the first.

    Only of a dry winding: one that takes up moisture may fall as the test goes on.
    """
    names = ("resistance_30_s", "resistance_1_min", "resistance_10_min")
    found = [case.find(f"{TEST}/{name}") for name in names]
    if any(each is None or each.si <= 0 for each in found):
        return False
    fall = case.limit("insulation.polarization.falling")
    dry = not below(found[-1].si, DRY)
    return dry and all(below(b.si, fall * a.si) for a, b in pairwise(found))


def _least_index(case: Case) -> float:
    letter = case.find("/motor/insulation_class")
    known = letter if letter in insulation.MINIMUM_POLARIZATION_INDEX else "F"
    return insulation.minimum_polarization_index(thermal_class=known)


POLARIZATION = Rule(
    id="insulation.polarization",
    title="Polarization index",
    severities=("review", "note"),
    condition="Ten-minute over one-minute resistance is at least 2.0 (class A 1.5) for form-wound "
    "and old windings up to 5000 Mohm. In a random-wound winding about 1 is healthy; only a "
    "resistance that falls during the test is noted. Above 100 Mohm one that falls from reading to "
    "reading stands in the reverse order (review).",
    source="IEEE 43-2013 12.2, IEEE 43-2000 table 2; 5000 Mohm from memory",
    subject=f"{TEST}/resistance_10_min",
    needs=(f"{TEST}/resistance_10_min", f"{TEST}/resistance_1_min"),
    waits_for=("insulation.drive-connected",),
    applies=_has_ten_minutes,
    check=_polarization,
    limits={
        "falling": Limit(0.9, "1", "index of a random-wound winding", "higher", "common practice"),
    },
    sentences={
        "reverse": "Probably the readings stand in the reverse order: {half} after 30 s, {one} "
        "after one minute and {ten} after ten. The resistance of a dry winding rises or stays.",
        "low": "Polarization index {index} ({ten} after ten minutes over {one} after one) is below "
        "{least}: moisture or dirt.",
        "falling": "Insulation fell from {one} after one minute to {ten} after ten: moisture or "
        "dirt may be driving current along its surface.",
    },
    remedies={
        "reverse": "Enter each reading at its time; if it did fall so, isolate, prove dead, "
        "discharge the winding, look for moisture in the terminal box, and test again."
    },
)
