"""Mistakes at flow meters."""

from .mistakes import in_unit, mistake, number, times
from .stand import Entered
from .writing import Document, q


def _meter(e: Entered) -> Document | None:
    return next((each for each in e.document["sensors"] if each["quantity"] == "flow"), None)


@mistake("bore of a meter in millimetres for inches, or the reverse", "sensor.meter-size")
def bore_unit(e: Entered) -> bool | None:
    meter = _meter(e)
    if meter is None:
        return False
    other = {"in": "mm", "mm": "in"}[meter["bore"]["unit"]]
    if not 1 <= number(meter["bore"]) < 190:
        return False  # below 1 mm and beyond 5 m it is refused
    meter["bore"] = in_unit(meter["bore"], other)
    return None


@mistake("range of a meter with a digit too few", "sensor.meter-size")
def short_range(e: Entered) -> bool | None:
    meter = _meter(e)
    if meter is None or e.station.regulation == "flow":
        return False  # what is regulated by it no longer fits its scaling then
    meter["upper_range_value"] = times(meter["upper_range_value"], 0.1)
    return None


@mistake("meter right behind an elbow", "sensor.straight-run")
def behind_an_elbow(e: Entered) -> bool | None:
    meter = next(each for each in e.document["sensors"] if each["quantity"] == "flow")
    if "straight_upstream_diameters" not in meter:
        return False
    meter["straight_upstream_diameters"] = q(f"{e.chance.uniform(0.5, 2.8):.1f}", "1")
    return None


@mistake("meter with nothing straight behind it", "sensor.straight-run", by_note=True)
def before_a_valve(e: Entered) -> bool | None:
    meter = next(each for each in e.document["sensors"] if each["quantity"] == "flow")
    if "straight_downstream_diameters" not in meter:
        return False
    meter["straight_downstream_diameters"] = q(f"{e.chance.uniform(0.2, 1.6):.1f}", "1")
    return None
