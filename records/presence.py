"""What a person at a browser has proven since signing in, read from the session."""

from allauth.account.authentication import get_authentication_records
from allauth.account.internal.flows.login import AUTHENTICATION_METHODS_SESSION_KEY
from django.http import HttpRequest

from records.models import User
from records.permissions import Presence

SECOND_FACTOR, PASSWORD = "mfa", "password"  # the names of methods


def presence_of(request: HttpRequest) -> Presence:
    """Which factors were shown in this session, and when the last one was."""
    user = request.user
    if not isinstance(user, User):
        return Presence()
    records = get_authentication_records(request, user)
    shown = [each for each in records if each["method"] in (PASSWORD, SECOND_FACTOR)]
    return Presence(
        second_factor=any(each["method"] == SECOND_FACTOR for each in shown),
        confirmed_at=max((float(each["at"]) for each in shown), default=0.0),
    )


def forget_second_factor(request: HttpRequest) -> None:
    """Leave this session as one without a second factor, when the person has taken it away."""
    records = request.session.get(AUTHENTICATION_METHODS_SESSION_KEY, [])
    kept = [each for each in records if each["method"] != SECOND_FACTOR]
    request.session[AUTHENTICATION_METHODS_SESSION_KEY] = kept
