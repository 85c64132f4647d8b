"""The server's times in documents."""

from datetime import UTC, datetime


def instant(moment: datetime) -> str:
    """RFC 3339 in UTC, to the microsecond."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")
