"""What a reader finds in a printed record: work, result, arithmetic, limits, files, cautions."""

from tests.records.documents import sample
from tests.records.documents.reading_back import pages, squeezed, text
from tests.records.documents.sample import printed


def test_first_lines_answer_which_work_where_when_by_whom_and_with_what_result(
    ordinary: bytes,
) -> None:
    first = squeezed(pages(ordinary)[0])
    assert squeezed("Pump set PS-101: start-up") in first
    assert squeezed("Upper zone booster, 14 March 2026") in first
    assert squeezed("Performed on 14 March 2026, 09:30 to 15:10 (UTC−05:00), by First technician "
                    "for Northbank Pump Services") in first  # fmt: skip
    assert squeezed("Sealed as record 7 of this station with") in first
    assert squeezed("Nothing is open. Not possible on the day: 1 task.") in first


def test_a_finding_that_nobody_answered_is_said_to_be_open() -> None:
    record = sample.record()
    review = next(f for f in record["judgement"]["findings"] if f["severity"] == "review")
    record["answers"] = [a for a in record["answers"] if a["finding"] != review["id"]]
    many = len(record["judgement"]["findings"])
    first = squeezed(pages(printed(record))[0])
    assert squeezed(f"with 1 of {many} findings still open.") in first
    assert squeezed("Nothing is open") not in first


def test_a_stop_that_can_only_be_corrected_stays_open_whatever_was_answered() -> None:
    record = sample.record()
    stop = next(f for f in record["judgement"]["findings"] if f["severity"] == "stop")
    stop["correct_only"] = True
    assert squeezed("still open") in squeezed(pages(printed(record))[0])


def test_what_needed_an_answer_stands_on_the_first_page_the_most_serious_first() -> None:
    record = sample.record()
    stop, review, note = sorted(
        record["judgement"]["findings"],
        key=lambda f: ["stop", "review", "note"].index(f["severity"]),
    )[:3]
    record["judgement"]["findings"] = [note, review, stop]
    first = squeezed(pages(printed(record))[0])
    at = [first.index(squeezed(f"{words} {each['sentence']}"))
          for words, each in (("Stop No. 1", stop), ("Review No. 2", review))]  # fmt: skip
    assert at == sorted(at)
    assert squeezed(note["sentence"]) not in first


def test_what_is_missing_stands_by_itself_after_all_others() -> None:
    record = sample.record()
    stop, review, note = sorted(
        record["judgement"]["findings"],
        key=lambda f: ["stop", "review", "note"].index(f["severity"]),
    )[:3]
    gone = review | {"id": "gone", "rule": "record.missing", "sentence": "No earth test is there."}
    record["judgement"]["findings"] = [gone, note, stop]
    words = squeezed(text(printed(record)))
    arithmetic = words.index(squeezed("What the record does not hold This was looked for"))
    assert words.rindex(squeezed(note["sentence"])) < arithmetic
    assert words.rindex(squeezed(gone["sentence"])) > arithmetic
    assert squeezed(f"Review No. 3 {gone['sentence']}") in words[:arithmetic]
    assert squeezed("No. 3") in words[arithmetic:]
    record["judgement"]["findings"] = [gone]
    alone = squeezed(text(printed(record)))
    assert squeezed("Findings No rule made a finding on what the record holds.") in alone


def test_of_many_that_needed_an_answer_the_first_page_says_how_many_follow() -> None:
    record = sample.record()
    review = next(f for f in record["judgement"]["findings"] if f["severity"] == "review")
    record["judgement"]["findings"] = [
        review | {"id": f"{number}", "sentence": f"Sentence {number} ends here."}
        for number in range(1, 10)
    ]
    first = squeezed(pages(printed(record))[0])
    assert squeezed("Review No. 6 Sentence 6 ends here.") in first
    assert squeezed("3 more stand under Findings") in first
    assert squeezed("Sentence 7") not in first


def test_settings_stand_beside_what_they_are_held_against(ordinary: bytes) -> None:
    words = squeezed(text(ordinary))
    # As found and as left of the sample; the plate's 68.7 A; nothing else in the line.
    assert squeezed("Motor current 137 A 68.7 A 68.7 A plate") in words
    assert squeezed("Feedback at upper signal 150 psi 200 psi 200 psi range, with height") in words


