"""What the service promises, and for each promise a bug and the tests that have to notice it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bug:
    """A change of the code that breaks a promise."""

    promise: str
    file: str
    """Under the project."""
    code: str
    """As it stands, once in the file."""
    instead: str
    tests: tuple[str, ...]
    """Under tests/; each of them fails with the bug in place."""


EVENTS = "records/services/events.py"
GUARDS = "records/migrations/0002_guards.py"

BUGS = (
    # -- once, whole, in order -------------------------------------------------------------------
    Bug(
        "A database that is away is told as 503 with Retry-After",
        "records/api/problems.py",
        "isinstance(error, (OperationalError, InterfaceError))",
        "isinstance(error, InterfaceError)",
        ("records/api/test_events.py::test_what_writes_and_then_fails_leaves_nothing",),
    ),
    Bug(
        "What writes and then fails leaves nothing",
        "records/api/problems.py",
        "        set_rollback()\n",
        "        pass\n",
        ("records/api/test_tokens.py::test_a_token_that_cannot_be_audited_is_not_made",),
    ),
    Bug(
        "One event from many phones is one row",
        EVENTS,
        'existing = _own(actor, UUID(document["id"])).first()',
        "existing = Event.objects.none().first()",
        ("records/services/test_concurrency.py::test_the_same_event_from_many_phones_is_one",),
    ),
    Bug(
        "The same id with other content is refused, and the first stays",
        EVENTS,
        "    if bytes(existing.created_digest) != digest:\n        raise SameIdOtherContent()\n",
        "",
        (
            "records/services/test_concurrency.py::"
            "test_of_the_same_id_with_other_content_one_is_kept",
        ),
    ),
    Bug(
        "An id that another contractor uses is a fresh one",
        "records/migrations/0001_register_events_and_records.py",
        "fields=('contractor', 'id'), name='event_id_in_contractor'",
        "fields=('id',), name='event_id_in_contractor'",
        ("records/api/test_events.py::test_the_same_id_of_another_contractor_is_a_fresh_id",),
    ),
    Bug(
        "Of many that change one revision one wins",
        EVENTS,
        "    if event.revision != revision:\n",
        "    if False:\n",
        ("records/services/test_concurrency.py::test_of_sixteen_writers_one_wins_each_round",),
    ),
    Bug(
        "Nobody changes what they have not read",
        "records/api/base.py",
        "            raise PreconditionRequired()\n",
        "            return 1\n",
        ("records/api/test_events.py::test_a_change_names_the_revision_that_it_is_meant_for",),
    ),
    Bug(
        "A bad member of a batch stops no other",
        EVENTS,
        "    except BookError as error:\n        return error\n",
        "    except BookError:\n        raise\n",
        (
            "records/api/test_event_batches.py::test_of_a_hundred_with_three_bad_each_has_its_result",
        ),
    ),
    Bug(
        "Records of a site are numbered and linked without a gap",
        "records/services/sealing.py",
        "SiteSummary.objects.select_for_update().get(",
        "SiteSummary.objects.get(",
        ("records/services/test_concurrency.py::test_eight_that_seal_at_one_site_leave_no_gap",),
    ),
    # -- whose it is -----------------------------------------------------------------------------
    Bug(
        "The first wall holds alone",
        "records/permissions.py",
        "    return rows.filter(own)\n\n\ndef beside",
        "    return rows\n\n\ndef beside",
        ("records/test_each_wall_alone.py::test_the_first_wall_holds_each_thing_alone",),
    ),
    Bug(
        "The second wall holds where the first was forgotten",
        "records/wall.py",
        'BY_CONTRACTOR = "contractor_id = app_org()"',
        'BY_CONTRACTOR = "true"',
        ("records/test_isolation.py::test_a_forgotten_scope_leaks_nothing",),
    ),
    Bug(
        "A route that is in no table of routes and people is noticed",
        "records/api/urls.py",
        "urlpatterns = [\n",
        'urlpatterns = [\n    path("leak", register.OrganizationList.as_view()),\n',
        ("records/test_isolation.py::test_every_route_is_in_the_table",),
    ),
    Bug(
        "A page that is in no table of routes and people is noticed",
        "records/pages/urls.py",
        "urlpatterns = [\n",
        'urlpatterns = [\n    path("leak", stations.stations),\n',
        ("records/pages/test_page_routes.py::test_every_route_is_in_the_table",),
    ),
    Bug(
        "What is only read is refused by its name",
        "calculations/inputs/base.py",
        'extra="forbid"',
        'extra="ignore"',
        ("records/api/test_read_only_fields.py::test_what_is_only_read_is_refused_by_its_name",),
    ),
    # -- what is sent ----------------------------------------------------------------------------
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
        "        as_attachment=True,\n        filename=told",
        "        as_attachment=False,\n        filename=told",
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
    # -- what is kept ----------------------------------------------------------------------------
    Bug(
        "What was found and sealed is rewritten by nobody",
        GUARDS,
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
    Bug(
        "The same record makes the same bytes",
        "records/documents/workbook/writing.py",
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
        "records/documents/workbook/writing.py",
        "            page.write_string(row, column, text, style)\n",
        "            page.write(row, column, text, style)\n",
        (
            "records/documents/test_workbook.py::"
            "test_no_text_of_a_record_becomes_a_formula_a_link_or_another_text",
        ),
    ),
    # -- who comes in ----------------------------------------------------------------------------
    Bug(
        "A token that was revoked is refused with the next request",
        "records/migrations/0023_nobody_waits_to_be_let_in.py",
        "   WHERE t.digest = given AND t.revoked_at IS NULL AND",
        "   WHERE t.digest = given AND",
        ("records/api/test_tokens.py::test_a_token_works_until_it_is_revoked",),
    ),
    Bug(
        "Whoever has the table of tokens has no token",
        "records/services/tokens.py",
        "    return hashlib.sha256(secret.encode()).digest()\n",
        "    return secret.encode()\n",
        (
            "records/api/test_tokens.py::test_only_the_digest_is_kept_and_the_secret_is_never_listed",
        ),
    ),
    Bug(
        "Of a thousand guesses at once no more than the limit are compared",
        "records/services/guessing.py",
        "    if count > limit.most:\n",
        "    if count > limit.most + 1:\n",
        ("records/services/test_guessing.py::test_of_a_thousand_at_once_so_many_get_through",),
    ),
    Bug(
        "Pages of a list neither skip nor repeat while rows are added",
        "records/api/base.py",
        "        return Cursor(offset=0, reverse=False, position=row)\n",
        "        return Cursor(offset=1, reverse=False, position=row)\n",
        ("records/api/test_lists.py::test_rows_added_meanwhile_repeat_and_skip_nothing",),
    ),
    Bug(
        "More rows ask no more of the database",
        "records/selectors/sealed.py",
        "        .select_related(*related)\n",
        "",
        ("records/api/test_lists.py::test_more_rows_ask_no_more_of_the_database",),
    ),
    Bug(
        "A restore checks every seal and every file before anything serves",
        "deploy/restore.py",
        "    check_all()\n    mark(there, None)\n",
        "    mark(there, None)\n",
        ("faults/test_backup.py::test_on_an_empty_machine_every_row_seal_and_file_is_there_again",),
    ),
    Bug(
        "A restore that stopped in the middle serves nobody",
        "deploy/restore.py",
        '    mark(there, f"{RESTORING} {chosen.name}")\n',
        "",
        ("faults/test_backup.py::test_what_stops_in_the_middle_serves_nobody_and_goes_on",),
    ),
    Bug(
        "The book is there as it was at a chosen commit",
        "deploy/restore_in_time.py",
        "        **moment,\n",
        "",
        ("faults/test_point_in_time.py::test_a_chosen_commit_is_the_last_one",),
    ),
    Bug(
        "No secret stands in a log",
        "deploy/logs.py",
        "        cut = self(said)\n",
        "        cut = said\n",
        ("deploy/test_logs.py::test_the_log_of_a_request_names_the_page_and_not_the_link",),
    ),
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
