"""Documents of sealed records: made once, signed where there is a key, and asked for again."""

import errno

import pytest
from django.core.files.storage import default_storage

from deploy.keys import DOCUMENT_KEY, make_missing_keys
from records import permissions
from records.models import RecordDocument
from records.services import documents
from records.services.files import stored_name
from tests.records import visits
from tests.records.client import leave
from tests.records.documents.reading_back import reader, squeezed, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def asked(teo, orla, station):
    """The document that a seal has just asked for."""
    visits.sealed(teo, orla, station)
    [(identity, attempts)] = documents.missing()
    assert attempts == 0
    return identity


def made(identity) -> RecordDocument:
    leave()
    permissions.enter_as_worker()
    return RecordDocument.objects.get(id=identity)


def stored(document: RecordDocument) -> bytes:
    with default_storage.open(stored_name(bytes(document.sha256)), "rb") as file:
        return file.read()


def test_it_is_signed_by_the_key_for_documents(asked, settings, tmp_path):
    make_missing_keys(tmp_path)
    settings.DOCUMENT_KEY_FILE = tmp_path / DOCUMENT_KEY
    assert documents.make(asked)
    content = stored(made(asked))
    signature = reader(content).root_object["/AcroForm"]["/Fields"][0]["/V"]
    assert signature["/SubFilter"] == "/ETSI.CAdES.detached"
    assert not documents.make(asked)
    assert documents.missing() == []


def test_it_is_printed_as_the_client_wants_it(asked, cast, orla, settings):
    """Letter: ANSI/ASME Y14.1, 8.5 in by 11 in."""
    settings.DOCUMENT_KEY_FILE = None
    path = f"/organizations/{cast.client}"
    wanted = {"units": "si", "paper": "letter"}
    assert orla.patch(path, wanted, orla.get(path).etag).status == 200
    leave()
    assert documents.make(asked)
    content = stored(made(asked))
    box = reader(content).pages[0].mediabox
    assert (float(box.width), float(box.height)) == (612, 792)
    assert "printedinSI" in squeezed(text(content))


def test_without_a_key_it_is_made_unsigned(asked, settings):
    settings.DOCUMENT_KEY_FILE = None
    assert documents.make(asked)
    assert "/AcroForm" not in reader(stored(made(asked))).root_object


def test_where_the_key_cannot_be_read_it_is_asked_for_again(asked, settings, tmp_path):
    settings.DOCUMENT_KEY_FILE = tmp_path / "gone.pem"
    assert not documents.make(asked)
    document = made(asked)
    assert (document.sha256, document.attempts) == (None, 1)
    assert "FileNotFoundError" in document.last_error
    assert documents.missing() == [(asked, 1)]


@pytest.mark.parametrize("step", ["render", "store"])
def test_what_fails_is_counted_and_told_without_its_inside(asked, cleo, monkeypatch, step):
    def broken(*_):
        raise OSError(errno.ENOSPC, "No space left on device", "/srv/files/.unfinished/tmp1")

    with monkeypatch.context() as patched:
        patched.setattr(documents, step, broken)
        assert [documents.make(asked), documents.make(asked)] == [False, False]
    document = made(asked)
    assert (document.sha256, document.attempts) == (None, 2)
    assert "No space left" in document.last_error
    told = cleo.get(f"/operations/{asked}").json
    assert (told["state"], told["result"]) == ("failed", None)
    assert told["detail"] == "the document could not be made so far, and is tried again"
    leave()
    assert documents.make(asked)
    told = cleo.get(f"/operations/{asked}").json
    assert (told["state"], told["detail"]) == ("done", "")
