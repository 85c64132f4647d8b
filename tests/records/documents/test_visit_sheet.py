"""The visit sheet: what to expect beside blanks, cautions first, on either paper."""

from datetime import UTC, datetime
from typing import Any

import pytest

from calculations.expecting import expect
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from records.documents import labels
from records.documents.contents.cautions import SHORT
from records.documents.visit.visit import Known, Visit
from records.documents.visit_sheet import render, sheet_of
from tests.calculations import stations, whole_stations
from tests.calculations.building import booster, changed, judged, without
from tests.calculations.building_plates import q
from tests.records.documents.reading_back import pages, reader, squeezed, text
from tests.records.documents.test_conformance import STANDARDS, faults

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
CHANGED = {
    "rule": "supply.unbalance", "limit": "review", "value": "0.8", "unit": "%",
    "catalogue": q("3", "%"), "looser": False, "reason": "asked for", "set_by": "Office",
    "set_at": "2026-02-02T15:00:00Z",
}  # fmt: skip


def known(document: dict[str, Any], *, settings: bool = True, **more: Any) -> Known:
    """What the book would hold of a station of the tests."""
    snapshot = dict(document)
    event, instruments = snapshot.pop("event"), snapshot.pop("instruments", [])
    if settings:
        snapshot["event"] = {"settings": {"as_left": event["settings"]["as_left"]}}
    last = {"event": "e", "kind": "start_up", "state": "sealed",
            "performed_at": "2026-03-14T14:30:00Z"}  # fmt: skip
    given = {
        "snapshot": snapshot,
        "contractor": {"id": "1", "name": "Northbank Pump Services"},
        "client": {"id": "2", "name": "Lower Valley Water District"},
        "instruments": instruments,
        "last_settings": last if settings else None,
        "limits_changed": [CHANGED],
        "expectation": expect(read(Subject, snapshot)),
        "catalogue": "2026.11",
    }
    return Known(**given | more)


def blocks(document: dict[str, Any], **more: Any) -> list[dict[str, Any]]:
    sheet: dict[str, Any] = sheet_of(Visit.of(known(document, **more), NOW), "a4")
    return sheet["blocks"]


def under(found: list[dict[str, Any]], title: str, kind: str = "form") -> dict[str, Any]:
    """The first block of a kind below a heading."""
    at = next(i for i, b in enumerate(found) if b["kind"] == "heading" and b["text"] == title)
    return next(block for block in found[at:] if block["kind"] == kind)


def rows(block: dict[str, Any]) -> dict[str, list[Any]]:
    """Rows of a form by their first words."""
    return {row["cells"][0]["t"]: row["cells"][1:] for row in block["rows"] if "cells" in row}


@pytest.fixture(scope="module")
def ordinary() -> bytes:
    return render(known(booster()), NOW, "a4")


# -- what is printed ----------------------------------------------------------------------------


def test_first_lines_say_which_pump_set_and_what_to_expect_above_all(ordinary):
    first = squeezed(pages(ordinary)[0])
    for said in (
        "Pump set PS-101: visit sheet",
        "Upper zone booster, B-01",
        # 85 psi of 0 to 200 psi on 4 to 20 mA; the plate's current (by hand).
        "The set point of 85 psi is 10.8 mA from the sensor.",
        "The drive should show 0 psi to 200 psi over its signal.",
        "Overload to set: 68.7 A.",
        "Settings as left on 2026-03-14; the rest from plates and register.",
        "As known on 2026-11-25",
    ):
        assert squeezed(said) in first


def test_cautions_stand_before_anything_is_switched_on(ordinary):
    words = squeezed(text(ordinary))
    cautions = words.index(squeezed("Cautions Hazardous voltage"))
    for later in ("Electrical tests", "Settings of the drive", "Duty points", "Protections"):
        assert cautions < words.index(squeezed(later), cautions)
    assert squeezed("It is not a safety approval and not a certification.") in words


def test_values_to_set_have_the_cautions_beside_them():
    """On the first page before the lead, and under the heading of the settings."""
    found = blocks(booster())
    told = [i for i, block in enumerate(found) if block.get("text") == SHORT]
    lead = next(i for i, block in enumerate(found) if block.get("style") == "lead")
    settings = next(i for i, b in enumerate(found) if b.get("text") == "Settings of the drive")
    assert told == [lead - 1, settings + 1]


