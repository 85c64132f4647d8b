"""What a record of a visit lacks, as the rule of its content says."""

from tests.calculations.building import booster, changed, judged, of_rule, without
from tests.calculations.building_plates import Document

RULE = "record.missing"


def missing(document: Document) -> list[tuple[str, str]]:
    """Place and missing names of every finding."""
    return [
        (finding.subject, finding.parameters["names"])
        for finding in of_rule(judged(document), RULE)
    ]


def excused(document: Document, tasks: list[str]) -> Document:
    """The record with these tasks said to have been impossible."""
    listed = [{"task": task, "reason": "pump locked out"} for task in tasks]
    return changed(document, {"/event/not_possible": listed})


def visit(kind: str, **parts: object) -> Document:
    """A visit with nothing but these parts."""
    document = without(booster(), "/event")
    people = {"kind": kind, "parties": {"performed_by": "First technician"}}
    return changed(document, {"/event": people | parts})
