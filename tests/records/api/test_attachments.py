"""Photographs and documents over the API: known by content, drawn anew, part of the record."""

import hashlib
import io

import pytest
from PIL import Image

from tests.records import pdfs, visits
from tests.records.visits import new_id

PDF = pdfs.smallest()
ORIENTATION, GPS, LATITUDE = 0x0112, 0x8825, 2  # Exif 2.32, tables 4, 5 and 15
WORDS = b"of a camera that nobody needs to know"


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


def photograph(kind: str = "JPEG", size: tuple[int, int] = (64, 32)) -> bytes:
    """Left half red, right half blue, held by a quarter turn, with a position in it."""
    picture = Image.new("RGB", size, "red")
    picture.paste("blue", (size[0] // 2, 0, size[0], size[1]))
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # the top of what is seen is the right-hand side of the file
    exif[0x010F] = WORDS.decode()
    exif.get_ifd(GPS)[LATITUDE] = (51.0, 30.0, 26.0)
    file = io.BytesIO()
    picture.save(file, kind, exif=exif.tobytes(), comment=WORDS)
    return file.getvalue()


def attach(person, event, body: bytes, media="application/octet-stream", **query: str):
    query = {"purpose": "motor_plate", "name": "plate.jpg"} | query
    words = "&".join(f"{name}={value}" for name, value in query.items())
    return person.call("POST", f"/events/{event['id']}/attachments?{words}", body, media=media)


def kept(person, event) -> list:
    return person.get(f"/events/{event['id']}/attachments").json["items"]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photograph_is_drawn_anew_and_upright(teo, draft, kind):
    sent = photograph(kind)
    posted = attach(teo, draft, sent)
    assert posted.status == 201, posted.json
    told = posted.json
    assert told["content_type"] == "image/jpeg"
    assert told["sent_sha256"] == hashlib.sha256(sent).hexdigest()
    file = teo.get(posted.headers["Location"])
    content = file.rows()
    assert (told["sha256"], told["size"]) == (hashlib.sha256(content).hexdigest(), len(content))
    assert WORDS not in content
    with Image.open(io.BytesIO(content)) as picture:
        assert picture.size == (32, 64)
        assert dict(picture.getexif()) == {}
        red, _, blue = picture.getpixel((16, 4))
        assert red > 200 > 50 > blue


def test_what_is_transparent_in_a_drawing_stays_so(teo, draft):
    drawing = Image.new("P", (40, 40), 1)
    drawing.putpalette([255, 0, 0, 255, 255, 255])
    drawing.paste(0, (0, 0, 20, 40))
    file = io.BytesIO()
    drawing.save(file, "PNG", transparency=1)
    posted = attach(teo, draft, file.getvalue(), purpose="other", name="drawing.png")
    assert posted.json["content_type"] == "image/png"
    with Image.open(io.BytesIO(teo.get(posted.headers["Location"]).rows())) as kept_drawing:
        assert kept_drawing.getpixel((5, 5)) == (255, 0, 0, 255)
        assert kept_drawing.getpixel((30, 5))[3] == 0


def test_a_download_is_saved_and_never_shown(teo, draft):
    posted = attach(teo, draft, PDF, purpose="certificate", name="C-77%20gauge.pdf")
    file = teo.get(posted.headers["Location"])
    assert (file.status, file.rows(), file.type) == (200, PDF, "application/pdf")
    assert file.headers["Content-Disposition"] == 'attachment; filename="C-77 gauge.pdf"'
    assert file.headers["X-Content-Type-Options"] == "nosniff"
    assert "default-src" in file.headers["Content-Security-Policy"]
    again = teo.call("GET", posted.headers["Location"], If_None_Match=file.etag)
    assert (again.status, again.content, again.etag) == (304, b"", file.etag)


@pytest.mark.parametrize(
    "body",
    [
        b"<html><script>alert(1)</script>",
        b"\xef\xbb\xbf \n<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"<?xml version='1.0'?><svg/>",
        b"MZ\x90\x00",
        b"PK\x03\x04" + bytes(200),
        b"GIF89a" + bytes(20),
        b"\xff\xd8\xff<script>alert(1)</script>",
        b"\x89PNG\r\n\x1a\n<script>alert(1)</script>",
        b"RIFF\x00\x00\x00\x00AVI LIST",
        b"text with \0 in it",
        b"%PDF-1.4\nMZ",
        b"%PDF-1.7 is what this text is called\n",
        b"   \n",
        photograph()[:-200],
    ],
)
def test_what_is_no_picture_document_or_text_is_refused(teo, draft, body):
    refused = attach(teo, draft, body, media="image/jpeg")
    assert refused.status == 400
    assert "expected" in refused.json["errors"][0]["detail"]
    assert kept(teo, draft) == []


def test_text_is_text_whatever_it_is_called(teo, draft):
    posted = attach(teo, draft, b"GIF89a/*<script>alert(1)</script>*/", media="image/gif")
    file = teo.get(posted.headers["Location"])
    assert file.type == "text/plain; charset=utf-8"
    assert file.headers["Content-Disposition"].startswith("attachment")


@pytest.mark.parametrize(
    ("body", "purpose", "name", "saved"),
    [
        (b"a <script>alert(1)</script>", "other", "page.html", "page.html.txt"),
        (b"time;value", "other", "LOG.CSV", "LOG.CSV"),
        (photograph(), "motor_plate", "plate.exe", "plate.exe.jpg"),
        (photograph("WEBP"), "motor_plate", "plate.webp", "plate.webp.jpg"),
        (PDF, "certificate", "C-77", "C-77.pdf"),
        (b"<script>", "settings_file", "drive.HTML", "drive.HTML.bin"),
        (b"<script>", "settings_file", "drive.html.", "drive.html..bin"),
        (b"<script>", "settings_file", ".html", ".html.bin"),
        (b"<script>", "settings_file", "html", "html"),
        (b"MZ\x90", "settings_file", "drive.set", "drive.set"),
    ],
)
def test_a_download_is_called_what_it_is(teo, draft, body, purpose, name, saved):
    """A system opens a saved file by the ending of its name, whatever was said of it."""
    posted = attach(teo, draft, body, purpose=purpose, name=name)
    file = teo.get(posted.headers["Location"])
    assert file.headers["Content-Disposition"] == f'attachment; filename="{saved}"'


def test_a_page_hidden_behind_a_picture_is_gone(teo, draft):
    posted = attach(teo, draft, photograph() + b"<script>alert(1)</script>")
    assert posted.status == 201
    assert b"script" not in teo.get(posted.headers["Location"]).rows()


@pytest.mark.parametrize("size", [(20_000, 20_000), (8_000, 7_501)])
def test_a_bomb_of_pixels_is_refused(teo, draft, size):
    """Of which the library refuses the first alone."""
    file = io.BytesIO()
    Image.new("1", size).save(file, "PNG")
    refused = attach(teo, draft, file.getvalue())
    assert refused.status == 400
    assert "million pixels" in refused.json["errors"][0]["detail"]


@pytest.mark.parametrize("beginning", [b"<html>\0", b"%PDF-1.4\nMZ", b"RIFF\x00\x01\x00\x00SETS"])
def test_a_settings_file_may_hold_any_bytes_and_none_opens_it(teo, draft, beginning):
    backup = beginning + bytes(range(256))
    posted = attach(teo, draft, backup, purpose="settings_file", name="drive.bin")
    assert posted.json["content_type"] == "application/octet-stream"
    assert teo.get(posted.headers["Location"]).rows() == backup


def test_the_same_again_changes_nothing(teo, draft):
    identity = new_id()
    first, again = (attach(teo, draft, photograph(), id=identity) for _ in range(2))
    assert (first.status, again.status) == (201, 200)
    assert first.json == again.json
    other = attach(teo, draft, photograph(size=(80, 40)), id=identity)
    assert (other.status, other.pointers) == (409, ["/id"])
    assert len(kept(teo, draft)) == 1


def test_other_bytes_than_announced_are_refused(teo, draft):
    digest = hashlib.sha256(PDF).hexdigest()
    assert attach(teo, draft, PDF, sha256=digest, name="a.pdf").status == 201
    refused = attach(teo, draft, PDF + b"x", sha256=digest, name="b.pdf")
    assert (refused.status, refused.pointers) == (400, ["/sha256"])


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({"purpose": "holiday"}, "/purpose"),
        ({"name": "%20"}, "/name"),
        ({"name": "plate.jpg%0A"}, "/name"),
        ({"name": "pl%00ate.jpg"}, "/name"),
        ({"id": "7"}, "/id"),
        ({"sha256": "abc"}, "/sha256"),
    ],
)
def test_what_is_said_beside_the_bytes_is_checked(teo, draft, query, pointer):
    refused = attach(teo, draft, PDF, **query)
    assert (refused.status, refused.pointers) == (400, [pointer])


