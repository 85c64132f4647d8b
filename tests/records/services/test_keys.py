"""One key after the other: endorsed by the one before, sealing in its own time alone."""

import shutil
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime

import pytest
import rfc8785
from django.db import connection
from joserfc import jws
from joserfc.jwk import OKPKey
from psycopg import errors

from records.services import keys
from tests.records import visits
from tests.records.client import Api
from tests.records.problems import assert_problem
from tests.records.verifying import verify

pytestmark = pytest.mark.usefixtures("transactional_db")


@pytest.fixture
def key_file(stage, cast, settings, tmp_path):
    """The service's key in a file of this test's own, which is exchanged."""
    settings.SIGNING_KEY_FILE = tmp_path / "signing_key.pem"
    shutil.copyfile(stage.key_file, settings.SIGNING_KEY_FILE)
    return settings.SIGNING_KEY_FILE


@pytest.fixture
def command(stage, key_file):
    """Runs an operator's command; its status and what it says."""
    return lambda *words: stage.command(*words, SIGNING_KEY_FILE=str(key_file))


def rotate(command):
    status, words = command("rotate_signing_key")
    assert status == 0, words
    return words


def published(person):
    return person.get("/keys").json["items"]


def key_in(file):
    return OKPKey.import_key(file.read_bytes())


def data(person, record):
    return person.get(f"/records/{record['id']}/data.json").content


def test_each_key_is_endorsed_by_the_one_before(command, key_file, cleo):
    first = key_in(key_file)
    rotate(command)
    second = key_in(key_file)
    rotate(command)
    one, two, three = published(cleo)
    assert [one["kid"], two["kid"]] == [first.thumbprint(), second.thumbprint()]
    assert key_in(key_file).thumbprint() == three["kid"]
    assert key_file.stat().st_mode & 0o777 == 0o600
    assert [each.name for each in key_file.parent.glob("*signing_key*")] == [key_file.name]
    assert (one["endorsed_by"], one["endorsement"]) == (None, "")
    assert [two["endorsed_by"], three["endorsed_by"]] == [one["kid"], two["kid"]]
    assert [one["valid_until"], two["valid_until"]] == [two["valid_from"], three["valid_from"]]
    assert three["valid_until"] is None
    for key, by in ((two, first), (three, second)):
        said = {name: key[name] for name in ("endorsed_by", "public_key", "valid_from")}
        text = rfc8785.dumps(said)
        signed = jws.deserialize_compact(
            key["endorsement"], by, algorithms=["Ed25519"], payload=text
        )
        assert signed.headers()["kid"] == by.thumbprint()


@pytest.mark.slow
def test_old_seals_are_genuine_after_three_rotations(command, teo, orla, cleo, station):
    records = [visits.sealed(teo, orla, station)]
    for _ in range(3):
        rotate(command)
        records.append(visits.sealed(teo, orla, station))
    known = {key["kid"]: key for key in published(cleo)}
    assert [each["seal"]["key"] for each in records] == list(known)
    for record in records:
        content = verify(data(cleo, record))
        key = known[record["seal"]["key"]]
        assert record["seal"]["public_key"] == key["public_key"]
        assert key["valid_from"] <= content["sealed_at"] <= (key["valid_until"] or "9999")


def test_a_process_that_still_holds_the_old_key_seals_nothing(
    command, key_file, teo, orla, station, monkeypatch
):
    event = visits.signed(teo, orla, station)
    old = key_in(key_file)
    rotate(command)
    _wait_for_the_next_second()
    with monkeypatch.context() as patch:
        patch.setattr(keys, "signing_key", lambda: old)
        refused = orla.post(f"/events/{event['id']}/seal")
        assert_problem(refused, 503)
        assert refused.json["type"] == "/problems/no-signing-key"
        assert "seals no more since" in refused.json["detail"]
        # Even where it does not look.
        patch.setattr(keys, "known", lambda key, at: _row(key))
        refused = orla.post(f"/events/{event['id']}/seal")
        assert_problem(refused, 503)
        assert "exchanged just now" in refused.json["detail"]
    record = orla.post(f"/events/{event['id']}/seal")
    assert (record.status, record.json["number"]) == (201, 1)
    assert record.json["seal"]["key"] == key_in(key_file).thumbprint()


def _row(key):
    return keys.SigningKey.objects.get(kid=key.thumbprint())


def _wait_for_the_next_second():
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_sleep(1.001 - date_part('milliseconds', now())::int % 1000 / 1e3)"
        )
    connection.close()


