"""Links that let a person choose a password: good once, and for a time."""

import time
from typing import Any

from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.utils.http import base36_to_int

HOUR, DAY = 3_600, 86_400  # s
RECOVERY_SECONDS = HOUR
INVITATION_SECONDS = 7 * DAY


class Links(PasswordResetTokenGenerator):
    """Bound to the password, the last sign-in and the address: a change of any ends it.

    Whoever has no password yet was invited, and has a week; whoever recovers access has an hour.
    The framework's own limit (PASSWORD_RESET_TIMEOUT) is the longer of the two.
    """

    key_salt = "records.services.links"

    def check_token(self, user: Any, token: str | None) -> bool:
        """Whether a link is that person's, unused and in time."""
        if not token or not super().check_token(user, token):
            return False
        made_at = base36_to_int(token.partition("-")[0])
        return self._seconds_now() - made_at <= lifetime(user)

    def _seconds_now(self) -> int:
        return self._num_seconds(self._now())


def lifetime(user: Any) -> int:
    """Seconds for which a link is good."""
    return RECOVERY_SECONDS if user.has_usable_password() else INVITATION_SECONDS


def expires_at(user: Any) -> float:
    """When a link that is made now ends, in seconds since 1970."""
    return time.time() + lifetime(user)
