"""The pages of what moved since the first record: first line, sentences, figure, table."""

import re

from tests.records import visits
from tests.records.selectors.test_trends import at, lower


def test_a_pump_set_in_words_drawn_and_as_a_table(page, teo, orla, station):
    visits.sealed(teo, orla, station, **at(2023))
    visits.sealed(teo, orla, station, **at(2025), **lower(station))
    for name in ("teo", "cleo"):
        seen = page(name, f"/pump-sets/{station.pump_set}/trends")
        assert "PS-101 since its first record 2023-03-14" in seen.words
        assert "Beyond what the readings explain: head 4.6 % lower;" in seen.words
        assert "so this is more than noise" in seen.words
        assert re.search(r'role="img" aria-label="Head \(pump K71-0042\) on 2025', seen.html)
        assert re.search(r"2 2025-03-14 119\.8 119\.8 −4\.6 2\.2 lower", seen.words)
        assert seen.faults == []


def test_a_transmitter(page, teo, orla, station):
    for year in (2023, 2024):
        visits.sealed(teo, orla, station, **at(year))
    seen = page("cleo", f"/sensors/{station.ids['PT-101']}/trends")
    assert "Nothing moved by more than the readings explain." in seen.words
    assert "found +0.12 % of span, tolerance ±0.5 % of span" in seen.words
    assert seen.faults == []


def test_a_station_leads_to_them(page, teo, orla, station):
    assert "/trends" not in page("teo", f"/stations/{station.site}").html
    visits.sealed(teo, orla, station)
    seen = page("cleo", f"/stations/{station.site}")
    for path in (f"/pump-sets/{station.pump_set}", f"/sensors/{station.ids['PT-101']}"):
        assert f'href="{path}/trends"' in seen.html


def test_without_records_it_says_so(page, station):
    seen = page("orla", f"/pump-sets/{station.pump_set}/trends")
    assert "PS-101: no record to compare yet" in seen.words
    assert "<svg" not in seen.html
    assert seen.faults == []
