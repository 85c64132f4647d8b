"""Figures on the pages of a visit and of a record: drawn, in words, and as a table."""

import re

from records.selectors import plotted
from tests.records import visits
from tests.records.selectors.test_plotted import corrected, traced

WORDS = re.compile(r'<svg [^>]*role="img" aria-label="([^"]*)"')


def figures(seen) -> list[str]:
    """What a screen reader says of each."""
    return WORDS.findall(seen.html)


def test_a_visit_shows_pump_sensors_and_what_a_step_lacks(page, teo, station):
    seen = page("teo", f"/events/{visits.post(teo, station)['id']}")
    pump, *sensors = figures(seen)
    assert pump.startswith("Head over flow. Minimum speed")
    assert [words[:24] for words in sensors] == ["Error over applied value"] * 2
    assert "Not drawn: trace (it needs step test 1, trace)." in seen.words
    assert seen.faults == []


def test_a_record_shows_its_step_to_contractor_and_client(page, teo, orla, station):
    record, _ = traced(teo, orla, station)
    for name in ("teo", "cleo"):
        seen = page(name, f"/records/{record['id']}")
        [step] = [words for words in figures(seen) if words.startswith("Discharge pressure over")]
        assert "The step was made at 10 s." in step
        assert "240 samples, all drawn." in seen.words
        assert seen.faults == []


def test_a_long_trace_is_drawn_when_that_is_asked(page, teo, orla, station, monkeypatch):
    monkeypatch.setattr(plotted, "LARGEST_ON_A_PAGE", 239)
    record, _ = traced(teo, orla, station)
    for name, path in (("cleo", f"/records/{record['id']}"), ("teo", f"/events/{record['event']}")):
        seen = page(name, path)
        assert "done up to 239 rows, and this trace has 240" in seen.words
        [whole] = seen.to("Draw it")
        assert "240 samples, all drawn." in page(name, path + whole).words
        assert page(name, path + whole).to("Draw it") == []


def test_every_figure_has_its_values_as_a_table(page, teo, station):
    seen = page("teo", f"/events/{visits.post(teo, station)['id']}")
    assert seen.html.count("<summary>The same as a table</summary>") == len(figures(seen)) == 3
    # At no flow the motor has 0.389 of its torque at 1790 rpm and slips 9.7 rpm of its 25. Shut-off
    # head of the ordinary pump at 60 Hz: 260 ft at 1770 rpm, times (1790.3 / 1770)^2.
    line = r"Rated and maximum speed \(60.Hz, 1790.rpm at no flow\) 0 266"
    assert re.search(line, seen.words)


def test_nothing_in_a_figure_is_refused_by_the_policy_of_the_pages(page, teo, station):
    seen = page("teo", f"/events/{visits.post(teo, station)['id']}")
    assert "unsafe" not in seen.headers["Content-Security-Policy"]
    for drawn in re.findall(r"<svg.*?</svg>", seen.html, re.DOTALL):
        assert not re.search(r"\bstyle=|<style|\bon\w+=|href=", drawn)


def test_visits_that_stand_are_set_beside_each_other(page, teo, orla, station):
    visits.sealed(teo, orla, station)
    wrong = visits.sealed(teo, orla, station)
    third = corrected(teo, orla, station, wrong)
    record = page("cleo", f"/records/{third['id']}")
    assert rows(record) == ["1", "3"]
    later = {"performed_at": "2026-07-01T09:00:00-05:00", "performed_until": None}
    draft = page("teo", f"/events/{visits.post(teo, station, **later)['id']}")
    assert rows(draft) == ["1", "3", "this visit"]
    first = {"performed_at": "2025-07-01T09:00:00-05:00", "performed_until": None}
    assert rows(page("teo", f"/events/{visits.post(teo, station, **first)['id']}")) == []


def rows(seen) -> list[str]:
    """Numbers of the records in the table under the figure, in order."""
    found = re.findall(r"(\d+|this visit) \d{4}-\d\d-\d\d Design point", seen.words)
    return list(dict.fromkeys(found))
