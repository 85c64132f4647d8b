"""Browsers of people who have come in by password and second factor, a moment ago."""

import time

from allauth.account.internal.flows import login
from django.test import Client

from records.models import User
from tests.records.cast import Person
from tests.records.client import leave


def sign_in(client: Client, person: Person, *methods: str, ago: float = 0) -> None:
    """Sign in as if by these methods (`password`, `mfa`; both if none is said), so long ago."""
    leave()
    client.force_login(User.objects.get(id=person.id))
    session = client.session
    shown = [{"method": each, "at": time.time() - ago} for each in methods or ("password", "mfa")]
    session[login.AUTHENTICATION_METHODS_SESSION_KEY] = shown
    session[login._AUTHENTICATION_METHODS_USER_SESSION_KEY] = str(person.id)
    session.save()
    leave()
