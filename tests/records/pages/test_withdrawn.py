"""A withdrawn visit on the pages: who, why, and no word of sealing it."""

import re

from tests.records import visits


def test_a_withdrawn_visit_says_so_where_it_is_shown(page, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    before = page("orla", f"/events/{event['id']}").html
    assert "Withdrawn by" not in before
    assert "Still needed" in before
    why = {"reason": "Entered for the wrong pump set."}
    assert teo.post(f"/events/{event['id']}/withdrawal", why).status == 201
    html = page("orla", f"/events/{event['id']}").html
    assert re.search(
        r"Withdrawn by Teo[^<]* on <time [^>]*><span class=\"one\">[^<]+</span> "
        r"<span class=\"unit\">UTC−0[56]",
        html,
    )
    assert why["reason"] in html
    assert "sealed" not in html.partition("</h1>")[0]
    assert "Still needed" not in html
    station_page = page("orla", f"/stations/{station.site}").html
    assert '<td data-label="State">withdrawn</td>' in station_page