def test_too_much_is_refused_before_it_is_read(teo, draft, monkeypatch):
    monkeypatch.setattr("records.services.attachments.LARGEST", 10)
    assert attach(teo, draft, PDF).status == 413


def test_a_new_attachment_makes_signatures_void(teo, orla, station):
    event = visits.signed(teo, orla, station)
    assert attach(teo, event, PDF, name="late.pdf").status == 201
    assert teo.get(f"/events/{event['id']}").json["signatures"] == []


def test_the_client_gets_a_record_with_its_files_and_nobody_else_does(
    teo, orla, cleo, otto, cato, station
):
    event = visits.post(teo, station)
    told = attach(teo, event, PDF, name="c.pdf").json
    visits.answer_all(orla, event)
    assert visits.sign(teo, event, "performed").status == 201
    assert visits.sign(orla, event, "reviewed").status == 201
    record = orla.post(f"/events/{event['id']}/seal").json
    text = cleo.get(f"/records/{record['id']}/data.json").json["record"]
    assert [(each["id"], each["sha256"]) for each in text["attachments"]] == [
        (told["id"], told["sha256"])
    ]
    path = f"/records/{record['id']}/files/{told['id']}"
    assert cleo.get(path).rows() == PDF
    assert cleo.get(f"/records/{record['id']}/files/{new_id()}").status == 404
    assert (otto.get(path).status, cato.get(path).status) == (404, 404)
    assert attach(teo, event, PDF, name="d.pdf").status == 409