@pytest.mark.parametrize("kind", ["axial_or_mixed_flow", "progressive_cavity"])
def test_a_pump_that_must_not_run_at_a_closed_valve_is_asked_for_no_such_reading(kind):
    """An axial pump's power, a displacement pump's pressure is highest there (from memory)."""
    found = blocks(changed(booster(), {"/pump/type": kind}))
    assert "Closed valve" in [each["title"] for each in under(found, "Cautions", "titled")["items"]]
    heads = [block["columns"] for block in found if "columns" in block]
    listed = {column["text"] for columns in heads for column in columns}
    assert "Minimum" in listed
    assert not {"Shut-off", "Valve closed"} & listed
    assert "closed-valve" not in str(found)
    assert "shut-off-at" not in str(found)


def test_another_pump_is_asked_for_it_without_a_caution():
    found = blocks(booster())
    titles = [each["title"] for each in under(found, "Cautions", "titled")["items"]]
    assert "Closed valve" not in titles
    assert {"Shut-off", "Valve closed"} <= {c["text"] for b in found for c in b.get("columns", ())}


@pytest.mark.parametrize(
    ("quantity", "words"),
    [("pressure", "at the regulating sensor"), ("level", "at the height of the station's datum")],
)
def test_a_pressure_at_a_closed_valve_says_at_which_height(quantity, words):
    found = blocks(changed(booster(), {"/sensors/0/quantity": quantity}))
    said = under(found, "At the drive's frequencies", "paragraph")["text"]
    assert f"Valve closed: pressure {words}, at the highest suction; seconds only." in said
    notes = [row["cells"][0].get("note") for row in under(found, "Values to expect")["rows"]
             if "closed-valve" in str(row)]  # fmt: skip
    assert set(notes) == {words}


# 33 psi of suction and 266 ft at closed valve and 60 Hz are 148.3 psi, 126.4 psi at 54 Hz and 106.8
# psi at 48 Hz: affinity law, water at 62.4 lb/ft3.
@pytest.mark.parametrize(
    ("limit", "at"), [("105", "48.0"), ("108", "54.0"), ("125", "54.0"), ("128", "60.0")]
)
def test_no_valve_is_closed_where_that_gives_more_than_a_part_bears(limit, at):
    found = blocks(changed(booster(), {"/site/discharge_pressure_limit": q(limit, "psi")}))
    never = ("never close the valve: the pressure would be more than is permitted for pipework "
             f"({limit} psi)")  # fmt: skip
    assert f"At {at}\xa0Hz and above {never}." in [block.get("text") for block in found]
    notes = [row["cells"][0].get("note") for row in under(found, "Values to expect")["rows"]
             if "closed-valve" in str(row)]  # fmt: skip
    assert {"at the regulating sensor", f"at the regulating sensor; {never}"} == set(notes)


def test_a_closed_valve_within_every_limit_is_forbidden_nowhere():
    found = blocks(changed(booster(), {"/site/discharge_pressure_limit": q("150", "psi")}))
    assert "never close the valve" not in str(found)


def test_a_setting_stands_beside_plate_last_value_and_two_blanks():
    row = rows(under(blocks(booster()), "Settings of the drive"))["Motor current"]
    expected, origin, left, found_blank, left_blank = row
    assert (expected["n"], expected["u"], origin["t"]) == ("68.7", "A", "plate")
    assert left["n"] == "68.7"
    assert found_blank == left_blank == {"blank": "A"}


def test_one_overload_is_expected_all_over_the_sheet():
    """An immersed motor's is that at its service factor, 96.0 A of the plate, not its 79 A or so
    at rated load: what the first page says has to stand beside the setting too.
    """
    sheet = blocks(stations.well())
    row = rows(under(sheet, "Settings of the drive"))["Overload current"]
    assert (row[0]["n"], row[0]["u"], row[1]["t"]) == ("96", "A", "by the plate")
    assert "Overload to set" in str(sheet)
    assert "Overload to set: 79" not in str(sheet)


