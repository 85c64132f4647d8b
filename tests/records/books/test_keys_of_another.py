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
