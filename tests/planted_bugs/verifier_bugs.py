"""Bugs in what the program checks that is handed out."""

from tests.planted_bugs.bugs import Bug

_PDFS = "records/verifier/test_pdf_forgeries.py::"
_PLACES = "records/verifier/test_zip_places.py::"

VERIFIER_BUGS = (
    Bug(
        "A PDF shows no other file than the one that is checked",
        "records/verifier/pdf_objects.py",
        "words[2::3]])) - objects:",
        "words[2::3]])) - objects and False:",
        (_PDFS + "test_no_other_file_can_be_shown_than_the_one_that_is_checked",),
    ),
    Bug(
        "A PDF has one table of its objects",
        "records/verifier/pdfs.py",
        "|XRef|XRefStm|",
        "|XRef|",
        (_PDFS + "test_what_readers_may_take_in_two_ways_is_refused",),
    ),
    Bug(
        "A name in a PDF ends for every reader at the same place",
        "records/verifier/pdfs.py",
        '_SIGNS = rb"2[0-9A-Fa-f]',
        '_SIGNS = rb"[0-2][0-9A-Fa-f]',
        (_PDFS + "test_what_readers_may_take_in_two_ways_is_refused",),
    ),
    Bug(
        "No program that unpacks a bundle finds another file than the one that is checked",
        "records/verifier/bundles.py",
        "            for name, words in found_otherwise(file, self.zip):\n",
        "            for name, words in ():\n",
        (
            _PLACES + "test_what_another_program_finds_otherwise_is_told",
            _PLACES + "test_names_that_are_another_elsewhere_are_told",
        ),
    ),
)
