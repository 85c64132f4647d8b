"""The field sheet's own files: whole, named with licence and digest, under a strict policy."""

import hashlib
import io
import json
import re
import subprocess
import sys
import zipfile
from importlib.metadata import version

import pytest
from django.test import Client

from calculations.inputs.event import Event
from records.pages.field import description, parts, runtime, views

pytestmark = pytest.mark.django_db  # each request is a transaction

PAGES = {
    "/field/": "text/html; charset=utf-8",
    "/field/sw.js": "text/javascript; charset=utf-8",
    "/field/judging.js": "text/javascript; charset=utf-8",
    "/field/parts.json": "application/json",
    "/field/description.json": "application/json",
    "/field/app.webmanifest": "application/manifest+json",
}


@pytest.fixture
def stranger():
    """Nobody: the sheet opens without signal, so that it cannot ask who it is."""
    return Client()


@pytest.mark.parametrize("path", PAGES)
def test_every_page_has_the_strict_policy_and_its_type(stranger, path):
    answer = stranger.get(path)
    assert answer.status_code == 200
    assert answer["Content-Type"] == PAGES[path]
    policy = answer["Content-Security-Policy"]
    assert "'unsafe-eval'" not in policy
    assert "'unsafe-inline'" not in policy
    assert ("'wasm-unsafe-eval'" in policy) == (path in ("/field/", "/field/judging.js"))
    assert "default-src 'self'" in policy


def test_webassembly_is_allowed_nowhere_else(stranger):
    assert "wasm" not in stranger.get("/healthz")["Content-Security-Policy"]


def test_nothing_is_asked_of_anybody_else():
    for name, content in parts.app_files().items():
        if name.endswith((".js", ".css")):
            assert not re.search(rb"https?://", content), name


def test_the_page_holds_no_script_and_no_style_of_its_own(stranger):
    text = stranger.get("/field/").content.decode()
    assert not re.search(r"<script(?![^>]* src=)|<style| style=| on\w+=", text)


def test_every_part_is_there_and_has_its_digest(stranger, settings):
    told = json.loads(stranger.get("/field/parts.json").content)
    for path in told["app"]["files"]:
        if path.startswith(settings.STATIC_URL):
            assert (parts.APP / path.removeprefix(parts.static_address(""))).is_file()
        else:
            assert stranger.get(path).status_code == 200
    for path, digest in told["runtime"]["files"].items():
        vendor = parts.static_address("vendor/")
        file = runtime.VENDOR / path.removeprefix(vendor)
        content = file.read_bytes() if path.startswith(vendor) else stranger.get(path).content
        assert hashlib.sha256(content).hexdigest() == digest, path


def test_words_of_closed_lists_are_told_as_documents_tell_them():
    said = description.document()["said"]
    assert said["flow_strap_on"] == "strap-on flow meter"
    assert said["re_verification"] == "re-verification"


def fields_of(node):
    for each in node.get("fields", ()):
        yield each
        yield from fields_of(each)


def test_what_only_a_drive_has_is_marked_or_named_otherwise():
    """Of whatever names the drive, apart from its settings and its plate."""
    sections = [each for each in description.document()["sections"]
                if not each["id"].startswith("as_")]  # fmt: skip
    found = [each for section in sections for each in fields_of(section)]
    named = [each for each in found if "drive" in each["name"] or "D.C." in each["label"]]
    assert len(named) >= 8
    assert [each["name"] for each in named
            if not (each.get("onlyOfDrive") or each.get("withoutDrive"))] == []  # fmt: skip
    assert not [each for each in named if "drive" in each.get("withoutDrive", "").lower()]


def test_the_counter_of_hours_is_read_in_hours():
    sections = description.document()["sections"]
    [hours] = [each for section in sections for each in fields_of(section)
               if each["name"] == "hours_run"]  # fmt: skip
    assert hours["usual"] == "h"


def test_readings_begin_in_the_units_that_instruments_show():
    found = {each["name"]: each for section in description.document()["sections"]
             for each in fields_of(section)}  # fmt: skip
    assert found["power_drive_input"]["usual"] == "kW"
    assert found["bore_suction"]["usualBeside"] == {"ft": "in", "m": "mm"}
    assert found["velocity_rms"]["usualBeside"] == {"ft": "in/s", "m": "mm/s"}
    for each in found.values():
        offered = [each.get("usual"), *each.get("usualBeside", {}).values()]
        assert {unit for unit in offered if unit} <= set(each.get("units", ()))


def test_a_module_that_another_names_is_a_part():
    files = parts.app_files()
    for name, content in files.items():
        if name.endswith(".js"):
            named = re.findall(rb'from "\./([^"]+)"', content)
            assert {each.decode() for each in named} <= set(files), name


def test_what_somebody_entered_is_told_from_what_the_service_says_by_the_documents_own_fields():
    """A program of yesterday takes what it does not know for no change of anybody."""
    found = re.search(r"ENTERED = new Set\(`([^`]*)`", parts.app_files()["sending.js"].decode())
    assert found is not None
    assert set(found[1].split()) == set(Event.model_fields)


