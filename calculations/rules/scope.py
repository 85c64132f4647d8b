"""What a subject is: the questions by which rules know whether they have anything to say."""

from calculations.case import Case

WITH_SLIP = ("induction", "wound_rotor")
SYNCHRONOUS = ("permanent_magnet", "synchronous_reluctance", "pm_assisted_reluctance")
STAND_DRY = ("end_suction", "split_case", "multistage_vertical", "self_priming")
"""Pumps whose motor stands in the air, unless something of it is made for the liquid."""
NEW_WORK = ("start_up", "replacement", "after_repair")


def has_motor(case: Case) -> bool:
    """Whether a motor is part of the subject, known or not."""
    return case.subject.motor is not None or _is_pump_set(case)


def has_drive(case: Case) -> bool:
    """Whether the motor is fed by a drive, as far as it is known."""
    if case.fixed_speed:
        return False
    return case.subject.drive is not None or _is_pump_set(case)


def _is_pump_set(case: Case) -> bool:
    return case.subject.pump_set is not None or case.settings is not None


def may_have_slip(case: Case) -> bool:
    """Whether the motor is not known to be synchronous."""
    return has_motor(case) and not case.is_("/motor/kind", *SYNCHRONOUS)


def has_slip(case: Case) -> bool:
    """Whether the motor is of a kind that runs with slip."""
    return case.is_("/motor/kind", *WITH_SLIP)


def is_synchronous(case: Case) -> bool:
    """Whether the motor runs at the speed of its field."""
    return case.is_("/motor/kind", *SYNCHRONOUS)


def is_immersed(case: Case) -> bool:
    """Whether the motor is known to run in the liquid."""
    return case.find("/motor/immersed") is True


def may_be_immersed(case: Case) -> bool:
    """Whether it is not said that a motor is immersed, but all else of it looks like that."""
    return case.find("/motor/immersed") is None and (
        case.is_("/motor/enclosure", "submersible")
        or case.is_("/motor/cooling", "immersed", "jacket")
        or case.is_("/pump/type", "submersible_well", "submersible_sewage")
    )


def is_dry(case: Case) -> bool:
    """Whether the motor stands in the air: as it was said, or as its build shows.

    A fan needs air, and so do drip-proof openings; on a pump that is built to stand dry a motor is
    dry unless something of it is made for the liquid.
    """
    said = case.find("/motor/immersed")
    if said is not None or may_be_immersed(case):
        return said is False
    if case.is_("/motor/cooling", "shaft_fan", "separate_fan"):
        return True
    stands_dry = case.is_("/pump/type", *STAND_DRY)
    sealed = case.is_("/motor/cooling", "other", "non_ventilated")
    return case.is_("/motor/enclosure", "open_drip_proof") or (stands_dry and not sealed)


def require_place(case: Case, *also: str) -> None:
    """`Missing` where nothing tells whether it is immersed; `also` what is wanted with it."""
    if not is_dry(case):
        case.require("/motor/immersed", *also)


def has_bypass(case: Case) -> bool:
    """Whether the motor can be fed past the drive."""
    return case.is_("/pump_set/bypass", "manual", "automatic")


def across_the_line(case: Case) -> bool:
    """Whether the motor sees the supply itself: at fixed speed, or over a bypass."""
    return case.fixed_speed or has_bypass(case)


def is_new_work(case: Case) -> bool:
    """Whether the visit is of a kind in which everything is tested from the ground up."""
    return case.event is not None and case.event.kind in NEW_WORK
