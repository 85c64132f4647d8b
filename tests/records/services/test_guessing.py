"""Counting guesses: atomic, in a transaction of its own, by what a caller cannot change at will."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection, transaction
from django.test import Client, RequestFactory

from records import permissions
from records.addresses import address_of
from records.errors import TooManyGuesses
from records.management.commands.relay import Relay
from records.models import Guess
from records.services import guessing
from records.services.guessing import Limit
from tests.records.client import leave

THREE = Limit("a test", 3, 600)


@pytest.fixture(autouse=True)
def as_login_role(db):
    leave()


def allowed(limit, *whom, of=10):
    """How many of some guesses get through."""
    through = 0
    for _ in range(of):
        try:
            guessing.take(limit, *whom)
        except TooManyGuesses:
            continue
        through += 1
    return through


def test_so_many_get_through_and_the_rest_learn_when_to_come_back():
    assert allowed(THREE, "cleo") == 3
    with pytest.raises(TooManyGuesses) as refused:
        guessing.take(THREE, "cleo")
    assert 590 < refused.value.extra["retry_after"] <= 600


def test_each_is_counted_apart():
    assert allowed(THREE, "cleo", "192.0.2.1") == 3
    assert allowed(THREE, "cleo", "192.0.2.2") == 3
    assert allowed(THREE, "cleo192.0.2.1") == 3
    assert allowed(Limit("another test", 3, 600), "cleo", "192.0.2.1") == 3


def test_what_was_right_is_given_back():
    for _ in range(9):
        guessing.take(THREE, "cleo")
        guessing.give_back(THREE, "cleo")
    assert allowed(THREE, "cleo") == 3
    for _ in range(50):
        guessing.give_back(THREE, "nobody")  # nothing to give
    assert allowed(THREE, "nobody") == 3


def test_a_window_ends(stage):
    assert allowed(THREE, "cleo") == 3
    Guess.objects.update(until="2000-01-01T00:00:00Z")
    assert allowed(THREE, "cleo") == 3


def test_no_name_or_address_is_kept():
    guessing.take(THREE, "a password typed into the wrong field")
    with connection.cursor() as cursor:
        cursor.execute("SELECT whom, records_guess::text FROM records_guess")
        [(whom, text)] = cursor.fetchall()
    assert len(bytes(whom)) == 32
    assert "password" not in text


def test_nothing_that_can_be_undone_is_counted_in():
    """In a transaction that a refusal undoes, no guess would be counted."""
    with (
        pytest.raises(RuntimeError, match="durable atomic block cannot be nested"),
        transaction.atomic(),
    ):
        guessing.take(THREE, "cleo")


def test_the_worker_deletes_what_is_over_and_the_log_in_role_cannot():
    guessing.take(THREE, "old")
    Guess.objects.update(until="2000-01-01T00:00:00Z")
    guessing.take(THREE, "new")
    with transaction.atomic():
        permissions.enter_as_worker()
        assert guessing.forget_old() == 1
    leave()
    assert Guess.objects.count() == 1


def test_the_relay_deletes_them_now_and_then():
    relay = Relay()
    for number, left in ((1, 0), (2, 1)):  # the second time it is too early
        guessing.take(THREE, number)
        Guess.objects.update(until="2000-01-01T00:00:00Z")
        relay.forget_what_is_over()
        leave()
        assert Guess.objects.count() == left


@pytest.mark.parametrize(
    ("address", "forwarded", "behind", "source"),
    [
        ("192.0.2.7", "", False, "192.0.2.7"),
        ("192.0.2.7", "203.0.113.5", False, "192.0.2.7"),  # written by the caller
        ("10.0.0.1", "198.51.100.1, 203.0.113.5", True, "203.0.113.5"),
        ("2001:db8:1:2:aaaa::1", "", False, "2001:db8:1:2::"),  # RFC 4291: a subnet is a /64
        ("2001:db8:1:2:bbbb::9", "", False, "2001:db8:1:2::"),
        ("2001:db8:1:3::1", "", False, "2001:db8:1:3::"),
        ("::ffff:192.0.2.7", "", False, "192.0.2.7"),
        ("", "", False, "unknown"),
        ("10.0.0.1", "not an address", True, "unknown"),
    ],
)
def test_what_guesses_are_counted_by(settings, address, forwarded, behind, source):
    settings.BEHIND_PROXY = behind
    given = {"REMOTE_ADDR": address} | ({"HTTP_X_FORWARDED_FOR": forwarded} if forwarded else {})
    address = address_of(RequestFactory().get("/", **given))
    assert guessing.source_of(address) == source


# -- many at once, each over a connection of its own ----------------------------------------------

AT_ONCE, GUESSES = 16, 1000


def together(call, count):
    """The answers to `count` calls over AT_ONCE connections that begin at the same moment."""
    barrier = Barrier(AT_ONCE, timeout=60)

    def run(share):
        try:
            barrier.wait()
            return [call(number) for number in share]
        finally:
            connection.close()

    shares = [range(first, count, AT_ONCE) for first in range(AT_ONCE)]
    with ThreadPoolExecutor(AT_ONCE) as pool:
        return [each for answers in pool.map(run, shares) for each in answers]


@pytest.mark.commits
@pytest.mark.django_db(transaction=True)
def test_of_a_thousand_at_once_so_many_get_through(transactional_db):
    def call(number):
        try:
            guessing.take(THREE, "cleo")
        except TooManyGuesses:
            return False
        return True

    assert Counter(together(call, GUESSES)) == {True: 3, False: GUESSES - 3}


@pytest.mark.commits
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("from_everywhere", [False, True])
def test_of_a_thousand_passwords_at_once_so_many_are_compared(
    stage, cast, transactional_db, settings, monkeypatch, from_everywhere
):
    """At the door: the right password is among them, and comes too late."""
    from django.contrib.auth.hashers import MD5PasswordHasher, make_password

    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    with stage.as_owner() as owner:
        owner.execute(
            "UPDATE records_user SET password = %s WHERE id = %s",
            [make_password("the right one"), cast.cleo.id],
        )
    compared = []
    encode = MD5PasswordHasher.encode

    def counted(self, password, salt):
        compared.append(password)
        return encode(self, password, salt)

    monkeypatch.setattr(MD5PasswordHasher, "encode", counted)

    def call(number):
        address = f"198.51.{number % 100}.7" if from_everywhere else "198.51.100.7"
        client = Client(REMOTE_ADDR=address)
        password = "the right one" if number > 900 else f"guess {number}"
        return client.post("/sign-in", {"login": "cleo", "password": password}).status_code

    limit = guessing.SIGN_IN_BY_ACCOUNT if from_everywhere else guessing.SIGN_IN_BY_PAIR
    statuses = Counter(together(call, GUESSES))
    assert statuses == {200: limit.most, 429: GUESSES - limit.most}
    assert len(compared) == limit.most


@pytest.mark.commits
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_of_two_hundred_who_use_one_code_at_once_one_comes_through(stage, cast, transactional_db):
    """A code that was overseen is used by whoever is first, and by nobody else."""

    def call(number):
        try:
            guessing.take(guessing.SECOND_FACTOR_CODE, cast.cleo.id, "123456")
        except TooManyGuesses:
            return False
        return True

    assert sum(together(call, 200)) == 1
