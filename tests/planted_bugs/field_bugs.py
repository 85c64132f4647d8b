"""What the field sheet promises, with a bug for each."""

from tests.planted_bugs.bugs import Bug

FIELD_BUGS = (
    Bug(
        "Twenty stations are two megabytes at most where there is little signal",
        "records/api/views/visits.py",
        '@method_decorator(gzip_page, name="dispatch")\n',
        "",
        (
            "records/api/test_visit_packs.py"
            "::test_twenty_packs_are_two_megabytes_at_most_over_the_network",
        ),
    ),
    Bug(
        "Silence on the device is no approval: what it lacks is told as waiting",
        "calculations/offline.py",
        "            *(_told(each) for each in waiting),\n",
        "",
        ("calculations/test_offline.py::test_rows_of_a_trace_wait_for_signal",),
    ),
    Bug(
        "What cannot be taken is told on the device, and the rest is judged",
        "calculations/offline.py",
        "            refused += own\n",
        "",
        (
            "calculations/test_offline.py"
            "::test_a_value_that_cannot_be_taken_is_told_and_the_rest_is_judged",
        ),
    ),
    Bug(
        "The device judges by its client's limits",
        "calculations/offline.py",
        "judging.judge(subject, limits, answered=pairs)",
        "judging.judge(subject)",
        ("calculations/test_offline.py::test_the_limits_of_the_client_hold_here_too",),
    ),
    Bug(
        "The device judges neighbours as they were left",
        "calculations/offline.py",
        '        "settings": left["as_left"],\n',
        "",
        ("calculations/test_offline.py::test_neighbours_come_along_as_they_were_left",),
    ),
    Bug(
        "What a device's key did not sign is no signature",
        "records/services/device_signatures.py",
        "        check_statement(statement, device.signature, key.public_jwk)\n",
        "        pass\n",
        ("records/api/test_device_signatures.py::test_a_forged_signature_is_refused",),
    ),
    Bug(
        "A device that was revoked signs no more",
        "records/services/device_signatures.py",
        "    if key.token.revoked_at is not None:\n",
        "    if False:\n",
        ("records/api/test_device_signatures.py::test_a_revoked_device_signs_no_more",),
    ),
    Bug(
        "A signature on a device is of the draft that was shown",
        "records/services/device_signatures.py",
        "    if problems:\n",
        "    if False:\n",
        (
            "records/api/test_device_signatures.py::test_what_was_changed_meanwhile_is_named",
            "records/api/test_device_signatures.py"
            "::test_a_signature_of_one_visit_is_none_of_another",
        ),
    ),
    Bug(
        "What was found after it was signed on a device wants an answer",
        "records/services/sealing.py",
        '    problems += _found_later(event, [s for s in signed if s.meaning == "performed"])\n',
        "",
        (
            "records/api/test_device_signatures.py::test_what_the_device_did_not_show_wants_an_answer",
        ),
    ),
    Bug(
        "A forged signature of a device is told offline",
        "records/verifier/devices.py",
        '    check_jws(jws, text, public["kid"], device_key(public), algorithm)\n',
        "",
        ("records/verifier/test_devices.py::test_a_forged_signature_is_told",),
    ),
    Bug(
        "An entry leaves the device only after a clear answer",
        "records/static/field/queue.js",
        "    await SENDERS[item.kind](item);\n",
        '    await remove("queue", item.seq);\n    await SENDERS[item.kind](item);\n',
        ("browser/field/test_queue.py::test_half_an_answer_is_none",),
    ),
    Bug(
        "A device signs what it shows",
        "records/static/field/signing.js",
        'signature(await kept("signingKey"), text) }',
        'signature(await kept("signingKey"), `${text} `) }',
        ("browser/field/test_signing.py::test_signed_without_network_it_arrives_as_it_was_shown",),
    ),
    Bug(
        "What cannot be judged is counted in sight",
        "records/static/field/found.js",
        "    `${found.lacking.length} cannot be judged`,\n",
        "",
        ("browser/field/test_queue.py::test_a_visit_from_taking_along_to_a_draft_in_the_book",),
    ),
    Bug(
        "What there is no room for outlives its screen",
        "records/static/field/unwritten.js",
        "  return keptBack.get(visit);\n",
        "  return new Map();\n",
        ("browser/field/test_entering.py::test_what_there_is_no_room_for_outlives_its_screen",),
    ),
    Bug(
        "A label leads to its own station where others have the same tag",
        "records/static/field/home.js",
        "packs.filter(({ site }) => !of || site === of)",
        "packs",
        (
            "browser/field/test_tags.py"
            "::test_a_label_is_read_without_network_and_leads_to_its_own_station",
        ),
    ),
)
