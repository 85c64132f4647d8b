"""Mistakes where several sets share a header."""

from .mistakes import mistake, number, times
from .stand import Entered
from .writing import Document, q


def _other(e: Entered) -> Document | None:
    """The set beside it on its header."""
    beside = e.document.get("neighbours")
    return beside[0] if beside and e.station.regulation == "pressure" else None


@mistake("set point of the other set lower", "station.set-points-agree")
def lower_set_point(e: Entered) -> bool | None:
    other = _other(e)
    if other is None or e.settings["set_point"]["unit"] == "%":
        return False  # in %, it belongs to that set's own scaling
    left = other["settings"]
    for name in ("set_point", "wake_value"):
        left[name] = times(left[name], 0.9)
    return None


@mistake("lag pump that wakes with the lead pump", "station.lead-lag")
def wakes_together(e: Entered) -> bool | None:
    other = _other(e)
    if other is None or e.settings["set_point"]["unit"] == "%":
        return False
    other["settings"]["wake_value"] = dict(e.settings["wake_value"])
    return None


@mistake("one sensor for both, and nothing after it", "station.shared-sensor")
def no_failover(e: Entered) -> bool | None:
    if _other(e) is None:
        return False
    e.settings["failover"] = e.chance.choice(("none", "No", "not fitted"))
    return None


@mistake("the other pump gives more head", "station.like-pumps", by_note=True)
def better_neighbour(e: Entered) -> bool | None:
    other = _other(e)
    if other is None or "duty_points" not in other or e.station.suction == "well":
        return False  # of a well much of the head is a depth, and that is coarse
    station = e.station
    for point, true in zip(other["duty_points"], station.points, strict=True):
        read = point["discharge_pressure"]
        more = 0.15 * true.head * station.weight / station.pen.unit("pressure")[1]
        point["discharge_pressure"] = q(f"{number(read) + more:.2f}", read["unit"])
    return None


@mistake("levels of the other set under those of its own", "station.shared-well")
def lower_levels(e: Entered) -> bool | None:
    """Its whole band lies under the level at which this set stops."""
    if "start_level" not in (e.settings if e.station.driven else {}):
        return False
    if not e.document.get("neighbours"):
        return False
    pen, other = e.station.pen, e.document["neighbours"][0]["settings"]
    start, stop = (pen.si("length", e.settings[f"{name}_level"]) for name in ("start", "stop"))
    other["start_level"] = pen.put("length", stop - 0.02, step=0.01)
    other["stop_level"] = pen.put("length", stop - 0.02 - 0.8 * (start - stop), step=0.01)
    return None
