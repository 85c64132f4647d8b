"""Since which day somebody looks after a station: by the clock there.

The two zones are 26 hours apart: at any moment it is another day in one than in the other. Midnight
may pass there while a test runs: so each day is held between the one before and the one after.
"""

from datetime import UTC, datetime, timedelta

import pytest

from records.models import Appointment
from tests.records import stations
from tests.records.client import Api, leave

EASTERNMOST, WESTERNMOST = ("Pacific/Kiritimati", 14), ("Etc/GMT+12", -12)
BY = ("--by", "Ines of the operator", "--reason", "The client's letter of 3 November.")


def day(hours):
    return (datetime.now(UTC) + timedelta(hours=hours)).date()


def days_of(person, site):
    """Of a station's appointments, the newest first."""
    person.get("/me")  # takes their place
    found = Appointment.objects.filter(site__id=site).order_by("-id")
    return list(found.values_list("from_day", "until_day"))


@pytest.mark.parametrize(("zone", "hours"), [EASTERNMOST, WESTERNMOST])
def test_a_station_is_looked_after_from_the_day_there(orla, cast, zone, hours):
    before = day(hours)
    made = stations.register(orla, cast.client, code="Z-1", time_zone=zone)
    [(begun, ended)] = days_of(orla, made.site)
    assert ended is None
    assert before <= begun <= day(hours)


@pytest.mark.slow
@pytest.mark.parametrize(("zone", "hours"), [EASTERNMOST, WESTERNMOST])
def test_another_contractor_begins_on_the_day_there(stage, cleared_afterwards, zone, hours):
    code, before = f"Z-{hours}", day(hours)
    site, cast = stage.keep(
        code,
        lambda cast: (
            stations.register(Api(cast.orla), cast.client, code=code, time_zone=zone).site,
            cast,
        ),
    )
    words = ("--client", str(cast.client), "--code", code, "--contractor",
             str(cast.other_contractor))  # fmt: skip
    status, said = stage.command("appoint", *words, *BY)
    assert status == 0, said
    with stage.as_owner() as owner:
        found = owner.execute(
            "SELECT a.from_day, a.until_day FROM records_appointment a"
            " JOIN records_site s ON s.row = a.site_id WHERE s.id = %s ORDER BY a.id",
            [site],
        ).fetchall()
    leave()
    [(begun, ended), (begun_next, ended_next)] = found
    assert ended == begun_next
    assert ended_next is None
    assert before <= begun <= begun_next <= day(hours)
