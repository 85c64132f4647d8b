"""What stands in a log, of every handler of every library, and what never does.

Each record is cleaned where it is made: the web server and the queue have handlers of their own,
which no filter of the framework's would reach.
"""

import json
import logging
import re
import traceback
from collections.abc import Iterable
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

from deploy.environment import secret

LINK = re.compile(r"(/password/choose/[0-9A-Za-z]+-)[^\s'\"<>]+")
# What lets somebody in, in the forms that libraries print: credentials of an address, headers,
# cookies, our own tokens, passwords of a connection.
LETS_IN = (
    (LINK, r"\1…"),
    (re.compile(r"(\w://[^\s:/@]*:)[^\s@]+@"), r"\1…@"),
    (re.compile(r"(?i)\b(bearer|basic)(\s+)[\w.~+/=-]{8,}"), r"\1\2…"),
    (re.compile(r"\b(st[bc]_)[\w-]{4,}"), r"\1…"),  # tokens, addresses of calendars
    (re.compile(r"(?i)\b(sessionid|csrftoken|password|passwd|secret)(['\"]?\s*[=:]\s*['\"]?)"
                r"[^\s'\",;&]+"), r"\1\2…"),
    (re.compile(r"-----BEGIN [A-Z ]*PRIVATE KEY-----.*?(-----END|$)", re.DOTALL), "…"),
)  # fmt: skip
OF_THE_INSTALLATION = (
    *("SECRET_KEY", "MFA_KEY", "METRICS_TOKEN", "MAIL_PASSWORD", "FILES_S3_SECRET_KEY"),
    *("DATABASE_URL", "OWNER_DATABASE_URL", "QUEUE_URL"),
)
SHORTEST_SECRET = 8

request_id: ContextVar[str] = ContextVar("request_id", default="")
event_id: ContextVar[str] = ContextVar("event_id", default="")


class Cleaner:
    """Cuts secrets out of a text."""

    def __init__(self, secrets: Iterable[str] = ()) -> None:
        known = sorted({s for s in secrets if len(s) >= SHORTEST_SECRET}, key=len, reverse=True)
        self._known = re.compile("|".join(map(re.escape, known))) if known else None

    def __call__(self, said: str) -> str:
        """The text without them."""
        if self._known:
            said = self._known.sub("…", said)
        for pattern, instead in LETS_IN:
            said = pattern.sub(instead, said)
        return said

    def clean(self, record: logging.LogRecord) -> logging.LogRecord:
        """Clean message and traceback; what libraries add to a record stays out of our lines."""
        try:
            said = record.getMessage()
        except (TypeError, ValueError):  # its words do not fit: the handler tells of it
            return record
        cut = self(said)
        if cut != said:
            record.msg, record.args = cut, ()
        if record.exc_info and record.exc_info[0] is not None and not record.exc_text:
            record.exc_text = self("".join(traceback.format_exception(*record.exc_info)).rstrip())
        record.request_id, record.event_id = request_id.get(), event_id.get()
        return record


def secrets_of_the_installation() -> list[str]:
    """What is secret in the environment, and in the files that it names."""
    said = [secret(name) for name in OF_THE_INSTALLATION]
    passwords = [found[1] for text in said if (found := re.search(r"://[^:/@]*:([^@]+)@", text))]
    return [word for text in said if "://" not in text for word in text.split()] + passwords


def clean_every_record() -> None:
    """From now on, in this process and those that it forks."""
    made = logging.getLogRecordFactory()
    made = getattr(made, "before", made)
    cleaner = Cleaner(secrets_of_the_installation())

    def factory(*args: Any, **kwargs: Any) -> logging.LogRecord:
        return cleaner.clean(made(*args, **kwargs))

    factory.before = made  # type: ignore[attr-defined]
    logging.setLogRecordFactory(factory)


class JsonLine(logging.Formatter):
    """One JSON object a line: for programs that gather logs."""

    def format(self, record: logging.LogRecord) -> str:
        """Time in UTC, level, logger, message; what is known of request and event."""
        told: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": record.getMessage(),
            "process": record.process,
        }
        for name in ("request_id", "event_id"):
            if value := getattr(record, name, ""):
                told[name] = value
        told |= getattr(record, "told", {})
        if record.exc_info and record.exc_info[0] is not None:
            told["error"] = record.exc_text or self.formatException(record.exc_info)
        return json.dumps(told, ensure_ascii=False, default=str)


def logging_settings(form: str, level: str) -> dict[str, Any]:
    """Django's LOGGING, in one of the forms `line` and `json`."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"},
            "json": {"()": "deploy.logs.JsonLine"},
        },
        "handlers": {"console": {"class": "logging.StreamHandler", "formatter": form}},
        "root": {"handlers": ["console"], "level": level},
    }
