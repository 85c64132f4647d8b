"""The server's times in documents, and days where a station is."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


def instant(moment: datetime) -> str:
    """RFC 3339 in UTC, with as much of the second as is kept."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")


def day_at(moment: datetime, time_zone: str) -> date:
    """The calendar day that it is then in a time zone, named as in the IANA database."""
    return moment.astimezone(ZoneInfo(time_zone)).date()
