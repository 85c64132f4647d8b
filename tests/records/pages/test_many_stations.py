"""The page of all stations asks and costs the same for 50 as for 5,000."""

import os
import time

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
LONGEST = 0.12  # s, for the first answer


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
    """What is asked of the database, the place taken included, and how long."""
    leave()
    with CaptureQueriesContext(connection) as captured:
        started = time.perf_counter()
        answer = client.get(path)
        took = time.perf_counter() - started
    assert answer.status_code == 200
    told = [each["sql"] for each in captured]
    return [sql for sql in told if sql.split()[0] in ("SELECT", "WITH")], took


PATHS = ("/", "/?show=overdue&sort=due", "/?q=B-01-3&sort=code")


def test_the_same_number_of_questions_and_the_answer_in_time(cast, many):
    client = Client()
    sign_in(client, cast.orla)
    many(range(1, 50))
    few = {path: len(asked(client, path)[0]) for path in PATHS}
    assert max(few.values()) <= MOST_QUERIES
    many(range(50, 5_000))
    for path in PATHS:
        runs = [asked(client, path) for _ in range(5)]
        assert {len(queries) for queries, _ in runs} == {few[path]}
        took = min(each for _, each in runs)  # others may use the machine as well
        assert took <= LONGEST, path


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
