"""A sheet of labels to cut out: a tag, what it is, and a code that leads to what stands there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Any

from records.documents import texts, typesetting
from records.documents.codes import code_of
from records.documents.papers import PAPERS

TEMPLATE = "tag_labels"

# Sizes in mm. A telephone reads modules of half a millimetre; above that, what leaves room for
# words beside the code.
LEAST_MODULE, LARGEST_MODULE = 0.5, 0.75
_USUAL_SIDE = 30.0
_ROWS = {"a4": 7, "letter": 6}
_TOO_LONG = "No code: its address is longer than a code can hold. Look for the tag on the page of"
_NO_ADDRESS = "No code: an address can not hold this tag. Look for it on the page of"


@dataclass(frozen=True, slots=True)
class Label:
    """One label: `address` is where its code leads, None where no address holds the tag."""

    tag: str
    what: str
    address: str | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """What is to be labelled at one station; `origin` is where the service is reached."""

    code: str
    name: str
    contractor: str
    origin: str
    zone: tzinfo | None
    labels: Sequence[Label]


def render(sheet: Sheet, printed_at: datetime, paper: str) -> bytes:
    """The PDF of a sheet on one of `PAPERS`; the same input, the same bytes all day."""
    day = printed_at.astimezone(sheet.zone or UTC).replace(
        hour=0, minute=0, second=0, microsecond=0
    )
    return typesetting.pdf(TEMPLATE, sheet_of(sheet, day, paper), b"", day.astimezone(UTC))


def sheet_of(sheet: Sheet, day: datetime, paper: str) -> dict[str, Any]:
    """Everything that is printed, in order, as the template takes it."""
    title = f"{sheet.code} {sheet.name}: labels"
    count = len(sheet.labels)
    foot = (
        f"{count} tag{'' if count == 1 else 's'} in service on {day:%Y-%m-%d}."
        f" Codes lead to {sheet.origin}. Print at full size."
    )
    return {
        "title": texts.plain(title),
        "author": texts.plain(sheet.contractor),
        "paper": PAPERS[paper],
        "rows": _ROWS[paper],
        "head": texts.runs(title),
        "foot": texts.runs(foot),
        "station": texts.runs(f"{sheet.code} {sheet.name}", narrow=True),
        "contractor": texts.runs(sheet.contractor, narrow=True),
        "labels": [_label(each, sheet.code) for each in sheet.labels],
    }


def _label(label: Label, station: str) -> dict[str, Any]:
    code = code_of(label.address) if label.address is not None else None
    lacking = "" if code else f"{_NO_ADDRESS if label.address is None else _TOO_LONG} {station}."
    drawn = {"svg": code.svg, "mm": side(code.modules)} if code else {"mm": _USUAL_SIDE}
    return {
        "tag": texts.runs(label.tag, narrow=True),
        "what": texts.runs(label.what, narrow=True),
        "code": drawn,
        "alt": texts.plain(f"QR code that opens {label.address}"),
        "lacking": texts.runs(lacking, narrow=True),
    }


def side(modules: int) -> float:
    """Width and height [mm] of a code of so many modules, with its quiet zone."""
    return modules * max(LEAST_MODULE, min(LARGEST_MODULE, _USUAL_SIDE / modules))
