"""What a file is by itself, whatever else is given: here no check rests on another file."""

from typing import NamedTuple

from records.verifier.keys import Keys
from records.verifier.pdfs import record_in
from records.verifier.sealed import Sealed, check_record, digest
from records.verifier.telling import Wrong

Checked = dict[str, tuple[Sealed | None, list[str]]]  # records by the digest of their files


class Found(NamedTuple):
    """A file that should be a record: its digest, that of the record in it, and what is wrong."""

    digest: str
    record: str | None
    sealed: Sealed | None
    wrong: list[str]


def look(data: bytes, where: str, is_pdf: bool, keys: Keys, checked: Checked) -> Found:
    """A record's JSON, or the PDF that it is attached to; no record is checked twice."""
    mine = digest(data)
    try:
        record = record_in(data) if is_pdf else data
    except Wrong as error:
        return Found(mine, None, None, [str(error)])
    inside = digest(record) if is_pdf else mine
    if inside not in checked:
        checked[inside] = check_record(record, where, keys)
    return Found(mine, inside, *checked[inside])
