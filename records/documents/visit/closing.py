"""The end of the sheet: what could not be done, remarks, signatures."""

from records.documents.blocks import Block, heading, paragraph
from records.documents.contents.cautions import ARITHMETIC
from records.documents.visit.forms import fields, lines
from records.documents.visit.visit import Visit


def closing(visit: Visit) -> list[Block]:
    """Lines to write on, and who stands for it."""
    names = ("performed", "witnessed")
    signed = [(f"{name.capitalize()} by: {what}", "") for name in names
              for what in ("name", "date", "signature")]  # fmt: skip
    return [
        heading("Not possible on the day, and why"),
        lines(3),
        heading("Remarks"),
        lines(6),
        heading("Signed on paper"),
        fields(signed, 3),
        paragraph(f"This sheet is no record: what it holds counts once it is in the book. "
                  f"{ARITHMETIC}", "small"),
    ]  # fmt: skip
