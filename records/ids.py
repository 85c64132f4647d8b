"""Ids out of paths."""

from uuid import UUID

from records.errors import NotFound


def identity(text: str) -> UUID:
    """An id out of a path; what is no UUID is nothing here."""
    try:
        return UUID(text)
    except ValueError:
        raise NotFound() from None


def is_id(text: str) -> bool:
    """Whether a reference is an id, and not a tag or a serial number."""
    try:
        UUID(text)
    except ValueError:
        return False
    return True