@pytest.mark.parametrize("changes", [
    {}, {"/pump/minimum_continuous_flow": q("150", "gpm")},
    {"/pump/minimum_frequency_permitted": q("44", "Hz")},
])  # fmt: skip
def test_minimum_and_sleep_frequency_as_expected_can_be_set_together(changes):
    document = changed(booster(), changes)
    listed = rows(under(blocks(document), "Settings of the drive"))
    places = ("minimum_frequency", "sleep_frequency")
    told = [listed[name][0]["n"] for name in ("Minimum frequency", "Sleep frequency")]
    pair = {f"/event/settings/as_left/{name}": q(value, "Hz")
            for name, value in zip(places, told, strict=True)}  # fmt: skip
    judgement = judged(changed(document, pair))
    found = {each.rule for each in judgement.findings if each.severity != "note"}
    assert not {each for each in found if each.startswith(("loop.sleep", "speed."))}
    assert float(told[0]) <= float(told[1])


def test_a_sleep_frequency_below_the_minimum_is_not_proposed():
    """42.6 Hz would do for this set point, but its pump permits no less than 58 Hz."""
    document = changed(booster(), {"/pump/minimum_frequency_permitted": q("58", "Hz")})
    ids = "sleep.sensible-frequency", "speed.lowest-sensible-minimum"
    assert [each.si for each in judged(document).derived if each.id in ids] == [58, 42.6]
    listed = rows(under(blocks(document), "Settings of the drive"))
    assert listed["Minimum frequency"][0]["n"] == "58"
    assert listed["Sleep frequency"][:2] == [{"t": ""}, {"t": "", "light": True}]


def test_feedback_is_expected_with_the_height_of_the_tapping():
    """A level transmitter that reads 0 at 0.1 m over the floor that set points are told from."""
    listed = rows(under(blocks(whole_stations.lift_station()), "Settings of the drive"))
    ends = [listed[f"Feedback at {end} signal"][0]["n"] for end in ("lower", "upper")]
    assert ends == ["0.1", "5.1"]
    assert "Low suction limit" not in listed  # it keeps a level


def test_every_setting_that_was_left_or_that_a_start_up_needs_has_a_row():
    listed = rows(under(blocks(booster()), "Settings of the drive"))
    assert len(listed) > len(booster()["event"]["settings"]["as_left"])
    new = rows(under(blocks(booster(), settings=False), "Settings of the drive"))
    assert {"Motor current", "Set point", "Wake value"} <= new.keys()
    assert all(row[2] == {"t": ""} for row in new.values())


def test_a_value_to_expect_has_room_for_what_is_measured():
    row = rows(under(blocks(booster()), "Values to expect"))["Signal to expect at the set point"]
    assert (row[0]["n"], row[0]["u"]) == ("10.8", "mA")
    assert row[1:] == [{"blank": "mA"}, {"blank": ""}]


def test_what_is_told_with_the_sensors_points_is_not_told_twice():
    listed = rows(under(blocks(booster()), "Values to expect"))
    assert "Signal to expect at the set point" in listed
    assert "What the drive should show at the upper end of the signal" in listed
    assert not [words for words in listed if "regulating sensor's span" in words]
    assert not [words for words in listed if "wave" in words]  # for reference, at the end


def test_each_frequency_has_a_line_to_write_in():
    form = under(blocks(booster()), "At the drive's frequencies")
    first = [row["cells"][0]["t"] for row in form["rows"]]
    assert first == ["expected", "read"] * 5
    # 36 to 60 Hz in four steps; 460 V at 60 Hz in proportion.
    told = [[cell and cell.get("n") for cell in row["cells"][1:]] for row in form["rows"][::2]]
    assert [row[0] for row in told] == ["36.0", "42.0", "48.0", "54.0", "60.0"]
    assert [row[5] for row in told] == ["276", "322", "368", "414", "460"]
    assert all(cell == {"blank": ""} for row in form["rows"][1::2] for cell in row["cells"][1:])


def test_every_sensor_has_its_points_with_the_signal_to_expect():
    """4 to 20 mA: 4, 8, 12, 16, 20 mA at quarters of span, then down again."""
    found = blocks(booster())
    form = under(found, "PT-101, S-3301")
    told = [(row["cells"][0]["t"], row["cells"][1]["n"], row["cells"][2]["n"])
            for row in form["rows"]]  # fmt: skip
    assert told == [("up", "0", "4"), ("up", "50", "8"), ("up", "100", "12"), ("up", "150", "16"),
                    ("up", "200", "20"), ("down", "100", "12"), ("down", "0", "4")]  # fmt: skip
    titles = [b["text"] for b in found if b["kind"] == "heading" and b["level"] == 3]
    assert {"PT-100, S-3300", "FT-101, S-3302"} <= set(titles)