def test_electrical_readings_stand_under_the_place_of_measuring(ordinary: bytes) -> None:
    words = squeezed(text(ordinary))
    at_input = words.index(squeezed("Measured at the drive's input"))
    at_output = words.index(squeezed("Measured at the drive's output"))
    # Input and output power of the first duty point in the sample.
    assert at_input < words.index("31.9", at_input) < at_output
    assert "52.7/52.7/52.7" in words[at_output:]


def test_error_of_a_sensor_is_in_percent_of_span(ordinary: bytes) -> None:
    # PT-101, 0 to 200 psi on 4 to 20 mA, 50 psi applied: 8.02 mA is 50.25 psi, an error of
    # 0.25/200 = 0.125 %; the drive shows 50.2 psi, 0.2/200 = 0.10 % (definition of error, by hand).
    assert "up 50 8.02 50.2 drive +0.12 +0.10" in text(ordinary).replace("\n", " ")


def test_findings_show_their_arithmetic_and_answers(ordinary: bytes) -> None:
    words = squeezed(text(ordinary))
    stop, review = (words.index(squeezed(start)) for start in (
        "The high-pressure protection stopped", "At 36 Hz the pump reaches"))  # fmt: skip
    assert stop < review
    assert squeezed("Zero flow frequency 41.93 Hz") in words[review:]
    assert squeezed("Limit 41.9 Hz, or a sleep that can be reached") in words[review:]
    assert squeezed("Office engineer, office, 2026-03-16 09:50 UTC−05:00, accepted") in words


def test_a_signer_is_told_apart_from_whom_the_visit_names(ordinary: bytes) -> None:
    """The account's own name stands at the signature; another spelling of the same adds nothing."""
    said = squeezed("The visit names")
    record = sample.record()
    record["event"]["parties"]["performed_by"] = "F. Technician"
    words = squeezed(text(printed(record)))
    at = words.index(squeezed("By First technician"))
    assert said + squeezed("F. Technician") in words[at : at + 120]
    record["event"]["parties"]["performed_by"] = " first  Technician"
    assert said not in squeezed(text(printed(record)))
    assert said not in squeezed(text(ordinary))


def test_seal_says_number_digests_key_and_how_to_check(ordinary: bytes) -> None:
    record = sample.record()
    seal, _ = sample.sealed(record)
    words = squeezed(text(ordinary))
    for value in (seal["digest"], record["previous"], seal["key"], seal["signature"]):
        assert squeezed(value) in words
    assert squeezed("Its SHA-256 must be the digest above") in words


def test_changed_limits_say_how_they_differ_why_and_by_whom(ordinary: bytes) -> None:
    words = squeezed(text(ordinary))
    at = words.index(squeezed("Limits changed from the catalogue"))
    row = words.index(squeezed("supply.unbalance Review 0.8 % 3 %"), at)
    why = "Tighter; the client asks for it at all of its stations; set by Office engineer, 2026-02"
    assert row < words.index(squeezed(why), at)


def test_a_looser_limit_is_said_to_be_looser() -> None:
    record = sample.record()
    record["judgement"]["limits_changed"][0] |= {"looser": True, "value": "4"}
    assert squeezed("Looser; the client asks") in squeezed(text(printed(record)))


def test_a_reason_that_ends_its_sentence_is_not_gone_on_with() -> None:
    record = sample.record()
    record["judgement"]["limits_changed"][0] |= {"reason": "Agreed until the transformer goes."}
    words = squeezed(text(printed(record)))
    assert squeezed("Tighter; Agreed until the transformer goes. Set by Office engineer") in words


def test_a_reason_by_nobody_that_is_known_ends_with_its_own_full_stop() -> None:
    record = sample.record()
    changed = record["judgement"]["limits_changed"][0]
    changed |= {"reason": "Agreed until the transformer goes.", "set_by": None, "set_at": None}
    changed["agreed_with"] = "the utility"
    assert "goes.; Agreed with: the utility" in " ".join(text(printed(record)).split())


