"""Pieces that stand on site and that the register does not have."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule
from calculations.rules.serial_numbers import pieces_at

KINDS = ("pump", "motor", "drive", "sensor", "vessel")


def _unlisted(case: Case, place: str) -> Iterator[Finding]:
    piece = case.require(place)[0]
    kinds = (piece.resource,) if piece.resource else KINDS
    if piece.tag and any(pieces_at(case, kind, piece.tag) for kind in kinds):
        return  # entered by now
    yield NOT_IN_REGISTER.finding(
        "at_a_tag" if piece.tag else "untagged", "review", place,
        compared={"plate": Shown(piece.plate, "")}, tag=piece.tag or "",
    )  # fmt: skip


NOT_IN_REGISTER = Rule(
    id="record.not-in-register",
    title="Pieces on site that the register does not have",
    severities=("review",),
    condition="What stands at the station is in the register.",
    source="logic",
    each="/event/not_in_register",
    applies=lambda case: bool(case.find("/event/not_in_register")),
    check=_unlisted,
    sentences={
        "at_a_tag": "At {tag} stands what the register does not have: {plate}. Nothing is judged "
        "of it.",
        "untagged": "Here stands what the register does not have: {plate}. Nothing is judged of "
        "it.",
    },
    remedies={
        "at_a_tag": "The office enters it in the register, with its plate, and joins it to its "
        "pump set; or it says why not.",
        "untagged": "The office enters it in the register, with its plate, and joins it to its "
        "pump set; or it says why not.",
    },
)
