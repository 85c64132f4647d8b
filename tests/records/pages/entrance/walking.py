"""A browser that comes in by the front door: forms, codes, mails."""

import base64
import hashlib
import hmac
import re
import struct
import time
from typing import Any

from django.contrib.auth.hashers import make_password
from django.test import Client

from records.models import User
from tests.records.cast import Person
from tests.records.client import leave
from tests.records.pages.reading import Page, read
from tests.records.sessions import sign_in

PASSWORD = "correct horse"


class Walker:
    """One browser: keeps its cookies, reads what it gets."""

    def __init__(self, address: str = "192.0.2.10") -> None:
        self.client = Client(raise_request_exception=False, REMOTE_ADDR=address)
        self.answer: Any = None

    @classmethod
    def of(cls, person: Person, *methods: str, ago: float = 0) -> "Walker":
        """A browser in which somebody came in, by these methods (all), so many seconds ago."""
        browser = cls()
        sign_in(browser.client, person, *methods, ago=ago)
        return browser

    def get(self, path: str) -> Page:
        leave()
        return self._read(self.client.get(path))

    def post(self, path: str, headers: dict[str, str] | None = None, **given: Any) -> Page:
        leave()
        return self._read(self.client.post(path, given, headers=headers))

    def sign_in(self, name: str, password: str = PASSWORD) -> Page:
        return self.post("/sign-in", login=name, password=password)

    @property
    def at(self) -> str:
        """Where the last answer leads."""
        return str(self.answer.headers.get("Location", ""))

    def _read(self, answer: Any) -> Page:
        self.answer = answer
        page = Page(answer.status_code, dict(answer.headers), answer.content.decode())
        return read(page) if page.html else page

    def set_up(self) -> str:
        """Set up an authenticator app, the way the page says; answers its secret."""
        secret = re.findall(r"Text: <code>([A-Z2-7]+)</code>", self.get("/second-factor/app").html)
        assert len(secret) == 1
        self.post("/second-factor/app", code=totp(secret[0]))
        assert self.at == "/second-factor/recovery-codes"
        return str(secret[0])


def totp(secret: str, at: float | None = None, digits: int = 6) -> str:
    """RFC 6238 with SHA-1 and steps of 30 s, written down from its text (RFC 4226, 5.3)."""
    step = int(time.time() if at is None else at) // 30
    mac = hmac.new(base64.b32decode(secret), struct.pack(">Q", step), hashlib.sha1).digest()
    offset = mac[-1] & 15
    number = struct.unpack(">I", mac[offset : offset + 4])[0] & 0x7FFFFFFF
    return f"{number % 10**digits:0{digits}d}"


def wrong(secret: str) -> str:
    """A code that is none of those that count now."""
    good = {totp(secret, time.time() + 30 * step) for step in (-2, -1, 0, 1, 2)}
    return next(code for code in ("000000", "111111", "222222", "333333", "444444", "555555")
                if code not in good)  # fmt: skip


def give_quick_password(person: Person) -> None:
    """The usual one, compared in no time."""
    leave()
    User.objects.filter(pk=person.id).update(password=make_password(PASSWORD))
