"""Codes of devices, made as a person at a browser who has just confirmed who they are."""

import time
from dataclasses import replace

from django.db import transaction

from records import permissions
from records.permissions import Actor, Presence
from records.services import enrolments, tokens
from records.services.enrolments import Code
from tests.records.cast import Person
from tests.records.client import leave


def at_browser(person: Person, ago: float = 0) -> Actor:
    """The person, who showed both factors so many seconds ago."""
    leave()
    presence = Presence(second_factor=True, confirmed_at=time.time() - ago)
    actor = tokens.actor_of_person(person.id, person.organization, "127.0.0.1", presence=presence)
    assert actor is not None
    return actor


def make_code(maker: Person | Actor, whose: Person, *, signs: bool = False) -> Code:
    """A code that one makes for a device of another, or for their own."""
    actor = at_browser(maker) if isinstance(maker, Person) else maker
    leave()
    try:
        with transaction.atomic():
            permissions.enter(actor)
            return enrolments.make_code(actor, whose.id, signs=signs)
    finally:
        leave()


def by_token(person: Person) -> Actor:
    """The person's token of the tests."""
    leave()
    actor = tokens.actor_of(person.secret)
    assert actor is not None
    return replace(actor, address="127.0.0.1")
