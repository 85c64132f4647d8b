"""Addresses of tags, as codes on labels hold them for as long as a label sticks."""

from urllib.parse import quote
from uuid import UUID


def tag_path(site: UUID | str, tag: str) -> str:
    """The path that leads to what stands at a tag (RFC 3986: what is not unreserved is encoded)."""
    return f"/stations/{site}/tags/{quote(tag, safe='')}"


def has_path(tag: str) -> bool:
    """Whether a path can hold a tag: dots alone between slashes are removed on the way."""
    return not {".", ".."} & set(tag.split("/"))
