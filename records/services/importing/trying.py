"""Each row is tried on the book, by the very services that the API calls, and taken back.

So what refuses a row in the preview is what would refuse it when it is written: fields, limits,
what is asked of a resource as a whole, and the constraints of the database. What an earlier row
adds, a later one can name.
"""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import islice
from typing import Any
from uuid import UUID

from django.db import transaction

from records.documents.columns import built
from records.documents.tables import TITLES
from records.errors import BookError
from records.permissions import Actor
from records.services import holding, register
from records.services.entering import NotSo
from records.services.importing.layouts import Layout
from records.services.importing.places import Known, Places, known
from records.services.importing.rows import Read, Reader, patch, rows
from records.services.importing.sheets import MOST_ROWS, NoSpreadsheet, Opened
from records.services.kinds import KINDS, Kind


@dataclass
class Line:
    """What would become of a row."""

    read: Read
    name: str = ""
    verdict: str = "refused"
    subject: UUID | None = None
    revision: int | None = None
    document: dict[str, Any] | None = None
    told: Any = field(default_factory=list)


class Refused(Exception):
    """A row that cannot be taken, with what is wrong at its columns."""

    def __init__(self, told: list[dict[str, str]]) -> None:
        self.told = told
        super().__init__()


class Trying:
    """Tries a file's rows, one after another."""

    def __init__(self, actor: Actor) -> None:
        self.actor, self.places = actor, Places(actor)
        self._seen: dict[tuple[str, str, str], str] = {}

    def lines(self, opened: Opened, layout: Layout) -> Iterator[Line]:
        """Every row in the order of writing; leaves what it did in the open transaction."""
        pages = _pages(layout)
        _refuse_too_many(opened, pages)
        holding.new_stations_of(self._brought_to(opened, pages))
        holding.stations_as_they_are(self._added_to(opened, pages))
        for page in pages:
            reader = Reader.of(page, opened.decimal_comma)
            for number, cells in rows(opened, page):
                yield self._line(reader, reader.row(number, cells))

    def _added_to(self, opened: Opened, pages: Layout) -> set[UUID]:
        """Stations of the book at which rows add something: adding holds the station.

        Others hold several in an order that is not the file's.
        """
        found = set()
        for page in [page for page in pages if page["kind"] != "sites"]:
            reader = Reader.of(page, opened.decimal_comma)
            for number, cells in rows(opened, page):
                site, tag = self._place(reader.row(number, cells))
                if site and not self.places.holds(page["kind"], site, tag):
                    found.add(site)
        return found

    def _brought_to(self, opened: Opened, pages: Layout) -> set[UUID]:
        """Clients that rows bring new stations for."""
        found = set()
        for page in [page for page in pages if page["kind"] == "sites"]:
            reader = Reader.of(page, opened.decimal_comma)
            for number, cells in rows(opened, page):
                values = reader.row(number, cells).values
                called, code = (str(values.get((name,), "")) for name in ("client", "code"))
                with suppress(NotSo):
                    client = self.places.client(called)
                    if self.places.site(code, client) is None:
                        found.add(client)
        return found

    def _place(self, read: Read) -> tuple[UUID | None, str]:
        code, tag = (str(read.values.get((name,), "")) for name in ("site", "tag"))
        try:
            return self.places.site(code), tag
        except NotSo:
            return None, tag

    def _line(self, reader: Reader, read: Read) -> Line:
        line = Line(read, name=_name(read))
        kind = KINDS[read.kind]
        try:
            with transaction.atomic():
                self._try(kind, reader, line)
        except Refused as error:
            line.verdict, line.told, line.document = "refused", error.told, None
        except BookError as error:
            line.verdict, line.document = "refused", None
            line.told = _told(reader, read, error)
        return line

    def _try(self, kind: Kind, reader: Reader, line: Line) -> None:
        read = line.read
        there = self._there(kind, reader, read)
        self._once(kind, reader, line)
        if there is None:
            self._create(kind, line)
        else:
            self._change(kind, line, there)

    def _there(self, kind: Kind, reader: Reader, read: Read) -> Known | None:
        """What the row is about; its names of others become ids."""
        if kind.name == "sites":
            return self._station(reader, read)
        self._resolve(reader, read, "site", lambda code: _site(self.places.site(code), code))
        site, tag = read.values.get(("site",)), read.values.get(("tag",))
        if site is None or not tag:
            raise Refused(read.refused or [reader.refusal("tag", "expected station and tag")])
        where = UUID(site)
        if kind.name == "pump-sets":
            self._joined(kind, reader, read, where)
        there = self.places.piece(kind.name, where, tag)
        return self._checked(kind, reader, read, where, there)

    def _station(self, reader: Reader, read: Read) -> Known | None:
        self._resolve(reader, read, "client", lambda name: str(self.places.client(name)))
        client = read.values.get(("client",))
        code = read.values.get(("code",))
        if not code:
            raise Refused([*read.refused, reader.refusal("code", "this field is required")])
        try:
            site = self.places.site(code, UUID(client) if client else None)
        except NotSo as error:
            raise Refused([*read.refused, reader.refusal("code", str(error))]) from None
        return Known(site, None, None) if site else None

    def _joined(self, kind: Kind, reader: Reader, read: Read, site: UUID) -> None:
        """Tags of pieces become their ids."""
        for name, model in kind.relations.items():
            other = next((k.name for k in KINDS.values() if k.model is model), "")
            if name != "site":
                self._resolve(
                    reader, read, name, lambda tag, o=other: str(self.places.by_tag(o, site, tag))
                )
        shared = ("drive_shared_with",)
        if shared in read.values:
            try:
                tags = read.values.pop(shared)
                read.values[shared] = [
                    str(self.places.by_tag("pump-sets", site, tag)) for tag in tags
                ]
            except NotSo as error:
                read.refused.append(reader.refusal(shared[0], str(error)))

    def _resolve(self, reader: Reader, read: Read, name: str, find: Any) -> None:
        called = read.values.pop((name,), None)
        if called is None:
            return
        try:
            read.values[name,] = find(called)
        except NotSo as error:
            read.refused.append(reader.refusal(name, str(error)))

    def _checked(
        self, kind: Kind, reader: Reader, read: Read, site: UUID, there: Known | None
    ) -> Known | None:
        """The same thing, and not another one at its tag."""
        serial = read.values.get(("serial",))
        if there and there.serial and serial and there.serial != serial:
            words = (
                f"at this tag stands No. {there.serial}: replace it by hand, or correct its serial "
                "number there"
            )
            raise Refused([*read.refused, reader.refusal("serial", words)])
        if there:
            return there
        out = read.values.get(("out_of_service_on",))
        gone = self.places.gone(kind.name, site, read.values["tag",])
        for each in gone:
            if out == each.out and serial in (None, each.serial):
                return each
        if not out and serial and any(each.serial == serial for each in gone):
            words = "it was taken out of service here: enter it by hand where it is back"
            raise Refused([*read.refused, reader.refusal("serial", words)])
        return None

    def _once(self, kind: Kind, reader: Reader, line: Line) -> None:
        """Two rows of one file about the same thing contradict each other."""
        read = line.read
        whose = read.values.get(("site",)) or read.values.get(("client",)) or ""
        called = read.values.get(("tag",)) or read.values.get(("code",)) or ""
        out = read.values.get(("out_of_service_on",)) or ""
        key = (kind.name, str(whose), f"{called}\n{out}")
        if key in self._seen:
            words = f"{self._seen[key]} is about the same one: leave one of them out"
            place = "code" if kind.name == "sites" else "tag"
            raise Refused([*read.refused, reader.refusal(place, words)])
        self._seen[key] = f"row {read.number} of “{read.sheet}”"

    def _create(self, kind: Kind, line: Line) -> None:
        given = built(line.read.values)
        row: Any = register.create(self.actor, kind, given)[0]
        document = {**given, "id": str(row.id)}
        if line.read.refused:
            raise Refused(line.read.refused)
        if kind.name == "sites":
            self.places.add_site(row)
        else:
            self.places.add_piece(kind.name, row.site.id, row.tag, known(row))
        line.verdict, line.subject, line.document = "created", row.id, document

    def _change(self, kind: Kind, line: Line, there: Known) -> None:
        row: Any = register.get(self.actor, kind, there.id)
        held = register.to_document(kind, row)
        changed = patch(held, line.read.values)
        line.subject, line.revision = row.id, row.revision
        if line.read.refused:
            raise Refused(line.read.refused)
        if not changed:
            line.verdict = "same"
            return
        after: Any = register.change(self.actor, kind, row.id, changed, row.revision)
        if kind.name == "pump-sets" or "out_of_service_on" in changed:
            self.places.add_piece(kind.name, after.site.id, after.tag, known(after))
        else:
            # No other row needs it, and nobody else has to wait for it.
            transaction.set_rollback(True)
        line.verdict, line.document = "changed", changed
        line.told = {"before": {name: held.get(name) for name in changed}, "after": changed}


