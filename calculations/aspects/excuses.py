"""What could not be done on the day, and why."""

import re

from calculations.case import Case
from calculations.inputs.event import NotPossible

REGISTER = frozenset({"site", "pump_set", "pump", "motor", "drive", "sensors", "vessels"})


def excused(case: Case, pointer: str, called: str = "") -> bool:
    """Whether the record says that this could not be done on the day, and why.

    The task names the part, the value or the protection's function, or what a part is `called` in
    a sentence; a plate as a whole is named as `motor plate`, so that work on the motor excuses
    none of its values.
    """
    steps = [_plain(step) for step in pointer.split("/") if step and not step.isdigit()]
    names = [step for step in steps if step not in ("event", "setting")]
    names += [_plain(called)] if called else []
    of_register = is_of_register(pointer)
    return any(_names(_plain(each.task), n, of_register) for n in names for each in _excuses(case))


def is_of_register(pointer: str) -> bool:
    """Whether a place is a plate's, and not a value whose name begins like a piece's."""
    return pointer.split("/")[1] in REGISTER


def reason(case: Case, *names: str, tag: str = "", others: tuple[str, ...] = ()) -> str | None:
    """Why work that goes by one of these names was not possible; None where it was not said.

    Where there are several such pieces, `tag` is that of the one asked for, which names the work
    as well: what names one of the `others` and not this one was said of that other.
    """
    plain = [_plain(name) for name in (*names, tag) if name]
    for each in _excuses(case):
        task = _plain(each.task)
        of_another = any(_is_in(task, other) for other in others) and not _is_in(task, tag)
        if not of_another and any(_names(task, name, of_register=False) for name in plain):
            return each.reason
    return None


def _is_in(task: str, name: str) -> bool:
    return f" {_plain(name)} " in f" {task} "


def _names(task: str, name: str, of_register: bool) -> bool:
    if of_register:
        return task == f"{name} plate"
    return task == name or task.startswith(f"{name} ") or task.endswith(f" {name}")


def _excuses(case: Case) -> list[NotPossible]:
    return case.find("/event/not_possible") or []


def _plain(text: str) -> str:
    """Words in lower case and singular, joined by single spaces."""
    words = re.findall(r"[^\W_]+", text.lower())
    return " ".join(word.removesuffix("s") for word in words)