def test_a_signal_without_a_range_expects_nothing():
    found = blocks(changed(booster(), {"/sensors/0/output": "digital"}))
    assert all(row["cells"][2] == {"t": ""} for row in under(found, "PT-101, S-3301")["rows"])


def test_protections_of_the_station_stand_at_the_values_that_are_set():
    listed = rows_with_words(under(blocks(booster()), "Protections"))
    assert listed["High pressure"][0]["n"] == "125"
    assert "Restart after power loss" in listed


def rows_with_words(block: dict[str, Any]) -> dict[str, list[Any]]:
    cells = [row["cells"] for row in block["rows"]]
    return {each[0]["t"]: each[1:] for each in cells if "t" in each[0]}


def test_least_insulation_is_told_in_the_station_s_degrees():
    """5 Mohm at 40 degC: 104 degF."""
    said = squeezed(text(render(known(booster()), NOW, "a4")))
    assert squeezed("5 MΩ at 104 °F of the winding") in said


def test_blanks_wait_for_the_stations_units_where_plates_have_others():
    """Its liquid is told in degF; motor, drive and sensors have their degC on many plates."""
    plates = {f"/{place}": q("40", "degC") for place in
              ("motor/ambient_rated", "drive/ambient_rated", "drive/ambient_max",
               "drive/ambient_at_drive")}  # fmt: skip
    liquid = {f"/site/liquid_temperature_{end}": q("50", "degF") for end in ("min", "max")}
    found = blocks(changed(booster(), plates | liquid))
    units = {item["label"]: item["unit"] for item in under(found, "The visit", "fields")["items"]}
    assert units["Ambient temperature"] == units["Liquid temperature"] == "°F"


def test_electrical_power_and_vibration_are_asked_for_as_instruments_show_them():
    """A plate in hp says nothing of a power analyser; beside feet vibration is in in/s."""
    in_feet = changed(booster(), {"/motor/ratings/0/power": q("60", "hp")})
    for document, velocity in ((in_feet, "in/s"), (whole_stations.lift_station(), "mm/s")):
        listed = rows(under(blocks(document), "Duty points"))
        assert listed["Power at the drive's input"][0] == {"blank": "kW"}
        assert listed["Vibration, highest r.m.s."][0] == {"blank": velocity}


def test_titles_of_values_are_printed_with_their_units():
    listed = rows(under(blocks(booster()), "What is missing", "table"))
    assert any("at 212\N{NO-BREAK SPACE}°F" in str(name) for name in listed)
    assert not any("degF" in str(name) for name in listed)


def test_blanks_wait_for_the_unit_of_a_clamp_and_not_for_that_of_a_fault():
    """The site's only current is its fault current, in kA."""
    assert Visit.of(known(booster()), NOW).units["current"] == "A"


def test_what_is_missing_is_named():
    found = blocks(without(booster(), "/site/elevation"), settings=False)
    table = under(found, "What is missing", "table")
    listed = rows(table)
    assert listed["Signal to expect at the set point"][0]["t"] == "settings as left, set point"


def test_limits_of_the_client_are_told(ordinary):
    said = "supply.unbalance Review 0.8 % 3 % Tighter; asked for; set by Office, 2026-02-02"
    assert squeezed(said) in squeezed(text(ordinary))


def test_every_derived_value_is_there_with_formula_and_source(ordinary):
    words = squeezed(text(ordinary)).replace("-", "−")
    for value in known(booster()).expectation.derived:
        for said in (value.shown.value, value.formula, value.source):
            printed = labels.with_units(said)
            assert squeezed(printed).replace("-", "−") in words, value.id


def test_an_instrument_that_is_overdue_says_so():
    document = booster()
    document["instruments"][0]["due_on"] = "2026-11-24"
    words = squeezed(text(render(known(document), NOW, "a4")))
    assert words.count("OVERDUE") == 1


