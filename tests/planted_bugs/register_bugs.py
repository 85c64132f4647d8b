"""Bugs in what comes into the register by hand and by spreadsheet."""

from tests.planted_bugs.bugs import Bug

REGISTER_BUGS = (
    # -- a spreadsheet that comes in -------------------------------------------------------------
    Bug(
        "What another changed after the preview is not written over",
        "records/services/importing/imports.py",
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
        "A form changes what its person changed and nothing else",
        "records/pages/registering.py",
        """on.request.POST.get("shown") != str(on.row.revision)""",
        """on.request.POST.get("shown") == "never\"""",
        (
            "records/pages/test_registering.py::"
            "test_what_another_changed_meanwhile_is_told_and_neither_is_lost",
        ),
    ),
)
