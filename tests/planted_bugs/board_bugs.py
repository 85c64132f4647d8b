"""Bugs in what the office sees of all its stations."""

from tests.planted_bugs.bugs import Bug

BOARD_BUGS = (
    Bug(
        "Due dates that are kept for the stations page hold until something changes, no longer",
        "records/selectors/due_dates.py",
        "AND NOT EXISTS (SELECT FROM records_duemark d WHERE d.site_id = m.site_id)\n",
        "",
        ("records/selectors/test_board.py::test_what_changes_the_dates_is_seen_at_once",),
    ),
)
