"""Rule of the serial numbers of what was exchanged, and what the register has at a tag."""

from collections.abc import Iterator
from typing import Any

from calculations.aspects import history
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule


def pieces_at(case: Case, resource: str | None, tag: str | None) -> list[Any]:
    """What the register has of a kind at a tag; without a tag the only piece of its kind."""
    if resource in ("pump", "motor", "drive"):
        found = case.find(f"/{resource}")
        listed = [found] if found is not None else []
    else:
        listed = list(case.find(f"/{resource}s") or ()) if resource in ("sensor", "vessel") else []
    if tag is None:
        return listed if len(listed) == 1 else []
    return [each for each in listed if each.tag == tag]


def _registered(case: Case, resource: str | None, tag: str | None) -> tuple[str, str] | None:
    """Tag and serial number that the register has for what was exchanged."""
    for each in pieces_at(case, resource, tag):
        if each.serial:
            return str(each.tag or resource), str(each.serial)
    return None


def _serial(case: Case, place: str) -> Iterator[Finding]:
    replaced = case.require(place)[0]
    old, new = replaced.old_serial, replaced.new_serial
    if old and new and _same(old, new):
        yield SERIAL.finding(
            "unchanged", "review", place,
            compared={"old": Shown(old, ""), "new": Shown(new, "")},
        )  # fmt: skip
        return
    registered = _registered(case, replaced.resource, replaced.tag)
    if registered is not None and new and _same(registered[1], new):
        yield from _old_serial(case, place, replaced)
    if registered is None or not new or _same(registered[1], new):
        return
    variant = "not_entered" if old and _same(registered[1], old) else "other"
    yield SERIAL.finding(
        variant, "review", place,
        compared={"new": Shown(new, ""), "registered": Shown(registered[1], "")},
        tag=registered[0],
    )  # fmt: skip


def _old_serial(case: Case, place: str, replaced: Any) -> Iterator[Finding]:
    """The piece that was taken away against what stood there by the last record."""
    then = history.sealed(case, case.beside.last)
    stood = _registered(then, replaced.resource, replaced.tag) if then is not None else None
    if then is None or stood is None or not replaced.old_serial:
        return
    if _same(stood[1], replaced.old_serial) or _same(stood[1], replaced.new_serial):
        return
    yield SERIAL.finding(
        "old_other", "review", place,
        compared={"old": Shown(replaced.old_serial, ""), "stood": Shown(stood[1], "")},
        tag=stood[0], record=history.told(case, then),
    )  # fmt: skip


def _same(first: str, second: str) -> bool:
    return "".join(first.split()).casefold() == "".join(second.split()).casefold()


SERIAL = Rule(
    id="record.serial",
    title="Serial numbers of what was exchanged against the register",
    severities=("review",),
    condition="The new serial number differs from the old one and is the one in the register; the "
    "old one is that of the last record.",
    source="logic",
    each="/event/replaced",
    applies=lambda case: bool(case.find("/event/replaced")),
    check=_serial,
    sentences={
        "unchanged": "Old and new serial number are both {old}.",
        "not_entered": "The new serial number is {new}, but the register still has {registered} "
        "at {tag}: what is judged here belongs to the old piece.",
        "other": "The new serial number is {new}, but the register has {registered} at {tag}.",
        "old_other": "The old serial number is {old}, but by {record} {stood} stood at {tag}.",
    },
    remedies={
        "unchanged": "Read both serial numbers again.",
        "not_entered": "Enter the new piece in the register, with its plate.",
        "other": "Read the serial number again, or correct the register.",
        "old_other": "Read the serial number of what was taken away again; where it was exchanged "
        "before and nobody wrote it down, say so.",
    },
)