def test_what_was_sent_is_not_missing(teo, station):
    event = station.event()
    del event["settings_file"], event["attachments"]
    draft = teo.post("/events", event).json
    said = [f["sentence"] for f in draft["findings"] if f["rule"] == "record.missing"]
    assert any("settings file" in sentence for sentence in said)
    assert any("motor plate" in sentence for sentence in said)
    assert attach(teo, draft, b"backup", purpose="settings_file", name="d.bin").status == 201
    assert attach(teo, draft, photograph()).status == 201
    now = teo.get(f"/events/{draft['id']}").json
    said = [f["sentence"] for f in now["findings"] if f["rule"] == "record.missing"]
    assert not any("settings file" in sentence or "motor plate" in sentence for sentence in said)


def lacking(teo, draft) -> list[str]:
    """What is said of files that are named and have not come."""
    found = teo.get(f"/events/{draft['id']}").json["findings"]
    rule = visits.NOT_RECEIVED
    return [(f["severity"], f["sentence"]) for f in found if f["rule"] == rule]


def test_a_file_that_is_named_and_was_not_sent_is_told(teo, station):
    sent = photograph()
    digest = hashlib.sha256(sent).hexdigest()
    event = station.event(
        settings_file={"purpose": "settings_file", "name": "D-101.bin"},
        attachments=[
            {"purpose": "motor_plate", "name": "motor.jpg"},
            {"purpose": "drive_plate", "name": "drive.jpg", "sha256": digest},
            {"purpose": "sensor_plate"},
        ],
    )
    draft = teo.post("/events", event).json
    start = "Named, but the file was not received: "
    everything = "motor.jpg, drive.jpg, sensor plate, D-101.bin."
    assert lacking(teo, draft) == [("note", start + everything)]
    told = attach(teo, draft, sent, purpose="other", name="1.jpg")  # known by its digest
    assert lacking(teo, draft) == [("note", start + "motor.jpg, sensor plate, D-101.bin.")]
    assert attach(teo, draft, sent, purpose="sensor_plate", name="2.jpg").status == 201
    assert attach(teo, draft, sent, purpose="other", name="motor.jpg").status == 201
    assert lacking(teo, draft) == [("note", start + "D-101.bin.")]
    assert attach(teo, draft, b"backup", purpose="settings_file", name="d.bin").status == 201
    assert lacking(teo, draft) == []
    assert teo.delete(told.headers["Location"]).status == 204
    # A digest is of these bytes alone, and they have come under another name besides.
    assert lacking(teo, draft) == []


