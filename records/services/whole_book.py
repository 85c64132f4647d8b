"""The whole book held against its seals and digests, for whoever runs the service.

What is printed is the verifier's own: the same words as a client's copy of it says.
"""

import hashlib
import json
from collections.abc import Iterator

from django.core.files.storage import default_storage
from django.db import connections, transaction

from records.models import Record, SigningKey, SiteSummary
from records.selectors import sealed, signing_keys
from records.services.files import stored_name
from records.verifier.book import Book, Head, read_heads
from records.verifier.keys import Keys
from records.verifier.looking import look
from records.verifier.telling import Told, Unusable

_AT_ONCE = 200
_PIECE = 1 << 20
_NAMED = """
SELECT sha256 FROM records_recorddocument WHERE sha256 IS NOT NULL
UNION SELECT sha256 FROM records_attachment UNION SELECT sha256 FROM records_trace ORDER BY 1
"""


def verify(using: str, heads: bytes | None = None) -> int:
    """Check every record and every file, and print what was done; how many checks failed."""
    told = Told()
    with transaction.atomic(using=using):
        whole = _files(told, using)
        if SigningKey.objects.using(using).exists():
            _records(told, using, heads, whole)
        elif heads is not None:
            raise Unusable("this book has no key and no record, and there are heads of one")
    told.end()
    return told.failed + told.unusable


def _records(told: Told, using: str, heads: bytes | None, whole: set[str]) -> None:
    keys = Keys(told)
    rows = SigningKey.objects.using(using).order_by("valid_from", "kid")
    document = json.dumps(signing_keys.document_of(rows)).encode()
    # Whose keys they are, a client knows from paper; here each counts that nobody endorsed.
    found = keys.take(document, "the book's keys")
    keys.trust(found)
    book = Book(told, keys)
    for record in _each(using):
        where = f"{record.site.code} no. {record.number}"
        seen = look(sealed.data(record), where, False, keys, book.checked)
        book.take(seen, where, is_pdf=False, surely=True)
        book.checked.clear()  # of a long book, no more than what links need is kept
    attached = {name for site in book.sites.values() for s in site.values() for name, _ in s.files}
    book.files = {digest: digest for digest in attached & whole}
    kept = read_heads(heads, "heads") if heads is not None else []
    book.end(_heads(using), kept, whole=not _came_with_a_book(using))


def _each(using: str) -> Iterator[Record]:
    rows = Record.objects.using(using).select_related("key", "site").order_by("row")
    return rows.iterator(chunk_size=_AT_ONCE)


def _came_with_a_book(using: str) -> bool:
    """A client's book may begin in the middle of a chain; then numbers may be missing."""
    return SigningKey.objects.using(using).exclude(origin="").exists()


def _heads(using: str) -> dict[str, Head]:
    summaries = SiteSummary.objects.using(using).filter(last_number__gt=0)
    values = summaries.values_list("site__id", "last_number", "last_digest")
    return {
        str(site): Head(str(site), number, bytes(digest or b"").hex())
        for site, number, digest in values
    }


def _files(told: Told, using: str) -> set[str]:
    """Those that are as they were."""
    with connections[using].cursor() as cursor:
        cursor.execute(_NAMED)
        named = [bytes(sha256) for (sha256,) in cursor.fetchall()]
    whole = set()
    for digest in named:
        if wrong := _wrong_with(digest):
            told.fail(f"file {digest.hex()}", wrong)
        else:
            told.did("files by their digest")
            whole.add(digest.hex())
    return whole


def _wrong_with(digest: bytes) -> str:
    counted = hashlib.sha256()
    try:
        with default_storage.open(stored_name(digest)) as file:
            for piece in file.chunks(_PIECE):
                counted.update(piece)
    except FileNotFoundError:
        return "it is not there"
    except OSError as error:
        return f"it cannot be read: {error.strerror}"
    return "" if counted.digest() == digest else "it was changed"
