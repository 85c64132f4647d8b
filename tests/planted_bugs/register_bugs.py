"""Bugs in what comes into the register by hand and by spreadsheet."""

from tests.planted_bugs.bugs import Bug

REGISTER_BUGS = (
    # -- a spreadsheet that comes in -------------------------------------------------------------
    Bug(
        "What another changed after the preview is not written over",
        "records/services/importing/writing.py",
        "line.document, revision)",
        "line.document, register.get(actor, kind, subject).revision)",
        (
            "records/pages/test_imports.py::"
            "test_what_another_changed_meanwhile_is_told_and_nothing_is_written",
        ),
    ),
    Bug(
        "The same spreadsheet again changes nothing",
        "records/services/importing/rows.py",
        """held["unit"] == given["unit"]) and _equal(held["value"], given["value"])""",
        """held == given)""",
        (
            "records/pages/test_imports.py::"
            "test_digits_that_were_entered_are_not_written_over_by_those_of_a_spreadsheet",
        ),
    ),
    Bug(
        "What a row says nothing of stays, in a rating as well",
        "records/services/importing/rows.py",
        """if name in _ONE_BY_ONE and known:""",
        """if name in () and known:""",
        (
            "records/pages/test_imports.py::"
            "test_what_a_row_says_nothing_of_stays_in_a_rating_as_well",
        ),
    ),
    Bug(
        "An import that kills who works on it is given up",
        "records/services/importing/imports.py",
        """if attempts < _ATTEMPTS:""",
        """if attempts < 1000:""",
        (
            "records/pages/test_imports_under_way.py::test_an_import_whose_attempts_are_killed_is_given_up",
        ),
    ),
    Bug(
        "What is imported is the deed of who had it written",
        "records/services/importing/imports.py",
        """Coalesce("asked_by_id", "created_by_id")""",
        """Coalesce("created_by_id", "asked_by_id")""",
        (
            "records/pages/test_imports.py::"
            "test_what_somebody_else_had_written_is_that_persons_deed",
        ),
    ),
    Bug(
        "A bomb in a workbook is refused before it is unpacked",
        "records/services/importing/workbooks.py",
        "        _look_at_member(member)\n",
        "        pass\n",
        ("records/services/test_spreadsheets.py::test_a_bomb_is_refused_before_it_is_unpacked",),
    ),
    Bug(
        "A form changes what its person changed and nothing else",
        "records/pages/registering.py",
        """on.request.POST.get("shown") != str(on.row.revision)""",
        """on.request.POST.get("shown") == "never\"""",
        (
            "records/pages/test_registering.py::"
            "test_what_another_changed_meanwhile_is_told_and_neither_is_lost",
        ),
    ),
    Bug(
        "What was stopped is not written",
        "records/services/importing/imports.py",
        "rows(actor).filter(row=of.row, state=of.state, changed_at=of.changed_at)",
        "rows(actor).filter(row=of.row)",
        ("records/services/test_imports_stopped.py::test_a_stop_before_the_last_step_is_in_time",),
    ),
)
