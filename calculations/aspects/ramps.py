"""Ramps of the drive as they run: how long from one frequency to another."""

from calculations.case import Case, Missing


def reference(case: Case) -> float:
    """Frequency [Hz] that ramp times count to."""
    rated, highest = case.find("/rating/frequency"), case.find("/settings/maximum_frequency")
    if rated is not None and highest is not None and rated.si == highest.si:
        return float(rated.si)
    to_rated = case.word("/settings/ramp_reference") == "to_rated_frequency"
    return case.si("/rating/frequency" if to_rated else "/settings/maximum_frequency")


def up_time(case: Case, frequency: float) -> float:
    """Time from rest to a frequency [s]: a first ramp where one is set, then the ordinary one."""
    return _time(case, frequency, "ramp_up_time", "first_ramp_time", "first_ramp_to_frequency")


def down_time(case: Case, frequency: float) -> float:
    """Time from a frequency to rest [s]: the ordinary ramp, then a last one where it is set."""
    return _time(case, frequency, "ramp_down_time", "last_ramp_time", "last_ramp_from_frequency")


def _time(case: Case, frequency: float, ramp: str, near_rest: str, until: str) -> float:
    slow = case.si(f"/settings/{ramp}") / _positive(case)
    places = f"/settings/{near_rest}", f"/settings/{until}"
    if all(case.find(place) is None for place in places):
        return frequency * slow
    short, end = case.require(*places)
    if end.si <= 0:
        return frequency * slow
    inside = min(frequency, end.si)
    return float(short.si * inside / end.si + (frequency - inside) * slow)


def _positive(case: Case) -> float:
    found = reference(case)
    if found <= 0:
        raise Missing(case.place("/settings/maximum_frequency"), because="no range to ramp over")
    return found
