"""What reports and calendars promise, with a bug for each."""

from tests.planted_bugs.bugs import Bug

REPORT_BUGS = (
    Bug(
        "Each period that is over has one report, however often it is looked",
        "records/services/reports.py",
        "        row.next_begins = periods.following(row.next_begins, row.period)\n",
        "        row.next_begins = periods.following(row.due_at.date(), row.period)\n",
        ("records/services/test_reports.py::test_each_period_that_is_over_is_asked_for_once",),
    ),
    Bug(
        "No period is lost when a schedule takes the place of another",
        "records/services/report_schedules.py",
        "        begins = _left_by(before, now)\n",
        "        begins = periods.begin(now.astimezone(zone).date(), wanted.period)\n"
        "        begins = periods.following(begins, wanted.period)\n",
        ("records/services/test_reports.py::test_a_period_is_lost_by_no_change_of_the_schedule",),
    ),
    Bug(
        "A report of a past day says what it said then",
        "records/selectors/reported.py",
        "   AND told.at > %(since)s AND told.at <= %(until)s\n",
        "   AND told.at > %(since)s\n",
        ("records/services/test_reports.py::test_by_hand_a_past_day_says_what_it_said_then",),
    ),
    Bug(
        "A mail that is sent again is the same message",
        "records/services/report_mails.py",
        'f"<report-{report.id}@stationbook.invalid>"',
        'f"<report-{report.id}-{timezone.now().timestamp()}@stationbook.invalid>"',
        (
            "records/services/test_report_mails.py::"
            "test_died_between_it_is_sent_again_as_the_same_message",
        ),
    ),
    Bug(
        "A mail that was not taken is owed on",
        "records/services/report_mails.py",
        "        if refusal:\n",
        "        if False:\n",
        (
            "records/services/test_report_mails.py::"
            "test_a_server_that_is_away_is_told_and_tried_again",
        ),
    ),
    Bug(
        "A revoked calendar is gone with the next request",
        "records/migrations/0017_reports_are_asked_for.py",
        "   WHERE c.digest = given AND c.revoked_at IS NULL\n",
        "   WHERE c.digest = given\n",
        ("records/pages/test_calendars.py::test_revoked_it_is_gone_with_the_next_request",),
    ),
    Bug(
        "A report is of nobody else's client",
        "records/services/in_force.py",
        "    if pairs.exists():\n        return []\n",
        "    return []\n",
        ("records/test_foreign_references.py::test_nothing_is_set_or_made_for_anybody_else",),
    ),
)
