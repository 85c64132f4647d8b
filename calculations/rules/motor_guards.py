"""Rules of what watches over a motor in the liquid: its leak sensor, explosive air around it."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule, spaced
from calculations.rules.scope import has_drive, has_motor, is_dry

AREA, ENCLOSURE = "/site/hazardous_area", "/motor/enclosure"

ASKS_FOR_PROTECTION = ("zone_1",)
"""Areas in which an explosion-protected motor is wanted without more.

In zone 2 and division 2 types of protection count as well that the recorded enclosure does not
tell; in division 1 a motor that is kept under liquid may need none (NFPA 820, from memory).
"""


# -- leak sensor --------------------------------------------------------------------------------


def _leak(case: Case, place: str) -> Iterator[Finding]:
    if case.word("/settings/leak_sensor_response") == "none":
        yield LEAK_SENSOR.finding("unused", "review", place, compared={})


LEAK_SENSOR = Rule(
    id="motor.leak-sensor",
    title="Leak sensor of the motor in use",
    severities=("review",),
    condition="Where the motor has a leak sensor, it trips or alarms.",
    source="common practice, no source",
    subject="/settings/leak_sensor_response",
    needs=("/settings/leak_sensor_response",),
    applies=lambda case: has_motor(case) and case.find("/motor/leak_sensor") is True
    and case.settings is not None,
    check=_leak,
    sentences={
        "unused": "The motor has a leak sensor, but nothing responds to it: water in the motor or "
        "its oil is noticed when the winding fails."
    },
    remedies={"unused": "Wire the sensor, set it to trip or to alarm, and prove it."},
)  # fmt: skip


# -- explosive air ------------------------------------------------------------------------------


def in_hazardous_area(case: Case) -> bool:
    """Whether the motor may stand in explosive air: in the well of a site that has some."""
    in_well = case.is_("/site/suction_kind", "wet_well") or case.is_("/site/kind", "lift_station")
    return case.is_(AREA, *ASKS_FOR_PROTECTION) and in_well and has_motor(case) and not is_dry(case)


def _area(case: Case, place: str) -> Iterator[Finding]:
    _, enclosure = case.require("/motor/immersed", ENCLOSURE)
    compared = {"area": Shown(spaced(case.word(AREA)), "")}
    if enclosure != "explosion_protected":
        yield HAZARDOUS_AREA.finding(
            "enclosure", "review", place,
            compared=compared | {"enclosure": Shown(spaced(enclosure), "")},
        )  # fmt: skip
    elif has_drive(case) and case.is_("/motor/thermal_sensor", "none"):
        yield HAZARDOUS_AREA.finding(
            "no_sensor", "review", case.place("/motor/thermal_sensor"), compared=compared
        )


HAZARDOUS_AREA = Rule(
    id="motor.hazardous-area",
    title="Motor in explosive air",
    severities=("review",),
    condition="A motor immersed in a well whose air may explode (zone 1) is "
    "explosion-protected as its plate says; on a drive it has a thermal sensor, or was tested "
    "together with the drive and its protection.",
    source="IEC 60079-14, selection of equipment and motors fed by converters: from memory",
    subject=ENCLOSURE,
    applies=in_hazardous_area,
    check=_area,
    sentences={
        "enclosure": "The motor hangs in a well whose air may explode ({area}), but its enclosure "
        "is recorded as {enclosure}: no protection against explosion is recorded.",
        "no_sensor": "The explosion-protected motor ({area}) runs on a drive, and its thermal "
        "sensor is recorded as none: its certificate holds on a drive only with the protection "
        "that it names.",
    },
    remedies={
        "enclosure": "Read the plate's marking of protection, and enter it; without one it may "
        "run there only where the code accepts it kept under liquid, and something proves that.",
        "no_sensor": "Read the certificate: a thermal sensor that trips, or a test together with "
        "this drive and its settings.",
    },
)