def _told(reader: Reader, read: Read, error: BookError) -> list[dict[str, str]]:
    """A field that could not be read is not told to be lacking as well."""
    heads = {each["head"] for each in read.refused}
    more = reader.refusals(error.problems, error.detail)
    return [*read.refused, *(each for each in more if each["head"] not in heads)]


def _site(found: UUID | None, code: str) -> str:
    if found is None:
        raise NotSo(f"there is no station of the code {code[:40]!r}")
    return str(found)


def _name(read: Read) -> str:
    """What people call it, as the row says."""
    parts = [read.values.get((name,)) for name in ("site", "tag", "code", "name")]
    return " ".join(str(each) for each in parts if each)[:200]


def _pages(layout: Layout) -> Layout:
    """In the order of writing: what others name comes first."""
    return [page for kind in TITLES for page in layout if page["kind"] == kind]


def _refuse_too_many(opened: Opened, pages: Layout) -> None:
    """Before the first is tried: reading takes seconds, trying many minutes."""
    every = ((page["name"], number) for page in pages for number, _ in rows(opened, page))
    first = next(islice(every, MOST_ROWS, None), None)
    if first is not None:
        raise _too_many(*first)


def _too_many(sheet: str, number: int) -> NoSpreadsheet:
    return NoSpreadsheet(
        f"The file holds more than {MOST_ROWS:,} rows: row {number} of “{sheet}” is the first too "
        "many. Part it into several files; stations first, so that the others find them."
    )
