"""Files of the book, kept under the digest of their bytes."""

import hashlib

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage


def store(content: bytes) -> bytes:
    """Keep bytes under their digest; the same bytes again change nothing."""
    digest = hashlib.sha256(content).digest()
    name = stored_name(digest)
    if not default_storage.exists(name):
        default_storage.save(name, ContentFile(content))
    return digest


def stored_name(digest: bytes) -> str:
    """Where bytes of this digest are kept."""
    text = digest.hex()
    return f"{text[:2]}/{text}"
