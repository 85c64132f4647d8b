"""What could not be done on the day, and why."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from calculations.case import Case
from calculations.inputs.event import NotPossible

REGISTER = frozenset({"site", "pump_set", "pump", "motor", "drive", "sensors", "vessels"})


@dataclass(frozen=True, slots=True)
class Lack:
    """A part that a record lacks, and which values of it; none named where the whole part is.

    `called` is the part in a sentence, `tag` that of the piece it is of, where it is of one.
    """

    pointer: str
    called: str
    names: tuple[str, ...] = ()
    tag: str = ""


def left(case: Case, lacks: Iterable[Lack]) -> Iterator[Lack]:
    """What still is missing beside what the record says was not possible, and why.

    A plate is named as `motor plate`, so that work on the motor excuses none of its values; of
    several pieces by its tag. What names no part counts where one part alone lacks it.
    """
    listed = tuple(lacks)
    tasks = frozenset(_plain(each.task) for each in _excuses(case))
    for lack in listed:
        if tasks and _whole_is_excused(case, tasks, lack, listed):
            continue
        names = tuple(name for name in lack.names if not _is_excused(tasks, lack, name, listed))
        if names or not lack.names:
            yield replace(lack, names=names)


def is_of_register(pointer: str) -> bool:
    """Whether a place is a plate's, and not a value whose name begins like a piece's."""
    return pointer.split("/")[1] in REGISTER


def work_is_excused(case: Case, *names: str) -> bool:
    """Whether the record says that work of one of these names was not possible."""
    return reason(case, *names) is not None


def reason(case: Case, *names: str, tag: str = "", others: tuple[str, ...] = ()) -> str | None:
    """Why work that goes by one of these names was not possible; None where it was not said.

    Where there are several such pieces, `tag` is that of the one asked for, which names the work
    as well: what names one of the `others` and not this one was said of that other.
    """
    plain = [_plain(name) for name in (*names, tag) if name]
    for each in _excuses(case):
        task = _plain(each.task)
        if not _is_of_another(task, tag, others) and any(_names(task, name) for name in plain):
            return each.reason
    return None


def _is_of_another(task: str, tag: str, others: Iterable[str]) -> bool:
    return any(_is_in(task, other) for other in others) and not _is_in(task, tag)


def _is_in(task: str, name: str) -> bool:
    return f" {_plain(name)} " in f" {task} "


def _names(task: str, name: str) -> bool:
    return task == name or task.startswith(f"{name} ") or task.endswith(f" {name}")


# -- parts and values -----------------------------------------------------------------------------


def _whole_is_excused(
    case: Case, tasks: frozenset[str], lack: Lack, listed: tuple[Lack, ...]
) -> bool:
    if is_of_register(lack.pointer):
        if any(f"{name} plate" in tasks for name in _plain_names(lack)):
            return True
        alike = [each for each in listed if _kind(each) == _kind(lack)]
        return len(alike) == 1 and f"{_kind(lack)} plate" in tasks
    others = _other_tags(case, lack.tag)
    names = _work(lack)
    return any(
        _names(task, name) and not _is_of_another(task, lack.tag, others)
        for task in tasks
        for name in names
    )


def _is_excused(tasks: frozenset[str], lack: Lack, name: str, listed: tuple[Lack, ...]) -> bool:
    value, plate = _plain(name), " plate" if is_of_register(lack.pointer) else ""
    if any(f"{part}{plate} {value}" in tasks for part in _plain_names(lack)):
        return True
    lacking = [each for each in listed if value in map(_plain, each.names)]
    alike = [each for each in lacking if _kind(each) == _kind(lack)]
    of_kind = len(alike) == 1 and f"{_kind(lack)}{plate} {value}" in tasks
    return of_kind or (len(lacking) == 1 and value in tasks)


def _plain_names(lack: Lack) -> set[str]:
    """A part by all names that mean it alone."""
    return {_plain(name) for name in (lack.called, lack.tag) if name}


def _kind(lack: Lack) -> str:
    """A part without its number: `sensor`, `setting as left`."""
    steps = [step for step in lack.pointer.split("/") if step not in ("", "event")]
    return _plain(" ".join(step for step in steps if not step.isdigit()))


def _work(lack: Lack) -> list[str]:
    """What a part of the visit is called as work; of its head nothing is done as a whole."""
    steps = [step for step in lack.pointer.split("/")[2:] if not step.isdigit()]
    names = [step for step in steps if step != "settings"]
    return [_plain(name) for name in (*names, lack.called)] if steps else []


def _other_tags(case: Case, tag: str) -> tuple[str, ...]:
    found = (each.tag for each in case.subject.sensors or () if each.tag)
    return tuple(each for each in found if each != tag) if tag else ()


def _excuses(case: Case) -> list[NotPossible]:
    return case.find("/event/not_possible") or []


def _plain(text: str) -> str:
    """Words in lower case and singular, joined by single spaces."""
    words = re.findall(r"[^\W_]+", text.lower())
    return " ".join(word.removesuffix("s") for word in words)
