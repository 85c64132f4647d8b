"""Dropping what nobody has worked on for long, and a file that is gone."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.core.files.storage import default_storage
from django.db import transaction
from django.test import TestCase
from django.utils import timezone

from records import permissions
from records.models import Import, ImportLine
from records.services.importing import imports
from tests.records.client import leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.importing import (
    background,
    checked,
    send,
    stored,
    whole,
    written,
)
from tests.records.pages.sending import form


@pytest.fixture
def office(api, cast, station):
    return Walker.of(cast.orla)


def test_one_file_that_cannot_be_dropped_keeps_no_other(office, monkeypatch):
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


def test_an_import_is_dropped_with_rows_and_file_when_its_time_is_over(office, orla):
    written(office, checked(office, whole()))
    [of] = Import.objects.all()
    place = stored(of)

    def after(days):
        leave()
        with TestCase.captureOnCommitCallbacks(execute=True), transaction.atomic():
            permissions.enter_as_worker()
            Import.objects.update(changed_at=timezone.now() - timedelta(days=days))
            imports.forget_old()
        leave()
        office.get("/import")  # in the office's place again
        return default_storage.exists(place), ImportLine.objects.count(), Import.objects.count()

    assert after(399) == (True, 4, 1)
    assert after(401) == (False, 0, 0)
    assert office.get(office.here).status == 404
    assert len(orla.get("/pumps?tag=P-1").json["items"]) == 1


def test_a_file_that_is_gone_is_asked_for_again(office):
    form(send(office, whole()), "/columns").send(office)
    default_storage.delete(stored(Import.objects.get()))
    assert "The file is no longer here: send it again." in background(office).words
