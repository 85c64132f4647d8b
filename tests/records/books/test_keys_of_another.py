"""Keys that came with a book: they check what was sealed there, and seal nothing here."""

import json

import psycopg
import pytest
from joserfc.jwk import OKPKey
from psycopg import errors

from records import roles
from records.errors import Conflict, NoSigningKey
from records.services import keys
from records.services.book_keys import Coming
from tests import database
from tests.records.books.conftest import SERVICE
from tests.records.books.installations import members, owner_of
from tests.records.books.test_refused import assert_as_it_began, forged


def there(elsewhere, query, *parameters):
    with elsewhere.as_owner() as owner:
        return owner.execute(query, parameters).fetchall()


def test_they_are_kept_with_where_they_come_from(stage, book, elsewhere, take_in):
    take_in(book)
    told = there(elsewhere, "SELECT kid, origin FROM records_signingkey ORDER BY origin")
    assert told == [(keys.key_id(elsewhere.key), ""), (keys.key_id(stage.key), SERVICE)]


def test_our_own_line_goes_on_beside_them(book, elsewhere, take_in):
    take_in(book)
    new = OKPKey.generate_key("Ed25519")
    with owner_of(elsewhere.database) as using:
        row = keys.rotate(elsewhere.key, new, using)
    assert (row.origin, row.endorsed_by_id) == ("", keys.key_id(elsewhere.key))


def test_nothing_is_sealed_or_rotated_with_them_here(stage, book, elsewhere, take_in, settings):
    take_in(book)
    with owner_of(elsewhere.database) as using:
        with pytest.raises(Conflict, match="another service's"):
            keys.register(stage.key, using)
        with pytest.raises(Conflict, match="another service's"):
            keys.rotate(stage.key, OKPKey.generate_key("Ed25519"), using)
    [[start]] = there(elsewhere, "SELECT max(valid_from) FROM records_signingkey")
    with elsewhere.entered(settings), pytest.raises(NoSigningKey, match="another service's"):
        keys.known(stage.key, start)


COPY = """
INSERT INTO records_record (id, contractor_id, client_id, site_id, event_id, number, kind,
  performed_at, sealed_at, format, canonical, digest, previous_digest, signature, key_id)
SELECT gen_random_uuid(), contractor_id, client_id, site_id, event_id, number + 1, kind,
       performed_at, sealed_at, format, canonical, digest, digest, signature, key_id
  FROM records_record
"""


def test_the_database_takes_their_seals_from_no_office(cast, book, elsewhere, take_in):
    take_in(book, cast.contractor)
    with psycopg.connect(database.dsn(roles.LOGIN, elsewhere.database)) as service:
        service.execute(f"SET ROLE {roles.OFFICE}")
        service.execute("SELECT set_config('app.org', %s, false)", [str(cast.contractor)])
        with pytest.raises(errors.CheckViolation, match="another service's"):
            service.execute(COPY)


def test_no_key_follows_one_of_another_service(stage, book, elsewhere, take_in):
    take_in(book)
    new = OKPKey.generate_key("Ed25519")
    with pytest.raises(errors.CheckViolation, match="follows one of another service"):
        there(
            elsewhere,
            "INSERT INTO records_signingkey (kid, public_jwk, algorithm, valid_from,"
            " endorsed_by_id, endorsement, created_at)"
            " VALUES (%s, '{}', 'Ed25519', now(), %s, 'x', now()) RETURNING kid",
            keys.key_id(new),
            keys.key_id(stage.key),
        )


def test_a_key_that_is_known_otherwise_is_a_conflict(stage, book, elsewhere, take_in):
    there(
        elsewhere,
        "INSERT INTO records_signingkey (kid, public_jwk, algorithm, valid_from, endorsement,"
        " created_at, origin) VALUES (%s, '{}', 'Ed25519', now(), '', now(), 'x') RETURNING kid",
        keys.key_id(stage.key),
    )
    with pytest.raises(Conflict, match="has another public_key here"):
        take_in(book)


def test_a_key_that_has_ended_since_ends_here(book, elsewhere, take_in):
    """The next client of the same service comes when that one has another key already."""
    take_in(book)
    [told] = json.loads(members(book)["keys.json"])["items"]
    with owner_of(elsewhere.database) as using:
        coming = Coming([told | {"valid_until": "2100-01-01T00:00:00Z"}], using)
        assert list(coming.conflicts()) == []
        coming.write(SERVICE)
    ends = there(elsewhere, "SELECT origin, valid_until::text FROM records_signingkey ORDER BY 1")
    assert ends == [("", None), (SERVICE, "2100-01-01 00:00:00+00")]


def with_keys(change):
    """Changes the list of keys."""

    def run(inside, package):
        told = json.loads(inside["keys.json"])
        change(told["items"])
        inside["keys.json"] = json.dumps(told).encode()

    return run


def key_told(key, **more):
    """A key as a file tells it."""
    return {
        "kid": keys.key_id(key), "algorithm": "Ed25519", "public_key": keys.public_jwk(key),
        "valid_from": "2020-01-01T00:00:00Z", "valid_until": None, "endorsed_by": None,
        "endorsement": "", "origin": None,
    } | more  # fmt: skip


def test_a_key_that_sealed_nothing_of_the_file_is_refused(book, elsewhere, take_in, tmp_path):
    key = OKPKey.generate_key("Ed25519")
    more = with_keys(lambda items: items.append(key_told(key)))
    with pytest.raises(Conflict, match=f"keys: {keys.key_id(key)} sealed no record of the file"):
        take_in(forged(book, tmp_path / "forged.zip", more))
    assert_as_it_began(elsewhere)


def test_a_key_that_follows_one_that_is_not_in_the_file_is_refused(
    stage, book, elsewhere, take_in, tmp_path
):
    key, before = keys.key_id(stage.key), keys.key_id(OKPKey.generate_key("Ed25519"))
    later = with_keys(lambda items: items[0].update(endorsed_by=before, endorsement="a..b"))
    with pytest.raises(Conflict, match=f"keys: {key} names {before} as the key before it, which"):
        take_in(forged(book, tmp_path / "forged.zip", later), fingerprints=(key,))
    assert_as_it_began(elsewhere)


def test_those_that_endorsed_a_sealing_key_come_along_and_those_after_it_do_not(elsewhere):
    first, sealing, after = (key_told(OKPKey.generate_key("Ed25519")) for _ in range(3))
    sealing["endorsed_by"], after["endorsed_by"] = first["kid"], sealing["kid"]
    with owner_of(elsewhere.database) as using:
        assert list(Coming([first, sealing], using).unasked([sealing["kid"]])) == []
        [told] = Coming([first, sealing, after], using).unasked([sealing["kid"]])
    assert told.startswith(f"keys: {after['kid']} sealed no record")
