"""Bugs by which somebody reaches what is another's, or harms who reads: files, headers, keys."""

from tests.planted_bugs.bugs import Bug

REACH_BUGS = (
    Bug(
        "A test for leaks that sees none is found out",
        "tests/records/test_isolation.py",
        "    leaked = [each for each in ids if each in text]\n",
        "    leaked = []\n",
        ("records/test_each_wall_alone.py::test_without_both_lists_leak",),
    ),
    Bug(
        "What another has sent already is written like what is new",
        "records/services/files.py",
        "    default_storage.save(stored_name(digest), content)\n",
        "    if not default_storage.exists(stored_name(digest)):\n"
        "        default_storage.save(stored_name(digest), content)\n",
        ("records/services/test_files.py::test_what_is_there_already_is_written_like_what_is_new",),
    ),
    Bug(
        "No cache that is shared keeps what one person was shown",
        "deploy/headers.py",
        '    "Cache-Control": "private, no-cache",',
        '    "X-Nothing": "nothing",',
        (
            "records/pages/test_page_routes.py::"
            "test_each_person_gets_what_is_theirs_with_every_header",
        ),
    ),
    Bug(
        "What guards an answer stands on those of errors",
        "deploy/settings.py",
        '    "deploy.headers.SecurityHeadersMiddleware",  # outside of whatever answers by itself\n'
        '    "records.api.problems.ProblemsMiddleware",\n',
        '    "records.api.problems.ProblemsMiddleware",\n'
        '    "deploy.headers.SecurityHeadersMiddleware",\n',
        ("records/api/test_problems.py::test_a_host_that_is_not_served_is_a_problem",),
    ),
    Bug(
        "A file that comes with a session is no fault of ours",
        "records/api/authentication.py",
        "        super().enforce_csrf(cast(Request, asked))\n",
        "        super().enforce_csrf(request)\n",
        ("records/pages/entrance/test_confirming.py::test_no_file_comes_from_a_page_elsewhere",),
    ),
    Bug(
        "An answer that the document does not describe is noticed",
        "records/api/views/people.py",
        '                "role": actor.role,\n                "scopes"',
        '                "rank": actor.role,\n                "scopes"',
        ("records/api/test_openapi.py::test_answers_are_as_described",),
    ),
    Bug(
        "A download is called what it is",
        "records/services/files.py",
        "        return name if ending in usual else name + usual[0]\n",
        "        return name\n",
        ("records/api/test_attachments.py::test_a_download_is_called_what_it_is",),
    ),
    Bug(
        "Whoever only looks around with a stolen token is seen",
        "records/api/token_uses.py",
        "        if answer.status_code != 401:\n",
        "        if answer.status_code < 400:\n",
        ("records/api/test_tokens.py::test_last_use_is_noted_even_if_it_was_refused",),
    ),
    Bug(
        "A key for which anybody can sign is none",
        "records/verifier/keys.py",
        "% 2**255 % _FIELD in _SMALL",
        "% 2**255 % _FIELD in ()",
        (
            "records/api/test_device_signatures.py::"
            "test_a_key_for_which_anybody_can_sign_is_refused",
            "records/verifier/test_devices.py::test_a_key_for_which_anybody_can_sign_is_told",
        ),
    ),
)