@pytest.mark.slow
def test_seals_made_during_an_exchange_fit_their_key(command, cast, teo, orla, cleo, station):
    events = [visits.signed(teo, orla, station) for _ in range(8)]

    def seal(event):
        try:
            answers = [Api(cast.orla).post(f"/events/{event['id']}/seal") for _ in range(2)]
            return answers[-1]  # the first may come between the book's and the file's exchange
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        sealing = [pool.submit(seal, event) for event in events]
        rotate(command)
        for each in sealing:
            assert each.result().status in (200, 503)
    known = {key["kid"]: key for key in published(cleo)}
    assert len(known) == 2
    for event in events:
        record = orla.post(f"/events/{event['id']}/seal").json
        content, key = verify(data(cleo, record)), known[record["seal"]["key"]]
        assert key["valid_from"] <= content["sealed_at"] <= (key["valid_until"] or "9999")


@pytest.mark.slow
def test_an_exchange_that_broke_off_is_finished_by_the_next(command, key_file, cleo, tmp_path):
    before = tmp_path / "before.pem"
    shutil.copyfile(key_file, before)
    rotate(command)
    made = key_file.read_bytes()
    # As it was after the book knew, and before the file was exchanged.
    key_file.replace(key_file.with_name("signing_key.pem.next"))
    before.replace(key_file)
    rotate(command)
    assert key_file.read_bytes() == made
    assert len(published(cleo)) == 2


def test_two_exchanges_at_once_leave_the_key_that_the_book_knows(command, stage, key_file, cleo):
    first = key_in(key_file).thumbprint()
    owner = stage.as_owner(autocommit=False)
    with ThreadPoolExecutor(1) as other, owner:  # closing it ends the wait, whatever fails
        owner.execute("SELECT FROM records_signingkey FOR UPDATE")
        ran = other.submit(command, "rotate_signing_key")
        _until(lambda: key_file.with_name("signing_key.pem.next").exists())
        status, words = command("rotate_signing_key")
        owner.rollback()
        assert status == 1
        assert "another run is at work" in words
        assert ran.result()[0] == 0
    assert [key["kid"] for key in published(cleo)] == [first, key_in(key_file).thumbprint()]
    assert sorted(path.name for path in key_file.parent.iterdir()) == ["signing_key.pem"]


def _until(there):
    for _ in range(2_400):
        if there():
            return
        time.sleep(0.05)
    raise AssertionError("it did not come to be")


def test_a_key_that_seals_no_more_is_exchanged_for_nothing(command, key_file, tmp_path, cleo):
    before = tmp_path / "before.pem"
    shutil.copyfile(key_file, before)
    rotate(command)
    before.replace(key_file)
    status, words = command("rotate_signing_key")
    assert status == 1
    assert "exchanged for another already" in words
    assert len(published(cleo)) == 2


@pytest.mark.slow
def test_a_second_key_is_not_registered_beside_the_first(command, key_file, cleo):
    first = key_in(key_file).thumbprint()
    key_file.write_bytes(OKPKey.generate_key("Ed25519").as_pem(private=True))
    status, words = command("register_signing_key")
    assert status == 1
    assert f"there is a key already, {first}" in words
    assert "not registered" in command("rotate_signing_key")[1]
    assert [key["kid"] for key in published(cleo)] == [first]
    status, words = command("register_signing_key", "--last-is-lost")
    assert status == 0, words
    one, two = published(cleo)
    assert (two["kid"], two["endorsed_by"]) == (key_in(key_file).thumbprint(), None)
    assert one["valid_until"] == two["valid_from"]


INSERT = (
    "INSERT INTO records_signingkey (kid, public_jwk, algorithm, valid_from, endorsed_by_id,"
    " endorsement, created_at) SELECT 'another', public_jwk, algorithm, {start}, {by}, {words},"
    " now() FROM records_signingkey ORDER BY valid_from LIMIT 1"
)


@pytest.mark.parametrize(
    ("start", "by", "words"),
    [
        ("now()", "kid", "'of one that is not the last'"),
        ("now() - interval '1 year'", "NULL", "''"),
        ("now()", "NULL", "'by nobody'"),
        ("now()", "(SELECT max(endorsed_by_id) FROM records_signingkey)", "''"),
    ],
)
def test_the_database_takes_no_key_out_of_line(command, stage, start, by, words):
    rotate(command)
    with stage.as_owner() as owner, pytest.raises((errors.CheckViolation, errors.UniqueViolation)):
        owner.execute(INSERT.format(start=start, by=by, words=words))


def test_a_keys_end_is_the_beginning_of_the_next_and_stays(command, stage):
    rotate(command)
    with stage.as_owner() as owner:
        for change in (
            "valid_until = NULL",
            "valid_until = now() + interval '1 year'",
            "public_jwk = public_jwk",
            "valid_from = now()",
        ):
            with pytest.raises(errors.IntegrityConstraintViolation):
                owner.execute(f"UPDATE records_signingkey SET {change}")


def test_times_are_whole_seconds(command, cleo):
    rotate(command)
    for key in published(cleo):
        assert datetime.fromisoformat(key["valid_from"]).microsecond == 0
