"""How a record is set: names of every kind, times, and what stays together on a page."""

from records.documents.contents import judged
from records.documents.contents.source import Source
from tests.records.documents import demo, sample
from tests.records.documents.reading_back import pages, reader, squeezed, text
from tests.records.documents.sample import printed


def test_names_in_chinese_japanese_and_korean_are_printed_as_they_are() -> None:
    record = sample.record()
    record["contractor"]["name"] = "東部ポンプ工業"
    record["signatures"][0]["by"]["name"] = "张伟 (Zhang Wei)"
    record["signatures"][1]["by"]["name"] = "김민준"
    record["event"]["remarks"] = "長い" * 400 + "水\u0301 か\u3099 \u3099"
    pdf = printed(record)
    words = squeezed(text(pdf))
    for said in ("東部ポンプ工業", "张伟(ZhangWei)", "김민준"):
        assert squeezed(said) in words
    assert words.count("長い") == 400
    fonts = {
        str(font.get_object()["/BaseFont"]).split("+")[1].split("-")[0]
        for page in reader(pdf).pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert fonts == {"SourceSans3", "DroidSansFallback"}


def test_what_codes_of_characters_mean_is_said_once_where_there_are_any() -> None:
    meaning = squeezed("is printed as its Unicode number")
    record = sample.record()
    record["answers"][0]["text"] = "שלום"
    assert squeezed(text(printed(record))).count(meaning) == 1
    assert meaning not in squeezed(text(printed(sample.record())))


def test_signing_times_are_to_the_second() -> None:
    record = sample.record()
    record["signatures"][0]["at"] = "2026-03-14T20:20:07.158966Z"
    # UTC-5 in Chicago on that day (IANA tz database).
    words = text(printed(record)).replace("\N{NO-BREAK SPACE}", " ")
    assert "2026-03-14 15:20:07 UTC−05:00" in words
    assert "158966" not in words


def test_the_zone_of_the_times_is_named_or_said_to_be_unknown() -> None:
    assert squeezed("Time zone America/Chicago") in squeezed(pages(printed(sample.record()))[0])
    record = sample.record()
    record["snapshot"]["site"]["time_zone"] = "Nowhere/At all"
    first = squeezed(pages(printed(record))[0])
    assert squeezed("UTC; the zone Nowhere/At all is not known here") in first


def test_limit_and_remedy_of_a_finding_begin_where_what_was_compared_begins() -> None:
    begin = {words: at for words, at in _placed(printed(sample.record())) if at}
    compared, limit = begin["41.93"], begin["41.9"]
    remedy, answer = begin["Set the minimum frequency to 43"], begin["Office engineer, office"]
    assert compared == limit == remedy == answer


def _placed(pdf: bytes) -> list[tuple[str, float]]:
    """Texts with where their block begins from the left [pt]."""
    found: list[tuple[str, float]] = []
    for page in reader(pdf).pages:
        page.extract_text(
            visitor_text=lambda words, block, *_: found.append(
                (words.split(", 20")[0].strip(), round(block[4], 1))
            )
        )
    return found


def test_signatures_stand_on_one_page_under_their_heading() -> None:
    """Wherever they would come to stand: remarks push them down line by line."""
    for lines in range(0, 44, 4):
        record = sample.record()
        record["event"]["remarks"] = "\n".join(f"remark {number}" for number in range(lines))
        digests = [squeezed(each["digest"]) for each in record["signatures"]]
        [page] = [p for p in map(squeezed, pages(printed(record))) if digests[0] in p]
        assert digests[1] in page
        assert "SignaturesPerformed" in page


def test_a_table_does_not_begin_with_one_line_at_the_foot_of_a_page() -> None:
    """Both tables of readings stay with their heads and at least three of their rows."""
    for lines in range(0, 44, 4):
        record = sample.record()
        record["event"]["weather"] = " ".join(["wet"] * 20 * lines)
        for page in pages(printed(record)):
            _, head, after = page.partition("Signal error")
            rows = [line for line in after.splitlines() if line.startswith(("up ", "down "))]
            assert not head or len(rows) >= 3


def test_where_there_is_nothing_there_is_no_dash() -> None:
    """Three rules in two columns: the fourth place is empty, and not a value not recorded."""
    record = sample.record()
    limit = {"value": "1", "unit": "%"}
    record["judgement"]["limits"] = {f"{rule}.most": limit for rule in ("a.a", "b.b", "c.c")}
    _, table = judged.limits(Source.of(record, {}))
    assert [cell["t"] for cell in table["rows"][0]["cells"]][2] == "c.c"
    assert table["rows"][1]["cells"][2:] == [{"t": ""}, {"t": ""}]


def test_a_unit_is_parted_by_no_line_end_and_stays_with_its_digits() -> None:
    record = demo.record_of("fallowmeer-ps-701-re-verification.json")
    words = "of 1234 kWh/Mgal and 5678.5\N{NO-BREAK SPACE}m³/h"
    record["event"]["remarks"] = "\n".join("x" * n + f" y {words}" for n in range(60, 110))
    lines = text(printed(record)).replace("\N{NO-BREAK SPACE}", " ").splitlines()
    told = [line for line in lines if "Mgal" in line or "kWh/" in line]
    assert len(told) > 50
    assert all("kWh/Mgal" in line for line in told)
    assert all("5678.5 m³/h" in line for line in lines if "5678" in line)


def test_units_of_a_formula_and_its_source_are_printed_as_units() -> None:
    """As entered units are in sentences: 75 degC as 75 °C, on one line."""
    record = sample.record()
    derived = {
        "id": "cable.drop", "subject": "/motor", "value": "3", "unit": "V",
        "formula": "R at 75 degC over 3 m3/h", "source": "copper at 75 degC",
    }  # fmt: skip
    record["judgement"]["derived"] = [derived]
    lacking = {"rule": "a.b", "subject": "", "needs": [], "because": "no reading at 40 degC"}
    record["judgement"]["not_evaluated"] = [lacking]
    source = Source.of(record, {})
    [cells] = [row["cells"] for row in judged.derived(source)[-1]["rows"]]
    told = f"{cells[-1]['t']} {cells[-1]['note']}".replace("\N{NO-BREAK SPACE}", "~")
    assert told == "R at 75~°C over 3~m³/h (copper at 75~°C)"
    [lack] = [row["cells"] for row in judged.not_judged(source)[-1]["rows"]]
    assert str(lack[-1]["t"]).endswith("40\N{NO-BREAK SPACE}°C")