def test_every_limit_that_applied_is_printed(ordinary: bytes) -> None:
    """With its unit; the one that was changed as it was changed."""
    words = squeezed(text(ordinary))
    listed = words[words.index(squeezed("Limits that applied")) :]
    assert squeezed("supply.unbalance note 2 %, review 0.8 %, direct 2 %, stop 5 %") in listed
    units = {"Mohm": "MΩ", "ohm": "Ω", "degC": "°C", "1": ""}
    for name, value in sample.record()["judgement"]["limits"].items():
        unit = units.get(value["unit"], value["unit"])
        limit = name.rpartition(".")[2].replace("-", " ")
        said = f"{value['value'].replace('-', '−')} {unit}"
        # At a station in US units the catalogue's own stands behind.
        told = (squeezed(f"{limit} {said}"), squeezed(f"({said})"))
        assert any(each in listed for each in told), name
    assert squeezed("lowest −1411 ft (−430 m)") in listed  # 0.3048 m to a foot


def test_what_a_visit_was_compared_with_is_said(ordinary: bytes) -> None:
    said = "judged against record 3 of this station (0195a1b2-0000-7000-8000-000000000777)"
    assert squeezed(said) in squeezed(text(ordinary))


def test_files_are_named_with_the_digest_of_their_bytes() -> None:
    record = sample.record()
    photograph = {
        "id": "01975f2e-0000-7000-8000-0000000000a1", "purpose": "motor_plate",
        "name": "plate of M-101.jpg", "content_type": "image/jpeg", "size": 48_211,
        "sha256": "a1" * 32, "sent_sha256": "b2" * 32,
    }  # fmt: skip
    trace = {
        "id": "01975f2e-0000-7000-8000-0000000000a2", "name": "step to 85 psi", "rows": 240,
        "columns": [{"name": "time", "unit": "s"}, {"name": "flow", "unit": "m3/h"},
                    {"name": "running_pumps", "unit": ""}],
        "sample_interval": {"value": "0.5", "unit": "s"}, "size": 5120, "sha256": "c3" * 32,
    }  # fmt: skip
    record |= {"attachments": [photograph], "traces": [trace]}
    found = squeezed(text(printed(record)))
    for words in (
        "plate of M-101.jpg", "image/jpeg, 48 kB; drawn anew from what was sent", "a1" * 32,
        "Trace of 240 rows: time [s], flow [m³/h], running pumps; a sample every 0.5 s",
        "step to 85 psi", "b2" * 32, "c3" * 32,
    ):  # fmt: skip
        assert squeezed(words) in found


def test_cautions_and_deference_are_printed(ordinary: bytes) -> None:
    words = squeezed(text(ordinary))
    for said in ("Hazardous voltage, stored energy", "Lock-out", "Rotating equipment",
                 "Pressurised equipment", "Confined space", "Automatic restart",
                 "It is not a safety approval and not a certification."):  # fmt: skip
        assert squeezed(said) in words


def test_a_station_with_a_classified_area_and_a_generator_has_their_cautions() -> None:
    record = sample.record()
    record["snapshot"]["site"] |= {"hazardous_area": "zone_1", "supply_source": "generator"}
    words = squeezed(text(printed(record)))
    assert squeezed("Explosive atmosphere") in words
    assert squeezed("Several sources") in words


def test_footer_counts_pages_and_names_the_record(ordinary: bytes) -> None:
    seal, _ = sample.sealed(sample.record())
    every = pages(ordinary)
    for number, page in enumerate(every, 1):
        assert f"{number} of {len(every)}" in page
        assert f"SHA-256 {seal['digest'][:16]}" in page


def test_a_correcting_record_says_once_which_it_replaces_and_why() -> None:
    record = sample.record()
    reason = "The insulation was that of another motor."
    replaced = "0195a1b2-0000-7000-8000-000000000700"
    record["corrects"] = {"record_id": replaced, "number": 6, "reason": reason}
    record["event"] |= {"corrects": replaced, "correction_reason": reason}
    pdf = printed(record)
    assert squeezed(f"This record replaces record 6. Reason: {reason}") in squeezed(pages(pdf)[0])
    words = squeezed(text(pdf))
    assert (words.count(squeezed(reason)), replaced in words) == (1, True)


def test_points_of_a_neighbour_stand_under_its_name() -> None:
    record = sample.record()
    near = {
        "pump_set": {"tag": "PS-777"},
        "duty_points": [{"purpose": "shut_off", "flow": {"value": "0", "unit": "gpm"}}],
    }
    record["snapshot"]["neighbours"] = [near, {"pump_set": {"tag": "PS-778"}}]
    words = squeezed(text(printed(record)))
    assert squeezed("Duty points of PS-777") in words
    assert squeezed("Duty points of PS-778") not in words  # it was read at none
