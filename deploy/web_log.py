"""The web server's own lines, in the form that LOG_FORMAT says; requests are told by ours alone."""

from logging import Formatter
from os import environ
from typing import Any

from gunicorn.glogging import Logger

from deploy.logs import JsonLine


class ServerLog(Logger):  # type: ignore[misc]  # it publishes no types
    """Names no address of a request: the server's own access log stays off."""

    def setup(self, cfg: Any) -> None:
        """As the server does, then in our form."""
        super().setup(cfg)
        for handler in self.error_log.handlers:
            handler.setFormatter(form())


def form() -> Formatter:
    """What lines look like."""
    if environ.get("LOG_FORMAT", "").strip().lower() == "json":
        return JsonLine()
    return Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s")
