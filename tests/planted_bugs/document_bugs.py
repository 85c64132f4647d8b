"""Bugs in what a record is handed over as."""

from tests.planted_bugs.bugs import Bug

_WRITING = "records/documents/workbook/writing.py"

DOCUMENT_BUGS = (
    Bug(
        "The same record makes the same bytes",
        _WRITING,
        '"created": about.at,',
        "",
        (
            "records/documents/test_workbook.py::"
            "test_the_same_record_makes_the_same_bytes_dated_by_the_record",
        ),
    ),
    Bug(
        "No text is a formula in a CSV",
        "records/documents/readings_csv.py",
        '    return _GUARDED.sub(r"\\1\'", text)\n',
        "    return text\n",
        (
            "records/documents/test_readings_csv.py::"
            "test_a_text_that_looks_like_a_formula_is_guarded_and_comes_back",
        ),
    ),
    Bug(
        "No text is a formula in a workbook",
        _WRITING,
        "            page.write_string(row, column, text, style)\n",
        "            page.write(row, column, text, style)\n",
        (
            "records/documents/test_workbook.py::test_a_text_that_looks_like_a_formula_stays_a_text",
            "records/documents/test_workbook.py::"
            "test_no_text_of_a_record_becomes_a_formula_a_link_or_another_text",
        ),
    ),
    Bug(
        "The same figures stand in every format",
        _WRITING,
        "            page.write_number(row, column, float(digits), self._number(shape))\n",
        "            page.write_number(row, column, round(float(digits)), self._number(shape))\n",
        ("records/documents/test_tables_agree.py::test_the_last_sheet_has_what_the_csv_has",),
    ),
)
