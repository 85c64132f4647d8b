"""Bugs in what is taken from whoever sends: documents, files, traces, times."""

from tests.planted_bugs.bugs import Bug

SENT_BUGS = (
    Bug(
        "What a database cannot keep is told with its place",
        "records/api/json_bodies.py",
        "    if _ESCAPED.search(body):\n        _refuse_unstorable(document)\n",
        "",
        ("records/api/test_problems.py::test_what_cannot_be_kept_is_told_with_its_place",),
    ),
    Bug(
        "NaN is no number",
        "records/api/json_bodies.py",
        "            parse_constant=_refuse_constant,\n",
        "",
        ("records/api/test_problems.py::test_what_is_no_document_is_refused",),
    ),
    Bug(
        "However deep, a document is answered",
        "records/api/json_bodies.py",
        "    except RecursionError:\n",
        "    except ZeroDivisionError:\n",
        ("records/api/test_problems.py::test_what_is_no_document_is_refused",),
    ),
    Bug(
        "Every error of the API is a problem document",
        "records/api/problems.py",
        "    if isinstance(error, exceptions.APIException):\n        return _of_framework(error)\n",
        "",
        ("records/api/test_problems.py::test_a_method_that_is_not_there_names_those_that_are",),
    ),
    Bug(
        "One byte more than the limit is too large",
        "records/api/json_bodies.py",
        "    if len(body) > LARGEST_BODY:\n",
        "    if len(body) > LARGEST_BODY + 1:\n",
        ("records/api/test_problems.py::test_one_byte_more_than_the_limit_is_too_large",),
    ),
    Bug(
        "A bomb of pixels is refused",
        "records/services/pictures.py",
        "                _refuse_large(picture)\n",
        "",
        ("records/api/test_attachments.py::test_a_bomb_of_pixels_is_refused",),
    ),
    Bug(
        "A bomb in an archive is refused before it is unpacked",
        "records/verifier/zips.py",
        "info.file_size > MOST and info.file_size > 300 * info.compress_size",
        "False",
        ("records/verifier/test_bundles.py::test_a_bomb_is_refused",),
    ),
    Bug(
        "A page behind a picture is gone",
        "records/services/attachments.py",
        "return redrawn, pictures.redraw(sent, redrawn)",
        "return sent, pictures.redraw(sent, redrawn)",
        ("records/api/test_attachments.py::test_a_page_hidden_behind_a_picture_is_gone",),
    ),
    Bug(
        "Markup is no text",
        "records/services/attachments.py",
        ' or text.lstrip("\\ufeff \\t\\r\\n").startswith("<")',
        "",
        ("records/api/test_attachments.py::test_what_is_no_picture_document_or_text_is_refused",),
    ),
    Bug(
        "A download is saved and never shown",
        "records/api/downloads.py",
        "        as_attachment=True,\n        filename=saved_as",
        "        as_attachment=False,\n        filename=saved_as",
        ("records/api/test_attachments.py::test_a_download_is_saved_and_never_shown",),
    ),
    Bug(
        "A name decides nothing of where a file is kept",
        "records/services/event_files.py",
        "    if _CONTROLS.search(given):\n",
        "    if False:\n",
        ("records/api/test_attachments.py::test_what_is_said_beside_the_bytes_is_checked",),
    ),
    Bug(
        "An upload that broke off goes on where it stopped",
        "records/services/uploads.py",
        "    grown = rows.filter(received=offset, completed_at=None, parts__lt=MOST_PARTS).update(",
        "    grown = rows.filter(completed_at=None, parts__lt=MOST_PARTS).update(",
        ("faults/test_broken_uploads.py::test_of_two_that_append_at_once_one_goes_on",),
    ),
    Bug(
        "A file is what was announced",
        "records/services/uploads.py",
        "        event_files.refuse_other_bytes(bytes(upload.sha256).hex(), _digest(upload))\n",
        "",
        ("records/api/test_uploads_refused.py::test_other_bytes_than_announced_make_no_file",),
    ),
    Bug(
        "A trace comes back as it was sent",
        "records/services/trace_text.py",
        '    return "?" if isinstance(value, (bool, dict, list)) else str(value)\n',
        '    return "?" if isinstance(value, (bool, dict, list)) else f"{value:.6g}"\n',
        ("records/services/test_trace_text.py::test_a_million_values_come_back_equal",),
    ),
    Bug(
        "A device's clock may be a day off, and is kept",
        "records/services/event_checks.py",
        '        ("device_time", DEVICE_TOLERANCE),\n',
        '        ("device_time", CLOCK_TOLERANCE),\n',
        (
            "records/api/test_event_checks.py::"
            "test_clocks_differ_by_some_minutes_and_a_devices_by_a_day",
        ),
    ),
)
