"""What whoever watches the service is told of a book and of its callers."""

import re

from django.test import Client

from deploy import numbers
from records.models import RecordDocument
from tests.deploy.test_watching import nothing_remembered, told  # noqa: F401
from tests.records import visits


def test_requests_are_counted_by_route_and_never_by_address(settings, teo, station):
    name = (
        'stationbook_request_seconds_count{method="GET",route="api/v1/sites/<str:id>",status="%s"}'
    )
    before = told(settings)
    teo.get(f"/sites/{station.site}")
    for number in range(50):
        teo.get(f"/sites/{number}")
        Client().get(f"/nowhere/{number}")
    after = told(settings)
    assert after[name % "2xx"] - before.get(name % "2xx", 0) == 1
    assert after[name % "4xx"] - before.get(name % "4xx", 0) == 50
    new = {key for key in after.keys() - before.keys() if key.startswith("stationbook_request")}
    assert len({re.search('route="([^"]*)"', key)[1] for key in new}) <= 2
    assert not [key for key in after if station.site in key]


def test_what_waits_is_told_with_its_age(settings, teo, orla, station, cast):
    assert told(settings)["stationbook_documents_waiting"] == 0
    visits.sealed(teo, orla, station)
    numbers.waiting._until = 0.0
    found = told(settings)
    assert found["stationbook_documents_waiting"] == RecordDocument.objects.count() == 1
    assert 0 <= found["stationbook_documents_oldest_seconds"] < 60
    due = {key: n for key, n in found.items() if key.startswith("stationbook_due_items")}
    assert len(due) == 4
