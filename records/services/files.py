"""Files of the book, kept under the digest of their bytes."""

import hashlib
from typing import IO

from django.core.files.base import ContentFile, File
from django.core.files.storage import default_storage


def store(content: bytes) -> bytes:
    """Keep bytes under their digest; the same bytes again change nothing."""
    digest = hashlib.sha256(content).digest()
    keep(digest, ContentFile(content))
    return digest


def store_file(content: IO[bytes]) -> tuple[bytes, int]:
    """The same of an open file, from its beginning: its digest and its size."""
    size = content.tell()
    content.seek(0)
    digest = hashlib.file_digest(content, "sha256").digest()  # type: ignore[arg-type]
    content.seek(0)
    keep(digest, File(content))
    return digest, size


def keep(digest: bytes, content: "File[bytes]") -> None:
    """Keep bytes under the digest that they are known to have; those that are there stay."""
    name = stored_name(digest)
    if not default_storage.exists(name):
        default_storage.save(name, content)


def forget_unfinished() -> None:
    """Drop what killed processes left half-written, where the storage keeps such things."""
    forget = getattr(default_storage, "forget_unfinished", None)
    if forget is not None:
        forget()


def stored_name(digest: bytes) -> str:
    """Where bytes of this digest are kept."""
    text = digest.hex()
    return f"{text[:2]}/{text}"