def test_another_file_gives_another_version(monkeypatch):
    before = parts.app_parts()["version"]
    files = parts.app_files()
    monkeypatch.setattr(parts, "app_files", lambda: files | {"main.js": b"other"})
    assert parts.app_parts()["version"] != before


def test_what_others_wrote_is_named_with_licence_and_nothing_lies_there_unnamed():
    named = {"manifest.json"}
    for each in runtime.vendored():
        assert (runtime.VENDOR / each["licence_file"]).stat().st_size > 500
        assert {"name", "version", "licence", "from", "about"} <= set(each)
        named |= set(each["files"])
    lying = {path.name for path in runtime.VENDOR.iterdir() if path.is_file()}
    assert lying == named


def test_the_compiled_part_is_of_the_very_release_that_the_service_runs():
    [core] = [each for each in runtime.vendored() if each["name"] == "pydantic_core"]
    assert core["version"] == version("pydantic_core")
    assert all(f"-{core['version']}-" in name for name in core["files"])


def test_the_archive_is_the_same_at_each_making():
    first = runtime.archive.__wrapped__()
    assert runtime.archive.__wrapped__() == first
    names = zipfile.ZipFile(io.BytesIO(first.content)).namelist()
    assert "calculations/offline.py" in names
    assert not [name for name in names if name.startswith(("records", "django", "pydantic/v1"))]


def test_units_come_out_of_the_archive_as_the_registry_gives_them(tmp_path):
    zipfile.ZipFile(io.BytesIO(runtime.archive().content)).extractall(tmp_path)
    program = (
        "import json, pint; from calculations import units;"
        "print(json.dumps([pint.__file__, units.factors_of_expressions()]))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program], cwd=tmp_path, env={"PYTHONPATH": str(tmp_path)},
        capture_output=True, check=True, text=True,
    )  # fmt: skip
    from calculations import units

    place, factors = json.loads(ran.stdout)
    assert place.startswith(str(tmp_path))
    assert factors == units.factors_of_expressions()


def test_a_worker_that_is_woken_sends_by_the_sheets_own_module(stranger):
    woken = stranger.get("/field/sw.js?module").content.decode()
    [named] = re.findall('^import { sendWaiting } from "([^"]+)"', woken)
    assert named in parts.app_parts()["files"]
    plain = stranger.get("/field/sw.js").content.decode()
    assert woken.endswith(plain)
    assert not re.search("^(import|export)", plain, re.MULTILINE)  # is no module everywhere


def test_an_archive_of_another_day_is_not_there(stranger):
    assert stranger.get(f"/field/rules-{'0' * 64}.zip").status_code == 404
    answer = stranger.get(parts.rules_address())
    assert answer["Cache-Control"] == views.FOR_EVER


def nodes(told):
    """Every field of the description, also inside of others."""
    if isinstance(told, list):
        for each in told:
            yield from nodes(each)
    elif isinstance(told, dict):
        yield told
        for each in told.values():
            yield from nodes(each)


def test_the_unit_that_an_instrument_shows_is_among_those_of_its_field():
    told = [each for each in nodes(description.document()) if "usual" in each]
    assert {each["name"] for each in told} == set(description.USUAL_UNITS)
    assert [each for each in told if each["usual"] not in each["units"]] == []


def test_every_part_of_a_visit_can_be_entered():
    told = {node["name"] for section in description.document()["sections"]
            for node in section["fields"]}  # fmt: skip
    elsewhere = {
        "id", "kind", "site", "pump_set", "sensors",  # when it begins
        "device_time", "attachments", "traces", "settings_file",  # by the device, and as files
        "reading_unit_system",  # each value has its own unit
        "settings",  # in two sections
        "corrects", "correction_reason",  # in the office
    }  # fmt: skip
    whole = {info.alias or name for name, info in Event.model_fields.items()}
    assert told - {"as_found", "as_left"} == whole - elsewhere


def test_what_a_plate_says_can_be_entered_but_not_where_the_piece_stands():
    plates = description.document()["plates"]
    motor = {each["name"]: each for each in plates["motors"]}
    assert not {"id", "site", "tag", "in_service_from", "out_of_service_on"} & set(motor)
    assert motor["phases"]["words"] == [[1, "1"], [3, "3"]]  # numbers, as they are sent
    assert motor["ratings"]["ids"] is False
    assert motor["rating_in_use"] == motor["rating_in_use"] | {"type": "position", "of": "ratings"}
    assert set(plates) == {"pumps", "motors", "drives", "sensors", "vessels"}


def test_an_entry_is_what_its_field_declares():
    sections = {each["id"]: each for each in description.document()["sections"]}
    [left] = sections["as_left"]["fields"]
    fields = {each["name"]: each for each in left["fields"]}
    power = fields["motor_power"]
    assert power["units"] == ["W", "kW", "hp", "MW", "hp_metric"]
    assert power["limits"] == "more than 0 kW and at most 100 MW"
    assert power["needed"]
    assert ["off", "Off"] in fields["integral_time"]["also"]
    assert fields["set_point"]["signed"]  # suction pressures are below the atmosphere
    tests = sections["protections"]["fields"][0]["fields"]
    assert [each["name"] for each in tests if each.get("first")] == ["function"]
