"""Ids out of paths."""

from uuid import UUID

from records.errors import NotFound


def identity(text: str) -> UUID:
    """An id out of a path; what is no UUID is nothing here."""
    try:
        return UUID(text)
    except ValueError:
        raise NotFound() from None
