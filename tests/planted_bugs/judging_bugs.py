"""Bugs in what is judged from visit to visit, and what was not possible."""

from tests.planted_bugs.bugs import Bug

JUDGING_BUGS = (
    Bug(
        "What was not possible of one sensor excuses no other",
        "calculations/aspects/excuses.py",
        "    return of_kind or (len(lacking) == 1 and value in tasks)\n",
        "    return of_kind or value in tasks\n",
        (
            "calculations/rules/test_excused_content.py::"
            "test_a_task_excuses_what_it_names_and_no_more",
        ),
    ),
    Bug(
        "A change within what the readings explain is not told as one",
        "calculations/courses/course.py",
        "abs(self.change) <= self.noise",
        "abs(self.change) < 0",
        (
            "calculations/courses/test_pump_sets.py::test_the_same_readings_again_are_noise",
            "calculations/courses/test_pump_sets.py::test_head_beyond_and_within_the_noise",
        ),
    ),
    Bug(
        "A record that was corrected is not counted twice in trends",
        "records/selectors/trends.py",
        "rows.filter(site=row.site_id, corrections=None)",
        "rows.filter(site=row.site_id)",
        ("records/selectors/test_trends.py::test_a_corrected_record_does_not_count_twice",),
    ),
    Bug(
        "A pump that has worn since its first record is told so at the next visit",
        "calculations/aspects/history.py",
        "        return self.change < 0 and self.differs(limit)\n",
        "        return False\n",
        (
            "calculations/rules/test_changes.py::"
            "test_a_worn_pump_is_told_as_fallen_not_as_off_its_curve",
        ),
    ),
)