def test_where_nothing_is_kept_nobody_asks_for_files(teo, station):
    judged = teo.post("/evaluations", {"event": {"attachments": [{"purpose": "motor_plate"}]}})
    told = {each["rule"] for each in (*judged.json["findings"], *judged.json["not_evaluated"])}
    assert visits.NOT_RECEIVED not in told


@pytest.mark.parametrize(
    ("place", "value"),
    [
        ("/event/attachments/0/sha256", {"attachments": [{"name": "a.jpg", "sha256": "0" * 64}]}),
        ("/event/settings_file/sha256", {"settings_file": {"name": "d.bin", "sha256": "1" * 64}}),
        ("/event/traces/0/sha256", {"traces": [{"name": "t.csv", "sha256": "2" * 64}]}),
        ("/event/step_tests/0/trace", {"step_tests": [{"trace": new_id()}]}),
    ],
)
def test_a_digest_or_trace_of_which_no_bytes_came_is_not_sealed(teo, orla, station, place, value):
    event = visits.signed(teo, orla, station, **value)
    refused = orla.post(f"/events/{event['id']}/seal")
    assert (refused.status, refused.pointers) == (409, [place])


def test_what_was_sent_may_be_named_by_either_digest(teo, orla, station):
    event = visits.post(teo, station)
    told = attach(teo, event, photograph()).json
    path = f"/events/{event['id']}"
    named = [{"name": "a", "sha256": told["sha256"]}, {"name": "b", "sha256": told["sent_sha256"]}]
    assert teo.patch(path, {"attachments": named}, teo.get(path).etag).status == 200
    visits.sign_both(teo, orla, event)
    assert orla.post(f"{path}/seal").status == 201


@pytest.mark.parametrize(
    ("body", "purpose"),
    [
        (photograph("JPEG"), "motor_plate"),
        (PDF, "certificate"),
        (b"A note.", "other"),
        (b"\x00\x01", "settings_file"),
    ],
)
def test_the_openapi_document_names_each_media_type_that_a_file_is_answered_in(
    teo, nobody, draft, body, purpose
):
    kept = attach(teo, draft, body, purpose=purpose).json
    where = f"/events/{draft['id']}/attachments/{kept['id']}"
    answered = teo.get(where).type.partition(";")[0]
    paths = nobody.get("/schema").json["paths"]
    for path in ("events/{id}/attachments/{attachment}", "records/{id}/files/{file}"):
        assert answered in paths[f"/api/v1/{path}"]["get"]["responses"]["200"]["content"]
