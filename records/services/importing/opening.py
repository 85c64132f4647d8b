"""Takes a file for what its first bytes say it is, and opens it."""

from records.services.importing.csv_files import open_csv
from records.services.importing.sheets import MOST_BYTES, NoSpreadsheet, Opened
from records.services.importing.workbooks import open_workbook

_OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_OTHERS = {
    b"%PDF": "a PDF document",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"{\\rtf": "a text document",
    b"\x1f\x8b": "a compressed file",
    b"7z\xbc\xaf": "a compressed file",
    b"Rar!": "a compressed file",
    b"<html": "a web page",
    b"<!DOC": "a web page",
    b"<!doc": "a web page",
    b"<?xml": "an XML document",
}
_EXPECTED = "expected a workbook (.xlsx) or a table as text (.csv)"


def opened(content: bytes) -> Opened:
    """The sheets of a file; `NoSpreadsheet` says in words what is wrong with it."""
    if not content.strip():
        raise NoSpreadsheet(f"The file is empty; {_EXPECTED}.")
    if len(content) > MOST_BYTES:
        most = MOST_BYTES // 1_000_000
        raise NoSpreadsheet(f"The file is larger than {most} MB: part it into several files.")
    if content.startswith(_OLD_OR_LOCKED):
        raise NoSpreadsheet(
            "The file is a workbook of the older kind (.xls), or one that opens with a password. "
            "Save it as .xlsx without a password, then send that one."
        )
    if content.startswith(b"PK\x03\x04"):
        return open_workbook(content)
    for beginning, words in _OTHERS.items():
        if content.startswith(beginning):
            raise NoSpreadsheet(f"The file is {words}; {_EXPECTED}.")
    return open_csv(content)
