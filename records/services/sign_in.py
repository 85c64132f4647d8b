"""Who a name and a password belong to, at the same cost whether they belong to somebody or not."""

from dataclasses import dataclass
from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.core import signing
from django.db.models.functions import Lower

from records.models import User
from records.models.base import new_id
from records.services import guessing

KNOWN_FOR = 180 * 86_400  # s
_SALT = "records.services.sign_in"


class PersonBackend(ModelBackend):
    """By user name or e-mail address, with exactly one comparison of a password each time."""

    def authenticate(
        self, request: Any, username: str | None = None,
        password: str | None = None, **other: Any,
    ) -> User | None:  # fmt: skip
        """The person; None for a wrong name, a wrong password and for whoever may not come in."""
        if not username or not password:
            return None
        user = find(username)
        if user is None:
            User().set_password(password)  # takes as long as comparing one
            return None
        known = user.check_password(password)
        return user if known and self.user_can_authenticate(user) else None


def find(name: str) -> User | None:
    """The person of a user name or an e-mail address, whatever the case of its letters."""
    wanted = name.strip().lower()
    if not wanted or "\0" in wanted:
        return None
    rows = User.objects.alias(lower_name=Lower("username"), lower_email=Lower("email"))
    by_name = rows.filter(lower_name=wanted).first()
    return by_name or rows.filter(lower_email=wanted).first()


@dataclass(frozen=True, slots=True)
class Attempt:
    """One try to sign in, counted before it is looked at."""

    account: str
    source: str
    browser: str | None

    @classmethod
    def of(cls, name: str, address: str | None, mark: str) -> "Attempt":
        """What a try is counted by; one account is one, by whichever of its names.

        `mark` is what the browser carries of an earlier sign-in (`mark_of`), or nothing.
        """
        user = find(name)
        account = str(user.pk) if user else name.strip().lower()
        return cls(account, guessing.source_of(address), _browser(mark, account))

    def take(self) -> None:
        """Count it; `TooManyGuesses` where one of the limits is passed.

        What stops at one limit does not count against the next: a stranger at one address
        cannot use up what the account is allowed from everywhere.
        """
        for limit, whom in self._limits():
            guessing.take(limit, *whom)

    def give_back(self) -> None:
        """It was right."""
        for limit, whom in self._limits():
            guessing.give_back(limit, *whom)

    def _limits(self) -> list[tuple[guessing.Limit, tuple[str, ...]]]:
        if self.browser is not None:
            return [(guessing.SIGN_IN_BY_BROWSER, (self.account, self.browser))]
        return [
            (guessing.SIGN_IN_BY_ADDRESS, (self.source,)),
            (guessing.SIGN_IN_BY_PAIR, (self.account, self.source)),
            (guessing.SIGN_IN_BY_ACCOUNT, (self.account,)),
        ]


def mark_of(user: User) -> str:
    """A mark for a browser in which this person has signed in: strangers cannot shut it out."""
    return signing.dumps([str(user.pk), str(new_id())], salt=_SALT)


def _browser(mark: str, account: str) -> str | None:
    """Which browser it is, where the mark is good and of this account."""
    try:
        whose, browser = signing.loads(mark, salt=_SALT, max_age=KNOWN_FOR)
    except (signing.BadSignature, ValueError, TypeError):
        return None
    return str(browser) if whose == account else None
