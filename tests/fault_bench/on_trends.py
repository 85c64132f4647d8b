"""What changed since the visit of the year before."""

from copy import deepcopy

from . import systems, visits
from .checks import readings
from .mistakes import mistake, mistake_on_a_drive, number, times
from .stand import Entered
from .stations import Point
from .writing import GALLON, PSI, Document, q, significant


def _worn(e: Entered, head: float, power: float) -> bool | None:
    points = None if e.earlier is None else systems.again(e.station, head, power)
    if points is None or not _can_be_compared(e.station.points, points):
        return False
    drawn = [visits.duty_point(e.station, e.document, each) for each in points]
    visits.shaken_alike(drawn, e.points)
    e.document["event"]["duty_points"] = drawn
    return None


def _can_be_compared(before: list[Point], now: list[Point]) -> bool:
    """Whether two points run at about the flows of the year before, at one speed."""
    shares = [b.flow / b.speed * a.speed / a.flow for b, a in zip(before, now, strict=True)]
    return sum(abs(share - 1) < 0.07 for share in shares) > 1


@mistake("worn rings: head lost since the year before", "trend.head")
def head_lost(e: Entered) -> bool | None:
    return _worn(e, 0.86, 0.98)


@mistake("rubbing: more power than the year before", "trend.efficiency")
def power_gained(e: Entered) -> bool | None:
    if e.station.suction == "well":
        return False  # its efficiency is good to some 13 % only
    return _worn(e, 1.0, 1.14)


@mistake("insulation that fell since the year before", "trend.insulation")
def insulation_fell(e: Entered) -> bool | None:
    if e.earlier is None:
        return False
    then = e.earlier["event"]["motor_tests"]["insulation"]
    for name in ("resistance_30_s", "resistance_1_min", "resistance_10_min"):
        if name in then:
            then[name] = times(then[name], e.chance.uniform(4, 9), 2)
    return None


@mistake("winding rewound since the year before", "trend.winding-resistance")
def rewound(e: Entered) -> bool | None:
    if e.earlier is None:
        return False
    then, now = (
        each["event"]["motor_tests"]["winding_resistance"] for each in (e.earlier, e.document)
    )
    if {then.get("method"), now.get("method")} != {"four_wire"}:
        return False  # two wires do not show the milliohms of a large motor
    factor = e.chance.choice((0.8, 0.85, 1.2))
    then["values"] = [times(each, factor, 4) for each in then["values"]]
    return None


@mistake("a bearing that shakes more than the year before", "trend.vibration")
def shakes_more(e: Entered) -> bool | None:
    if e.earlier is None or not any("vibration" in point for point in e.points):
        return False  # where it was felt, it was so a year before as well
    for point in e.points:
        for place in point.get("vibration", ()):
            place["velocity_rms"] = q("4.8", "mm/s")
    return None


@mistake("a sensor that drifts towards its tolerance", "trend.sensor")
def drifts(e: Entered) -> bool | None:
    sensor = e.document["sensors"][0]
    if e.earlier is None:
        return False
    checks = [each["event"].get("sensor_verifications") for each in (e.earlier, e.document)]
    if not all(checks):
        return False
    then, now = (each[0] for each in checks)
    if "as_left" in now or "as_left" in then:
        return False
    tolerance = number(sensor["tolerance_percent_of_span"]) / 100
    if tolerance * 16 < 0.06:
        return False
    for check, share in ((then, 0.1), (now, 0.85)):
        check["as_found"] = readings(e.station.pen, sensor, e.settings, share * tolerance, 0.0, 0.0)
    return None


@mistake("more head than a year before, and nothing repaired", "trend.risen")
def risen(e: Entered) -> bool | None:
    """The readings of then were too low: a gauge that stuck, say."""
    if e.earlier is None or e.station.suction == "well":
        return False
    then = systems.again(e.station, 0.86, 0.98)
    if then is None or not _can_be_compared(then, e.station.points):
        return False
    drawn = [visits.duty_point(e.station, e.earlier, each) for each in then]
    visits.shaken_alike(drawn, e.points)
    e.earlier["event"]["duty_points"] = drawn
    return None


@mistake("hours of another set's counter", "record.counters")
def counter(e: Entered) -> bool | None:
    if e.earlier is None:
        return False
    e.earlier["event"]["hours_run"] = q("4210", "h")
    return None


@mistake("the same visit entered twice", "record.order")
def twice(e: Entered) -> bool | None:
    if e.earlier is None:
        return False
    for name in ("kind", "performed_at", "performed_until"):
        e.earlier["event"][name] = e.document["event"][name]
    return None


@mistake("readings copied from the visit before", "record.order")
def copied(e: Entered) -> bool | None:
    if e.earlier is None or len(e.points) < 2:
        return False
    for name in ("duty_points", "supply"):
        e.document["event"][name] = deepcopy(e.earlier["event"][name])
    return None


@mistake("readings copied from the visit before, in other units", "record.order")
def copied_in_other_units(e: Entered) -> bool | None:
    """As where somebody writes last year's sheet anew, in the units of another form."""
    if copied(e) is False:
        return False
    for point in e.document["event"]["duty_points"]:
        for name in ("flow", "suction_pressure", "discharge_pressure"):
            if name in point:
                point[name] = _converted(point[name])
    return None


def _converted(read: Document) -> Document:
    other, factor = CONVERTED[read["unit"]]
    return q(significant(number(read) * factor, 4), other)


CONVERTED = {
    "psi": ("bar", PSI / 1e5), "bar": ("kPa", 100.0), "gpm": ("m3/h", GALLON * 60),
    "m3/h": ("L/s", 1 / 3.6), "L/s": ("m3/h", 3.6),
}  # fmt: skip


@mistake_on_a_drive("a ramp that somebody changed meanwhile", "record.settings-found")
def changed_meanwhile(e: Entered) -> bool | None:
    if e.earlier is None:
        return False
    found = deepcopy(e.settings)
    found["ramp_up_time"] = times(found["ramp_up_time"], 0.5)
    e.document["event"]["settings"]["as_found"] = found
    return None


@mistake("an impeller trimmed, and the curve of before", "curve.impeller")
def trimmed(e: Entered) -> bool | None:
    if e.earlier is None:
        return False
    for document, diameter in ((e.earlier, "250"), (e.document, "238")):
        document["pump"]["impeller_diameter"] = q(diameter, "mm")
    return None
