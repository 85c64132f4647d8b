"""Documents of sealed records: made once after sealing, kept under the digest of their bytes."""

import json
import logging
import zlib
from functools import lru_cache
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from records import permissions
from records.documents.document_key import DocumentKey
from records.documents.record_pdf import render
from records.documents.signing import sign
from records.models import Clientele, RecordDocument
from records.selectors import plotted, sealed
from records.services.files import store

log = logging.getLogger(__name__)


def missing() -> list[tuple[UUID, int]]:
    """Documents that are asked for and not made yet, oldest first, with the attempts so far."""
    with transaction.atomic():
        permissions.enter_as_worker()
        rows = RecordDocument.objects.filter(sha256=None).order_by("asked_at")
        return list(rows.values_list("id", "attempts")[:1000])


def make(identity: UUID) -> bool:
    """Make one document; False if it was made already. Safe to run twice, and at once."""
    with transaction.atomic():
        permissions.enter_as_worker()
        document = _waiting(identity)
        if document is None:
            return False
        try:
            content = _render(document)
            digest = store(content)
        except Exception as error:
            log.exception("document %s could not be made", identity)
            document.attempts += 1
            document.last_error = f"{type(error).__name__}: {error}"[:500]
            document.save(update_fields=["attempts", "last_error"])
            return False
        document.sha256, document.size = digest, len(content)
        document.crc32 = zlib.crc32(content)
        document.made_at, document.last_error = timezone.now(), ""
        document.save(update_fields=["sha256", "size", "crc32", "made_at", "last_error"])
        return True


def _waiting(identity: UUID) -> RecordDocument | None:
    rows = RecordDocument.objects.select_for_update(of=("self",), skip_locked=True)
    return rows.filter(id=identity, sha256=None).first()


def _render(document: RecordDocument) -> bytes:
    record = document.record
    content = json.loads(bytes(record.canonical))
    parties = {"contractor_id": record.contractor_id, "client_id": record.client_id}
    style = Clientele.objects.get(**parties).style
    beside = plotted.of_record(record, content)
    pdf = render(content, sealed.seal(record), sealed.data(record), style, beside)
    key = _document_key()
    return sign(pdf, key) if key else pdf


def _document_key() -> DocumentKey | None:
    """What documents are signed with; None where the installation names no key for them."""
    file: Path | None = settings.DOCUMENT_KEY_FILE
    return _load(file, file.stat().st_mtime_ns) if file else None


@lru_cache(maxsize=1)  # a key that was exchanged does not stay in memory
def _load(file: Path, changed: int) -> DocumentKey:
    return DocumentKey.read(file.read_bytes())
