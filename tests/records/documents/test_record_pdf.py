"""The printed record: complete, the same every time, safe with whatever people write."""

from collections import Counter
from copy import deepcopy
from typing import Any

import pytest

from records.documents import typesetting
from records.documents.record_pdf import render
from tests.records.documents import demo, full, sample
from tests.records.documents.reading_back import leaves, pages, reader, squeezed, text

HOSTILE = (
    "#panic() #{ 1 + 1 } $x^2$ \\ *bold* _it_ <label> @ref `raw` = heading - list + enum / term\n"
    '"quotes" \' // comment /* */ [content] (tuple) ~ -- --- ... \\u{41} #"x" \t tab\r\n'
    "שלום עולם مرحبا "
    "\N{GRINNING FACE}\N{THUMBS UP SIGN}\N{EMOJI MODIFIER FITZPATRICK TYPE-4} "
    "\N{RIGHT-TO-LEFT OVERRIDE}evil\N{POP DIRECTIONAL FORMATTING} \N{ZERO WIDTH SPACE}"
    "Ωμέγα Насосная станция Łódź ½ ² µ " + "w" * 1500
)


def printed(record: dict[str, Any]) -> bytes:
    """The PDF of a record, with its seal and data."""
    seal, data = sample.sealed(record)
    return render(record, seal, data)


@pytest.fixture(scope="module")
def ordinary() -> bytes:
    """The PDF of an ordinary record."""
    return printed(sample.record())


# -- what a reader finds -------------------------------------------------------------------------


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


def test_settings_stand_beside_what_they_are_held_against(ordinary: bytes) -> None:
    words = squeezed(text(ordinary))
    # As found and as left of the sample; the plate's 68.7 A; nothing else in the line.
    assert squeezed("Motor current 137 A 68.7 A 68.7 A plate") in words
    assert squeezed("Feedback at upper signal 150 psi 200 psi 200 psi range of PT-101") in words


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


