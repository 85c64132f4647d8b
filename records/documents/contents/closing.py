"""What closes a visit: what was not possible, remarks, files, and whatever has no other place."""

from calculations.inputs.event import (
    AttachmentReference,
    Event,
    NotPossible,
    TraceReference,
)
from records.documents import labels
from records.documents.blocks import Block, heading, pairs, paragraph
from records.documents.contents.kept_files import kept_files
from records.documents.contents.listing import listed_section, section
from records.documents.contents.source import Source
from records.documents.shown import order


def not_possible(source: Source) -> list[Block]:
    """Work that could not be done: it stays due."""
    listed = listed_section(source, "Not possible on the day", source.event, "not_possible",
                            NotPossible)  # fmt: skip
    words = "Neither done nor missing: these tasks stay due."
    return [listed[0], paragraph(words, "small"), *listed[1:]] if listed else []


def attachments(source: Source) -> list[Block]:
    """Photographs, documents and traces, by the digest of their bytes."""
    event = source.event
    return [
        *kept_files(source),
        *listed_section(source, "Attachments", event, "attachments", AttachmentReference),
        *listed_section(source, "Traces", event, "traces", TraceReference),
        *section(source, "Settings file", event.part("settings_file"), AttachmentReference, 2, 1),
    ]


def remarks(source: Source) -> list[Block]:
    """What the technician wrote, as written."""
    words = source.event.take("remarks")
    return [heading("Remarks"), paragraph(str(words))] if words else []


def others(source: Source) -> list[Block]:
    """Whatever the event holds that has no place of its own, and what it does not hold."""
    event = source.event
    leave = ("id", "site", "pump_set", *_said_first(source))
    rows = source.cells(event.rest(order(Event), leave=leave))
    blocks: list[Block] = [heading("Also recorded"), pairs(rows)] if rows else []
    return blocks + _nothing_recorded(source)


def _said_first(source: Source) -> tuple[str, ...]:
    """What the first page tells already: which record this one replaces, and why."""
    corrects = source.record.part("corrects")
    if not corrects:
        return ()
    corrects.take("number")
    if source.event.see("correction_reason") == corrects.take("reason"):
        source.event.take("correction_reason")
    return ("corrects",)


_PARTS = tuple(
    name for name in order(Event)
    if name in ("settings", "supply", "motor_tests", "rotation", "identification_run")
    or name.endswith(("_tests", "_checks", "_points", "_verifications", "traces", "attachments"))
)  # fmt: skip


def _nothing_recorded(source: Source) -> list[Block]:
    kept = source.record  # files that were sent stand beside the event
    empty = [
        labels.label(name).lower()
        for name in _PARTS
        if not source.event.see(name) and not kept.see(name)
    ]
    if not empty or not source.event.see("pump_set"):
        return []
    return [heading("Not recorded"), paragraph(f"Nothing was recorded of: {', '.join(empty)}.")]
