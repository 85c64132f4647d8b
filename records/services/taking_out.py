"""A client's whole book goes out into one file: by whoever runs the service, on the client's word.

Not by the client itself: visits with their findings, and the audit, are the contractor's work, on
which the client's role has no privilege. What is sealed a client downloads at any time.
"""

import os
from collections.abc import Iterable
from pathlib import Path

from django.db import connections, transaction

from records.errors import Conflict
from records.models import Clientele, Organization
from records.selectors.books import Book, Wanted
from records.services import audit, organizations


def take_out(wanted: Wanted, file: Path, operator: str, reason: str, using: str) -> Book:
    """Write a client's book to a new file that its owner alone reads; `using` is the owner's.

    The audits of the client and of its contractors say so, from before the first row is read.
    `Conflict` where the file is there already or its folder is not, where the organization is
    nobody's client, or where bytes are missing that the book names.
    """
    client = organizations.known(wanted.client, using)
    if file.exists():
        raise Conflict(f"{file} is there already: name another file")
    if not file.parent.is_dir():
        raise Conflict(f"{file.parent} is no folder: name a file in one that is there")
    with transaction.atomic(using=using, durable=True):
        _write_down(client, wanted, operator, reason, using)
    with transaction.atomic(using=using, durable=True):
        with connections[using].cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        book = Book(wanted, using)
        try:
            _write(file, book.stream())
        except FileNotFoundError as error:
            raise Conflict(f"a file that the book names is not there: {error.filename}") from error
    return book


def _write_down(
    client: Organization, wanted: Wanted, operator: str, reason: str, using: str
) -> None:
    pairs = Clientele.objects.using(using).filter(client=client).order_by("pk")
    contractors = list(pairs.values_list("contractor_id", flat=True))
    if not contractors:
        raise Conflict(f"{client.name} is nobody's client: there is no book of it")
    about = audit.About("organization", client.id, client.name, client=client.id)
    change = audit.Change(after={"drafts": wanted.drafts})
    for organization in (client.id, *contractors):
        audit.write_by_operator(
            organization, operator, "book taken out", about,
            change=change, reason=reason, using=using,
        )  # fmt: skip


def _write(file: Path, pieces: Iterable[bytes]) -> None:
    """Whole or not at all."""
    unfinished = file.with_name(f".{file.name}.{os.getpid()}")
    handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as stream:
            for piece in pieces:
                stream.write(piece)
            stream.flush()
            os.fsync(handle)
        unfinished.replace(file)
    finally:
        unfinished.unlink(missing_ok=True)
