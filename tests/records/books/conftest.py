"""Two installations: the tests' own with the world's work in it, and an empty one elsewhere."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from records.selectors.books import Wanted
from records.services import documents, taking_in, taking_out
from records.services.taking_in import Taken
from tests import database
from tests.records import world as worlds
from tests.records.books.installations import Installation, files_in, owner_of
from tests.records.world import World

SERVICE = "the first service"


@pytest.fixture(scope="module")
def _elsewhere(
    database_name: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Installation]:
    name = f"{database_name}_elsewhere"
    database.copy_template(name)
    yield Installation(name, tmp_path_factory.mktemp("elsewhere"))
    database.drop(name)


@pytest.fixture
def elsewhere(_elsewhere: Installation) -> Installation:
    """The other installation, before any book comes in."""
    _elsewhere.begin()
    return _elsewhere


@pytest.fixture(scope="module")
def _kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("books")


@pytest.fixture
def world(stage, signing_key, settings, cleared_afterwards, _kept) -> World:
    """Two contractors' work, committed, with a document made of each record, and its files."""
    settings.DOCUMENT_KEY_FILE = None
    settings.STORAGES = files_in(settings, _kept / "files")
    world = worlds.of(stage)
    with stage.blocker.unblock():
        for identity, _ in documents.missing():
            assert documents.make(identity)
    return world


@pytest.fixture
def take_out(world, cast, database_name, _kept, db):
    """Writes Cleo's book, once for each choice; its file."""

    def write(*, drafts: bool = False) -> Path:
        file = _kept / f"book-{drafts}.zip"
        if not file.exists():
            with owner_of(database_name) as using:
                wanted = Wanted(cast.client, SERVICE, drafts)
                taking_out.take_out(wanted, file, "Ines", "The client's letter.", using)
        return file

    return write


@pytest.fixture
def book(take_out) -> Path:
    """Without drafts."""
    return take_out()


@pytest.fixture
def take_in(elsewhere, settings):
    """Takes a file in at the other installation, as the operator's command does."""

    def run(file: Path, contractor: UUID | None = None, **more: Any) -> Taken:
        whom = contractor or elsewhere.contractor
        wanted = taking_in.Wanted(whom, "Ines", "The client's letter.", **more)
        with elsewhere.entered(settings), owner_of(elsewhere.database) as using:
            return taking_in.take_in(file, wanted, using)

    return run
