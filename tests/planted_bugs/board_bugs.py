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
    Bug(
        "A due date has the last day of a shorter month, whatever the year",
        "calculations/due_dates.py",
        "    return date(year, month + 1, min(day.day, last))\n",
        "    return date(year, month + 1, min(day.day, 28))\n",
        ("calculations/test_due_dates.py::test_reference_table",),
    ),
    Bug(
        "The stations of an area of the map are found",
        "records/selectors/board_sql.py",
        "latitude::float BETWEEN",
        "latitude BETWEEN",
        ("records/selectors/test_board.py::test_an_area_holds_the_stations_in_it",),
    ),
)