# -- whatever stands there ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "document",
    [whole_stations.lift_station(), whole_stations.raw_water(), stations.well(),
     stations.permanent_magnet(), stations.old_motor(),
     changed(without(booster(), "/drive"), {"/pump_set/drive": None}),
     without(booster(), "/sensors", "/vessels", "/pump/curve_points", "/instruments")],
)  # fmt: skip
@pytest.mark.parametrize("settings", [True, False])
def test_every_kind_of_station_has_a_sheet(document, settings):
    pdf = render(known(document, settings=settings), NOW, "letter")
    assert squeezed("Signed on paper") in squeezed(text(pdf))


def test_a_lift_station_has_levels_and_a_fixed_speed_pump_no_settings():
    assert rows(under(blocks(whole_stations.lift_station()), "Levels")).keys() >= {"Start level"}
    fixed = blocks(changed(without(booster(), "/drive"), {"/pump_set/drive": None}))
    titles = [block["text"] for block in fixed if block["kind"] == "heading"]
    assert "Settings of the drive" not in titles
    assert "Levels" not in titles


def test_what_people_write_is_never_markup():
    marked = '#{"x"} *b* $y$ \\ " \N{GRINNING FACE}'
    places = ("/site/name", "/pump_set/tag", "/sensors/0/tag", "/instruments/0/serial")
    document = changed(booster(), dict.fromkeys(places, marked))
    words = squeezed(text(render(known(document), NOW, "a4")))
    assert words.count(squeezed('#{"x"} *b* $y$ \\ "')) > 4
    assert "U+1F600" in words


# -- paper --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("paper", "size"),
    # ISO 216: 210 mm x 297 mm; ANSI: 8.5 in x 11 in; in points of 1/72 in.
    [("a4", (210 / 25.4 * 72, 297 / 25.4 * 72)), ("letter", (8.5 * 72, 11 * 72))],
)
def test_it_is_set_for_the_paper_that_was_asked_for(paper, size):
    box = reader(render(known(booster()), NOW, paper)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.5)


@pytest.mark.parametrize("standard", STANDARDS)
def test_it_keeps_to_the_standards_for_archives_and_accessibility(ordinary, standard):
    assert faults(ordinary, standard) == []


def test_it_is_an_archival_tagged_document_with_a_title(ordinary):
    root = reader(ordinary).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "<pdfaid:part>3</pdfaid:part>" in root["/Metadata"].get_data().decode()
    assert (
        reader(ordinary).metadata.title == "Pump set PS-101: visit sheet, Upper zone booster, B-01"
    )


def test_the_same_is_printed_the_same(ordinary):
    assert render(known(booster()), NOW, "a4") == ordinary
    assert render(known(booster()), NOW.replace(hour=17, minute=5), "a4") == ordinary
    assert render(known(booster()), NOW.replace(day=26), "a4") != ordinary


# -- without a drive ----------------------------------------------------------------------------


def without_drive() -> dict[str, Any]:
    found = without(changed(booster(), {"/pump_set/drive": None}), "/drive", "/pump_set/bypass")
    found["event"]["settings"]["as_left"] = {"overload_current": q("68.7", "A")}
    return found


def test_a_set_without_a_drive_is_told_and_asked_nothing_that_only_a_drive_has():
    """Its sensor has a signal and its supply one frequency; no input, output, display, minimum."""
    said = [block for block in blocks(without_drive()) if block.get("style") != "small"]
    cautions = [block for block in said if block["kind"] == "titled"]
    words = str([block for block in said if block not in cautions]).lower()
    words = words.replace("drive efficiency: common practice, 1 without a drive", "")
    for only in ("drive", "minimum frequency", "d.c. bus", "output voltage",
                 "input current", "display"):  # fmt: skip
        assert only not in words
    for asked in ("motor currents u / v / w", "power from the supply", "starter disconnected",
                  "at the starter's end of the cable", "at the supply's frequency"):  # fmt: skip
        assert asked in words


def test_a_set_without_a_drive_still_lacks_what_it_can_have():
    listed = str(under(blocks(without_drive()), "What is missing", "table"))
    assert "supply voltage" in listed
    assert "regulation" not in listed


def test_a_set_with_a_drive_keeps_what_the_drive_has():
    words = str(blocks(booster()))
    for said in (
        "The drive should show",
        "Output currents U / V / W",
        "D.C. bus",
        "drive disconnected",
        "on the drive: correct",
        "At the drive's frequencies",
    ):
        assert said in words
