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

BUGS = (
    # -- once, whole, in order --------------------------------------------------------------------
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
        "records/services/event_rows.py",
        "    ON CONFLICT (contractor_id, id) DO NOTHING RETURNING row, site_id, contractor_id\n",
        "    RETURNING row, site_id, contractor_id\n",
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
        "records/services/drafts.py",
        "return holding.drafts_first(drafts, lambda: summaries.hold(event.site_id), seal)",
        "return seal()",
        ("records/services/test_concurrency.py::test_eight_that_seal_at_one_site_leave_no_gap",),
    ),
    Bug(
        "A draft is judged beside the record that was sealed while it was posted",
        "records/services/event_rows.py",
        "     WHERE counts.last_number = %s\n",
        "     WHERE (counts.last_number = %s OR true)\n",
        (
            "records/services/test_judged_as_it_stands.py::"
            "test_a_record_sealed_before_a_draft_is_written_is_what_it_is_judged_beside",
        ),
    ),
    Bug(
        "Stations are held in one order by whoever holds several",
        "records/services/events.py",
        "key=lambda place: rows.get(named[place], 0)",
        "key=lambda place: named[place]",
        (
            "records/services/test_order_of_locks.py::"
            "test_a_batch_takes_stations_in_the_order_of_all",
        ),
    ),
    # -- whose it is ------------------------------------------------------------------------------
    Bug(
        "The first wall holds alone",
        "records/permissions.py",
        "    return rows.filter(own)\n\n\ndef known_to",
        "    return rows\n\n\ndef known_to",
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
    # -- who comes in -----------------------------------------------------------------------------
    Bug(
        "A token that was revoked is refused with the next request",
        "records/migrations/0023_nobody_waits_to_be_let_in.py",
        "   WHERE t.digest = given AND t.revoked_at IS NULL AND",
        "   WHERE t.digest = given AND",
        ("records/api/test_tokens.py::test_a_token_works_until_it_is_revoked",),
    ),
    Bug(
        "A session of who left does not come back with them",
        "records/services/people.py",
        "    _end_sessions_of(user_id)  # of",
        "    # of",
        (
            "records/services/test_people.py"
            "::test_a_session_of_who_left_does_not_come_back_with_them",
        ),
    ),
    Bug(
        "What spoke for who left does not come back with them",
        "records/services/people.py",
        "    tokens.revoke_all_of(actor, user_id)\n",
        "",
        (
            "records/services/test_people.py"
            "::test_what_spoke_for_who_left_does_not_come_back_with_them",
        ),
    ),
    Bug(
        "A page elsewhere calls nothing with a session",
        "records/api/authentication.py",
        "        self.enforce_csrf(request)\n",
        "",
        ("records/test_sessions.py::test_a_page_elsewhere_calls_nothing_of_the_api",),
    ),
    Bug(
        "A body opens the API to no session from elsewhere",
        "records/api/authentication.py",
        "        asked._post = QueryDict()  # type: ignore[attr-defined]\n",
        "",
        ("records/test_sessions.py::test_a_token_in_the_body_is_none_for_the_api",),
    ),
    Bug(
        "A session of an office without a second factor reaches no part of the API",
        "records/api/authentication.py",
        "        if permissions.lacks_second_factor(actor):\n",
        "        if False:\n",
        (
            "records/test_sessions.py"
            "::test_an_office_without_a_second_factor_gets_as_far_as_setting_one_up",
        ),
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
        "No secret stands in a log",
        "deploy/logs.py",
        "        cut = self(said)\n",
        "        cut = said\n",
        ("deploy/test_logs.py::test_the_log_of_a_request_names_the_page_and_not_the_link",),
    ),
)
