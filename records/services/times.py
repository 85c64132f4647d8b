"""The server's times in documents."""

from datetime import UTC, datetime


def instant(moment: datetime) -> str:
    """RFC 3339 in UTC, with as much of the second as is kept."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
