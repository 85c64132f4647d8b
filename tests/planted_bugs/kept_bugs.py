"""Bugs in what is kept: seals, their keys, books that are taken in."""

from tests.planted_bugs.bugs import Bug

KEPT_BUGS = (
    Bug(
        "What was found and sealed is rewritten by nobody",
        "records/migrations/0002_guards.py",
        '("records_record", "records_answer",',
        '("records_record",',
        ("records/services/test_kept.py::test_what_is_sealed_is_changed_by_nobody",),
    ),
    Bug(
        "A changed byte is named",
        "records/verifier/sealed.py",
        '    if sealed_text != seal.get("digest"):\n',
        "    if False:\n",
        (
            "records/verifier/test_records.py::test_a_changed_text_is_told_with_its_digest_and_its_number",
        ),
    ),
    Bug(
        "A book brings nothing that could not be entered",
        "records/services/taking_in.py",
        "        book_inputs.refuse(self.staging)\n",
        "",
        ("records/books/test_not_entered.py::test_what_could_not_be_entered_is_refused",),
    ),
    Bug(
        "A book brings no time that nobody could read",
        "records/services/book_inputs.py",
        "    _refuse_times(staging)\n",
        "",
        ("records/books/test_refused.py::test_a_forged_book_is_refused",),
    ),
    Bug(
        "A book brings no JSON of another shape",
        "records/services/book_inputs.py",
        "        _refuse_first(table.name, _of_shape(staging, table))\n",
        "        pass\n",
        ("records/books/test_not_entered.py::test_what_could_not_be_entered_is_refused",),
    ),
    Bug(
        "What is told of a trace that comes in is what its file holds",
        "records/services/book_inputs.py",
        '    _refuse_first("traces", book_drafts.of_traces(staging))\n',
        "",
        ("records/books/test_not_entered.py::test_what_could_not_be_entered_is_refused",),
    ),
    Bug(
        "No judgement of a file is believed",
        "records/services/taking_in.py",
        "        book_drafts.judge(self.staging)\n",
        "",
        (
            "records/books/test_judged_here.py::"
            "test_what_is_found_is_the_same_whatever_the_file_says",
        ),
    ),
    Bug(
        "What nobody here has accepted is open",
        "records/services/taking_in.py",
        """"s.accepted AND of_event_id.state <> 'draft'\"""",
        '"s.accepted"',
        ("records/books/test_not_entered.py::test_nobody_here_has_accepted_what_a_draft_brings",),
    ),
    Bug(
        "History that was rewritten fails against a head from before",
        "records/verifier/book.py",
        "            same = of_site[number].digest == head.digest\n",
        "            same = True\n",
        ("records/verifier/test_heads.py::test_rewritten_history_fails_against_a_kept_head",),
    ),
    Bug(
        "Old seals pass after keys were exchanged",
        "records/verifier/keys.py",
        ", first, last, by)",
        ", last or first, last, by)",
        ("records/verifier/test_keys.py::test_old_seals_pass_after_three_exchanges",),
    ),
)
