"""A withdrawn visit on the pages: who, why, and no word of sealing it."""

import re

from tests.records import visits
from tests.records.pages.test_tokens import Browser


def test_a_withdrawn_visit_says_so_where_it_is_shown(api, cast, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    browser = Browser(cast.orla)
    before = browser.get(f"/events/{event['id']}").content.decode()
    assert "withdrawn" not in before
    assert "Still needed" in before
    why = {"reason": "Entered for the wrong pump set."}
    assert teo.post(f"/events/{event['id']}/withdrawal", why).status == 201
    page = browser.get(f"/events/{event['id']}").content.decode()
    assert re.search(
        r"Withdrawn by Teo[^<]* on <time [^>]*>[^<]*<span class=\"unit\">UTC−0[56]", page
    )
    assert why["reason"] in page
    assert "sealed" not in page.partition("</h1>")[0]
    assert "Still needed" not in page
    station_page = browser.get(f"/stations/{station.site}").content.decode()
    assert '<td data-label="State">withdrawn</td>' in station_page
