"""What the field sheet promises, with a bug for each."""

from tests.planted_bugs.bugs import Bug

FIELD_BUGS = (
    Bug(
        "Silence on the device is no approval: what it lacks is told as waiting",
        "calculations/offline.py",
        '"waiting": [_told(each) for each in waiting]',
        '"waiting": []',
        ("calculations/test_offline.py::test_rows_of_a_trace_wait_for_signal",),
    ),
    Bug(
        "What cannot be taken is told on the device, and the rest is judged",
        "calculations/offline.py",
        "            refused += own\n",
        "",
        (
            "calculations/test_offline.py"
            "::test_a_value_that_cannot_be_taken_is_told_and_the_rest_is_judged",
        ),
    ),
    Bug(
        "The device judges by its client's limits",
        "calculations/offline.py",
        "judging.judge(subject, limits)",
        "judging.judge(subject)",
        ("calculations/test_offline.py::test_the_limits_of_the_client_hold_here_too",),
    ),
    Bug(
        "The device judges neighbours as they were left",
        "calculations/offline.py",
        '        "settings": left["as_left"],\n',
        "",
        ("calculations/test_offline.py::test_neighbours_come_along_as_they_were_left",),
    ),
)
