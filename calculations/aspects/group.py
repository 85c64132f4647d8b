"""The pumps of a group that work on one well or one main."""

from calculations.case import Case

ONE_RUNS = ("single", "duty_standby")


def may_run(case: Case) -> int | None:
    """Pumps that may run at once; None where neither settings nor arrangement tell.

    As set; else one where the arrangement runs no more; else the whole group, a spare among them,
    since the records do not say which one that is.
    """
    stated = case.find("/settings/pumps_maximum_running")
    if stated is not None:
        return int(stated)
    if case.is_("/settings/pump_arrangement", *ONE_RUNS):
        return 1
    found = case.find("/settings/pumps_in_group")
    return None if found is None else int(found)


def name(case: Case, place: str) -> str:
    """What people call the neighbour at a place: its tag, else its number."""
    tag = case.find(f"{place}/pump_set/tag")
    return str(tag or f"neighbour {int(place.rsplit('/', 1)[1]) + 1}")


def sharing(case: Case) -> int:
    """Pumps that share the design flow: those that may run, one where that is not known."""
    return may_run(case) or 1
