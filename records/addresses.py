"""The address that a request comes from."""

from ipaddress import ip_address
from typing import Any

from django.conf import settings


def address_of(request: Any) -> str | None:
    """What the server saw, or what the proxy in front says that it saw; None over a socket.

    Of the proxy's list only the last is its own word: what stands before came from outside.
    """
    given: str = request.META.get("REMOTE_ADDR", "")
    if settings.BEHIND_PROXY:
        given = request.META.get("HTTP_X_FORWARDED_FOR", given).rpartition(",")[2].strip()
    try:
        return str(ip_address(given))
    except ValueError:
        return None
