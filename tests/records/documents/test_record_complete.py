"""The printed record is complete: nothing is dropped, of little and of much."""

from collections import Counter
from typing import Any

import pytest

from records.documents.record_pdf import AS_ENTERED, Style
from tests.records.documents import demo, full, sample
from tests.records.documents.reading_back import in_print, leaves, squeezed, text
from tests.records.documents.sample import printed

# -- nothing is dropped --------------------------------------------------------------------------


STYLES = (AS_ENTERED, Style("us", "letter"), Style("si", "a4"))


@pytest.fixture(scope="module", params=STYLES, ids=lambda style: style.units)
def fullest(request: pytest.FixtureRequest) -> tuple[dict[str, Any], str]:
    """The fullest record and its text, in the units entered and in those of a client."""
    record = full.record()
    return record, squeezed(text(printed(record, request.param)))


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
    assert [each for each in shown if in_print(each).replace("-", "−") not in
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


def test_vibration_that_was_read_twice_at_one_place_is_printed_twice() -> None:
    record = sample.record()
    record["event"]["duty_points"][0]["vibration"] = [
        {"location": "pump bearing", "direction": "axial",
         "velocity_rms": {"value": digits, "unit": "mm/s"}}
        for digits in ("1.83", "7.91")
    ]  # fmt: skip
    words = text(printed(record))
    assert ("1.83" in words, "7.91" in words) == (True, True)


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
