"""Bugs in what a record is handed over as."""

from tests.planted_bugs.bugs import Bug

_WRITING = "records/documents/workbook/writing.py"

DOCUMENT_BUGS = (
    Bug(
        "No text is a formula in a workbook",
        _WRITING,
        "            page.write_string(row, column, text, style)\n",
        "            page.write(row, column, text, style)\n",
        ("records/documents/test_workbook.py::test_a_text_that_looks_like_a_formula_stays_a_text",),
    ),
    Bug(
        "The same figures stand in every format",
        _WRITING,
        "            page.write_number(row, column, float(digits), self._number(shape))\n",
        "            page.write_number(row, column, round(float(digits)), self._number(shape))\n",
        ("records/documents/test_tables_agree.py::test_the_last_sheet_has_what_the_csv_has",),
    ),
)
