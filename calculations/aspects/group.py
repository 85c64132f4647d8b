"""The pumps of a group that work on one well or one main."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.inputs.settings import Settings
from calculations.inputs.subject import Neighbour

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


def has_no_drive(neighbour: Neighbour) -> bool:
    """Whether it is said of another set that it has no drive: then none has settings."""
    pump_set = neighbour.pump_set
    said = pump_set is not None and "drive" in pump_set.model_fields_set and pump_set.drive is None
    return said and neighbour.drive is None


def may_share_header(case: Case, neighbour: Neighbour) -> bool:
    """Whether another set is not known to discharge into another header than this one's."""
    ours, theirs = case.subject.pump_set, neighbour.pump_set
    names = [each.discharge_header for each in (ours, theirs) if each and each.discharge_header]
    return len(set(names)) < 2


def on_header(case: Case, *, and_unset: bool = False) -> Iterator[tuple[str, Settings]]:
    """Sets beside this one with their settings; and, if asked for, those of which none are known.

    Of a set without a drive none are to be known.
    """
    for index, neighbour in enumerate(case.subject.neighbours or ()):
        settings = neighbour.settings
        if not may_share_header(case, neighbour):
            continue
        if settings is None and and_unset and not has_no_drive(neighbour):
            settings = Settings()
        if settings is not None:
            yield f"/neighbours/{index}", settings


def lacks(case: Case, place: str, *names: str) -> list[str]:
    """Places of a neighbour's settings that are not known, of these names."""
    places = (f"{place}/settings/{name}" for name in names)
    return [each for each in places if case.find(each) is None]


def sharing(case: Case) -> int:
    """Pumps that share the design flow: those that may run, one where that is not known."""
    return may_run(case) or 1