def test_every_limit_that_applied_is_printed(ordinary: bytes) -> None:
    """With its unit; the one that was changed as it was changed."""
    words = squeezed(text(ordinary))
    listed = words[words.index(squeezed("Limits that applied")) :]
    assert squeezed("supply.unbalance note 2 %, review 0.8 %, direct 2 %, stop 5 %") in listed
    units = {"Mohm": "MΩ", "ohm": "Ω", "degC": "°C", "1": ""}
    for name, value in sample.record()["judgement"]["limits"].items():
        unit = units.get(value["unit"], value["unit"])
        said = f"{name.rpartition('.')[2]} {value['value'].replace('-', '−')} {unit}"
        assert squeezed(said) in listed, name


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
        "columns": [{"name": "time", "unit": "s"}, {"name": "running_pumps", "unit": ""}],
        "sample_interval": {"value": "0.5", "unit": "s"}, "size": 5120, "sha256": "c3" * 32,
    }  # fmt: skip
    record |= {"attachments": [photograph], "traces": [trace]}
    found = squeezed(text(printed(record)))
    for words in (
        "plate of M-101.jpg", "image/jpeg, 48 kB; drawn anew from what was sent", "a1" * 32,
        "step to 85 psi", "Trace of 240 rows: time [s], running pumps; a sample every 0.5 s",
        "b2" * 32, "c3" * 32,
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


def test_a_correcting_record_says_which_it_replaces_and_why() -> None:
    record = sample.record() | {"corrects": {"record_id": "r", "number": 5, "reason": "wrong pump"}}
    first = squeezed(pages(printed(record))[0])
    assert squeezed("This record replaces record 5. Reason: wrong pump") in first


# -- nothing is dropped --------------------------------------------------------------------------


@pytest.fixture(scope="module")
def fullest() -> tuple[dict[str, Any], str]:
    """The fullest record and its text."""
    record = full.record()
    return record, squeezed(text(printed(record)))


def test_every_number_and_text_of_event_and_plates_is_printed(
    fullest: tuple[dict[str, Any], str],
) -> None:
    record, words = fullest
    missing = []
    for at, value in leaves({"event": record["event"], "snapshot": record["snapshot"]}):
        shown = value["value"] if isinstance(value, dict) else value
        unique = any(mark in str(shown) for mark in ("1000", "1001", "1002", "1003"))
        if unique and squeezed(str(shown).replace("T09", "09").removesuffix("-05:00")) not in words:
            missing.append((at, value))
    assert missing == []


def test_every_word_and_every_yes_is_printed(fullest: tuple[dict[str, Any], str]) -> None:
    record, words = fullest
    own = {name: part for name, part in record["snapshot"].items() if name != "neighbours"}
    # What a neighbour has in common with this pump set is said once.
    counted = Counter(
        "yes" if value is True else value
        for at, value in leaves({"event": record["event"], "snapshot": own})
        if value is True or (isinstance(value, str) and value.isalpha())
    )
    assert counted["yes"] > 40
    assert {word: n for word, n in counted.items() if words.count(word) < n} == {}


def test_everything_else_of_a_record_is_printed(fullest: tuple[dict[str, Any], str]) -> None:
    record, words = fullest
    judged = record["judgement"]
    shown = [value for answer in record["answers"] for value in (answer["text"], answer["by"])]
    shown += [value for s in record["signatures"] for value in (s["digest"], s["by"]["id"])]
    shown += [each[name] for each in judged["derived"] for name in ("formula", "source", "value")]
    shown += [f[name] for f in judged["findings"] for name in ("id", "sentence", "rule", "source")]
    shown += [c["value"] for f in judged["findings"] for c in f["compared"]]
    shown += [
        judged["limits_changed"][0]["reason"],
        "waits for motor.slip",
        "motor, poles",
        "the temperature is not one that a winding has",
        "t90001 record",
        "t90003 reason",
    ]
    shown += [record["record_id"], record["contractor"]["id"], record["client"]["name"]]
    assert [each for each in shown if squeezed(each).replace("-", "−") not in
            words.replace("-", "−")] == []  # fmt: skip


def test_a_field_that_nobody_knows_yet_is_printed_too() -> None:
    record = sample.record()
    record["later"] = "L-77001"
    record["event"]["invented_part"] = {"deep": [{"value": "77002", "unit": "psi"}, "L-77003"]}
    record["event"]["duty_points"][0]["invented"] = "L-77004"
    record["event"]["settings"]["as_left"]["invented"] = "L-77005"
    record["snapshot"]["pump"]["invented"] = "L-77006"
    record["snapshot"]["beside"] = ["L-77007"]
    record["judgement"]["findings"][0]["invented"] = "L-77008"
    words = squeezed(text(printed(record)))
    assert [n for n in range(77001, 77009) if str(n) not in words] == []


# -- data, standards, sameness -------------------------------------------------------------------


def test_data_is_attached_as_it_was_given() -> None:
    record = sample.record()
    record["event"]["remarks"] = 'Насос "1" \\ ½ \N{GRINNING FACE} é'
    seal, data = sample.sealed(record)
    pdf = reader(render(record, seal, data))
    assert pdf.attachments["data.json"] == [data]
    (attached,) = pdf.trailer["/Root"]["/AF"]
    assert attached.get_object()["/AFRelationship"] == "/Data"


def test_it_is_an_archival_and_tagged_document_in_english_with_a_title(ordinary: bytes) -> None:
    root = reader(ordinary).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    about = root["/Metadata"].get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in about
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in about
    assert "<pdfuaid:part>1</pdfuaid:part>" in about
    assert reader(ordinary).metadata.title.startswith("Pump set PS-101: start-up")


def test_only_the_bundled_face_is_used_and_it_is_embedded(ordinary: bytes) -> None:
    fonts = [
        font.get_object()
        for page in reader(ordinary).pages
        for font in page["/Resources"]["/Font"].values()
    ]
    assert {font["/BaseFont"].split("+")[1].split("-")[0] for font in fonts} == {"SourceSans3"}
    inner = [font["/DescendantFonts"][0].get_object() for font in fonts]
    assert all("/FontFile3" in font["/FontDescriptor"] for font in inner)


def test_the_same_record_gives_the_same_bytes(ordinary: bytes) -> None:
    typesetting._compiler.cache_clear()
    assert printed(sample.record()) == ordinary


def test_nothing_is_changed_in_what_was_given() -> None:
    record = sample.record()
    before = deepcopy(record)
    printed(record)
    assert record == before


# -- whatever people write -----------------------------------------------------------------------


def test_what_people_write_is_never_markup() -> None:
    record = sample.record()
    record["event"]["remarks"] = HOSTILE
    words = text(printed(record))
    for said in (
        "#panic() #{ 1 + 1 } $x^2$ \\ *bold* _it_ <label> @ref `raw` = heading - list + enum",
        '"quotes" \' // comment /* */ [content] (tuple) ~ -- --- ...',
        "U+1F600 U+1F44D U+1F3FD",
        "U+202E",
        "Ωμέγα Насосная станция Łódź ½ ² µ",
    ):
        assert squeezed(said) in squeezed(words)
    assert squeezed("U+05E9 U+05DC U+05D5 U+05DD") in squeezed(words)
    assert words.count("w") > 1500


def test_markup_in_every_text_of_a_record_is_printed_as_it_stands() -> None:
    record = sample.record()
    marked = '#{"x"} *b* $y$ \\ "'
    record["contractor"]["name"] = record["client"]["name"] = marked
    for piece in ("site", "pump_set", "pump", "motor", "drive"):
        record["snapshot"][piece]["tag"] = marked
    record["snapshot"]["site"]["name"] = marked + "\N{GRINNING FACE}"
    record["signatures"][0]["by"]["name"] = marked
    record["answers"][0]["text"] = marked
    record["judgement"]["findings"][0]["sentence"] = marked
    record["event"]["protection_tests"][0]["observed"] = marked
    assert squeezed(text(printed(record))).count(squeezed(marked)) > 10


def test_a_long_word_stays_inside_of_the_page() -> None:
    record = sample.record()
    record["event"]["remarks"] = "w" * 2000
    record["event"]["protection_tests"][0]["how_provoked"] = "v" * 400
    lines = [line for page in pages(printed(record)) for line in page.splitlines()]
    # Letters w of this face are 0.73 em wide, and the text's width is 170 mm.
    widest = max(line.count("w") for line in lines)
    assert 0.73 * 9.5 * widest < 170 / 25.4 * 72
    assert sum(line.count("w") for line in lines) > 2000
    assert max(line.count("v") for line in lines) < 40


def test_a_very_long_answer_runs_over_pages() -> None:
    record = sample.record()
    record["answers"][0]["text"] = " ".join(f"word{number}" for number in range(2500))
    assert squeezed("word2499") in squeezed(text(printed(record)))


def test_numbers_of_any_length_are_printed() -> None:
    record = sample.record()
    point = record["event"]["duty_points"][0]
    point["flow"] = {"value": "0." + "1" * 37, "unit": "gpm"}
    point["speed"] = {"value": "-1.5e-3", "unit": "rpm"}
    words = squeezed(text(printed(record)))
    assert "0." + "1" * 37 in words
    assert "−1.5e-3" in words


# -- little and much -----------------------------------------------------------------------------


def empty() -> dict[str, Any]:
    """A record with as little as there can be."""
    record = sample.record()
    return record | {
        "previous": None,
        "event": {"id": sample.EVENT_ID, "kind": "investigation"},
        "snapshot": {"site": {"name": "Bare station"}, "sensors": [], "vessels": []},
        "judgement": {"catalogue": "2026.11", "derived": [], "findings": [], "not_evaluated": []},
        "answers": [],
    }


def test_a_record_of_nearly_nothing_is_printed() -> None:
    words = squeezed(text(printed(empty())))
    assert squeezed("Station: investigation") in words
    assert squeezed("with no findings. Nothing is open.") in words
    assert squeezed("No rule of the catalogue made a finding.") in words
    assert squeezed("Digest of the record before none: the first") in words


def test_empty_parts_are_named_and_make_no_empty_tables() -> None:
    record = sample.record()
    record["event"] |= {"duty_points": [], "earth_tests": [], "supply": {}, "pump_set": "PS-101"}
    words = squeezed(text(printed(record)))
    assert squeezed("Nothing was recorded of: supply, earth tests, duty points") in words


def test_forty_findings_are_all_printed_the_serious_ones_first() -> None:
    record = sample.record()
    record["judgement"]["findings"] = [
        sample.finding(number, sample.WRITTEN[number % 3])
        | {"sentence": f"Sentence number {number} ends here."}
        for number in range(40)
    ]
    record["answers"] = [
        sample.answer(number, each) for number, each in enumerate(record["judgement"]["findings"])
    ]
    words = squeezed(text(printed(record)))
    places = [words.index(squeezed(f"Sentence number {n} ends here.")) for n in range(40)]
    serious = {"stop": 0, "review": 1, "note": 2}
    ranks = [serious[f["severity"]] for f in record["judgement"]["findings"]]
    assert sorted(range(40), key=places.__getitem__) == sorted(range(40), key=ranks.__getitem__)
    assert squeezed("Sealed as record 7 of this station with 40 findings") in words


def test_two_hundred_duty_points_are_all_printed() -> None:
    record = sample.record()
    point = record["event"]["duty_points"][0]
    record["event"]["duty_points"] = [
        point | {"flow": {"value": f"{10_000 + number}.25", "unit": "gpm"}} for number in range(200)
    ]
    words = text(printed(record))
    assert [n for n in range(10_000, 10_200) if f"{n}.25" not in words] == []


@pytest.mark.parametrize("name", demo.names())
def test_every_event_of_the_demo_is_printed_completely(name: str) -> None:
    record = demo.record_of(name)
    words = squeezed(text(printed(record))).replace("-", "−")
    missing = [
        (at, value)
        for at, value in leaves({"event": record["event"], "site": record["snapshot"]["site"]})
        if isinstance(value, dict) and squeezed(value["value"]).replace("-", "−") not in words
    ]
    assert missing == []
