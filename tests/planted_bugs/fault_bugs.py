"""What holds when processes are killed and disks are full, with a bug for each."""

from tests.planted_bugs.bugs import Bug

KILLED = ("faults/test_acknowledged.py::test_nothing_acknowledged_is_lost_or_doubled",)

FAULT_BUGS = (
    Bug(
        "Nothing that was acknowledged is lost",
        "deploy/settings.py",
        'options = {"connect_timeout": 5, ',
        'options = {"connect_timeout": 5, "options": "-c synchronous_commit=off", ',
        KILLED,
    ),
    Bug(
        "Nothing that is sent again is there twice",
        "records/services/events.py",
        'document["id"] = document.get("id") or str(new_id())',
        'document["id"] = str(new_id())',
        KILLED,
    ),
    Bug(
        "What is to be done afterwards is done once",
        "records/services/documents.py",
        "    return rows.filter(id=identity, sha256=None).first()\n",
        "    return rows.filter(id=identity).first()\n",
        KILLED,
    ),
    Bug(
        "A full disk is told as 507",
        "records/api/problems.py",
        "    if _is_of_a_full_disk(error):\n        return NoSpace()\n",
        "",
        ("faults/test_full_disk.py::test_what_was_acknowledged_survives_and_reading_works",),
    ),
    Bug(
        "Half-restored, nothing is served",
        "deploy/login_role.py",
        "        raise RestoringError()\n",
        "        pass\n",
        (
            "deploy/test_watching.py::"
            "test_nothing_is_served_of_a_book_that_a_restore_has_not_finished",
        ),
    ),
    Bug(
        "Nobody notices a migration",
        "records/wall.py",
        "    with transaction.atomic(using=using):\n"
        "        cursor.execute(_BUILT, [table])\n"
        '        noted, found = cursor.fetchone() or ("", "")\n'
        '        if noted == f"wall {declared} {found}":\n'
        "            return\n",
        "    if True:\n",
        ("faults/test_migrating.py::test_nobody_notices_an_upgrade",),
    ),
    Bug(
        "A backup says the same of a table on every server",
        "deploy/backup.py",
        "    for name, value in AS_TEXT.items():\n",
        "    for name, value in ():\n",
        ("faults/test_backup.py::test_on_an_empty_machine_every_row_seal_and_file_is_there_again",),
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
        "A log that no server could read is not taken for one that ends",
        "deploy/restore_in_time.py",
        "    refuse_a_log_that_cannot_be_read(base, log)\n",
        "",
        ("faults/test_point_in_time.py::test_a_log_that_would_be_taken_for_its_end_is_refused",),
    ),
    Bug(
        "A log that lacks a piece is not taken for one that ends there",
        "deploy/restore_in_time.py",
        "        refuse_a_gap(base, log)\n",
        "        pass\n",
        ("faults/test_point_in_time.py::test_a_gap_in_the_log_is_not_taken_for_its_end",),
    ),
    Bug(
        "A piece of the log that was cut is not taken for its end",
        "deploy/restore_in_time.py",
        "if inside.size != size)",
        "if not inside.size)",
        ("faults/test_point_in_time.py::test_a_damaged_piece_is_not_taken_for_the_end_of_the_log",),
    ),
    Bug(
        "A piece of the log that holds another is not taken for its end",
        "deploy/restore_in_time.py",
        "        refuse_what_its_name_denies(piece, inside, server)\n",
        "        pass\n",
        (
            "faults/test_point_in_time.py"
            "::test_a_piece_that_holds_another_is_not_taken_for_the_end_of_the_log",
        ),
    ),
    Bug(
        "The log of a server that was brought back is not dropped by a base of before",
        "deploy/kept_backups.py",
        " if server_of(base) == server_of(bases[-1]))",
        ")",
        (
            "faults/test_backup.py"
            "::test_the_log_of_a_server_that_was_brought_back_outlives_bases_of_before",
        ),
    ),
    Bug(
        "A log that is not kept is told by the next backup",
        "deploy/backup.py",
        "next((piece for (piece,) in connection.execute(LOG_FAILS)), None)",
        "None",
        (
            "faults/test_point_in_time.py"
            "::test_a_backup_notes_that_the_log_of_another_server_lies_in_the_way",
        ),
    ),
    Bug(
        "A backup that is whole is not denied for what comes after it",
        "deploy/backup.py",
        '        wrong = _told_after(f"older ones that should have gone stay: {error}")\n',
        "        raise\n",
        ("faults/test_backup.py::test_older_ones_that_cannot_be_dropped_do_not_deny_the_backup",),
    ),
)
