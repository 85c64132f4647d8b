"""Dropping what nobody has worked on for long, where the storage of files fails meanwhile."""

from datetime import timedelta
from types import SimpleNamespace

from django.core.files.storage import default_storage
from django.db import transaction
from django.test import TestCase
from django.utils import timezone

from records import permissions
from records.models import Import
from records.services.importing import imports
from tests.records.client import leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.test_imports import send, stored, whole


def test_one_file_that_cannot_be_dropped_keeps_no_other(api, cast, station, monkeypatch):
    office = Walker.of(cast.orla)
    send(office, whole())
    send(office, whole())
    first, second = (stored(of) for of in Import.objects.order_by("row"))

    def delete(name):
        if name == first:
            raise RuntimeError("the storage is away")
        default_storage.delete(name)

    monkeypatch.setattr(imports, "default_storage", SimpleNamespace(delete=delete))
    leave()
    with TestCase.captureOnCommitCallbacks(execute=True), transaction.atomic():
        permissions.enter_as_worker()
        Import.objects.update(changed_at=timezone.now() - timedelta(days=401))
        assert imports.forget_old() == 2
    assert not default_storage.exists(second)
