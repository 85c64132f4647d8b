"""Fixtures of the entrance's tests: browsers, passwords that are compared quickly, mails."""

import pytest
from django.core import mail

from tests.records.pages.entrance.walking import Walker, give_quick_password


@pytest.fixture
def entrance(api, cast, settings):
    """Everybody with the usual password, compared in no time."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    for person in cast.people:
        give_quick_password(person)
    mail.outbox = []
    return cast


@pytest.fixture
def browser(entrance):
    """A browser that nobody has signed in with."""
    return Walker()


@pytest.fixture
def office(browser):
    """Orla's browser, with her authenticator app set up; `office.secret` is its secret."""
    browser.sign_in("orla")
    browser.secret = browser.set_up()
    return browser
