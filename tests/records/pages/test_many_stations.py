"""The page of all stations asks the same for 50 as for 5,000."""

import os

import psycopg
import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from psycopg.conninfo import make_conninfo

from records import permissions
from records.services import kept_due_dates
from tests import database
from tests.records import many_stations, visits
from tests.records.client import Api, leave
from tests.records.sessions import sign_in

pytestmark = [pytest.mark.slow, pytest.mark.commits]
MOST_QUERIES = 10


@pytest.fixture
def many(stage, cast, as_owner, signing_key, database_name):
    """`many(range(1, 50))`: so many stations more, one of which has a history."""
    station = stage.station()
    visits.sealed(Api(cast.teo), Api(cast.orla), station)
    admin = psycopg.connect(
        make_conninfo(os.environ[database.ADMIN], dbname=database_name), autocommit=True
    )

    def make(numbers):
        many_stations.copy(admin, station.site, numbers)
        leave()
        while kept_due_dates.keep_waiting():
            pass

    with admin:
        yield make
    stage.clear()


def asked(client, path):
    """How much is asked of the database, the place taken included."""
    leave()
    with CaptureQueriesContext(connection) as captured:
        answer = client.get(path)
    assert answer.status_code == 200
    return sum(each["sql"].split()[0] in ("SELECT", "WITH") for each in captured)


PATHS = ("/", "/?show=overdue&sort=due", "/?q=B-01-3&sort=code")


def test_the_same_number_of_questions_however_many_stations(cast, many):
    client = Client()
    sign_in(client, cast.orla)
    many(range(1, 50))
    few = {path: asked(client, path) for path in PATHS}
    assert max(few.values()) <= MOST_QUERIES
    many(range(50, 5_000))
    assert {path: asked(client, path) for path in PATHS} == few


def test_an_index_helps_to_look_for_a_tag_behind_the_wall(cast, many):
    """A policy forbids it to operators that could leak; the one that is used here may be."""
    many(range(1, 500))
    text = (
        "EXPLAIN SELECT FROM records_piecestanding p WHERE p.{0} = %s AND p.known_until IS NULL"
        " AND (starts_with(p.tag, 'X') OR starts_with(p.serial, 'X'))"
    )
    for person, column in ((cast.orla, "contractor"), (cast.cleo, "client")):
        with transaction.atomic(), connection.cursor() as cursor:
            permissions.enter(
                permissions.Actor(person.id, "", person.organization, "", person.role, frozenset())
            )
            cursor.execute(text.format(f"{column}_id"), [person.organization])
            plan = "\n".join(line for (line,) in cursor)
        assert f"on tags_of_{column}" in plan, plan
        assert f"on serials_of_{column}" in plan, plan
