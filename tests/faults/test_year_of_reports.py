"""Each report comes about once while real processes are killed; the short run.

In full, for each broker: `python -m tests.faults.year_of_reports --broker valkey`.
"""

from datetime import date

import pytest

from tests.faults import year_of_reports

pytestmark = [pytest.mark.slow, pytest.mark.fault]

NOTHING = dict.fromkeys(year_of_reports.WRONG, 0)


@pytest.mark.parametrize("broker", year_of_reports.BROKERS)
def test_each_report_comes_about_once(broker):
    found = year_of_reports.run(33, 5, broker=broker)
    assert set(found["kills"]) == set(year_of_reports.KINDS)
    assert found["reports"] == 6  # January; weeks that end from 5 January to 2 February
    assert {name: found[name] for name in NOTHING} == NOTHING
    assert found["mails"] >= 12
    assert found["items"] > 0  # they tell of something


def test_relays_that_count_before_they_ask_are_found_out():
    found = year_of_reports.run(26, 2, careless=True, kinds=year_of_reports.CARELESS)
    assert found["missing"] > 0


def test_periods_are_those_of_a_calendar():
    assert year_of_reports.periods(12) == {
        ("week", date(2024, 12, 30)), ("week", date(2025, 1, 6)),
    }  # fmt: skip
    assert len(year_of_reports.periods(365)) == 12 + 52
