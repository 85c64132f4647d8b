"""The paper that documents are printed on."""

from collections.abc import Mapping

from records.document_style import Paper
from records.documents.contents.source import Document

PAPERS: Mapping[str, str] = {"a4": "a4", "letter": "us-letter"}
"""Sizes by the name that callers give, as the typesetter calls them."""


def usual(snapshot: Document) -> str:
    """The paper of a station: letter where North American practice holds, else A4."""
    practice = (snapshot.get("site") or {}).get("electrical_practice")
    return "letter" if practice in ("us_nec", "canadian") else "a4"


def size(wanted: Paper, snapshot: Document) -> str:
    """The paper that a client wants at this station, as the typesetter calls it."""
    return PAPERS[usual(snapshot) if wanted == "usual" else wanted]
