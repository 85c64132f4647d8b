"""What the book holds already, found by what a spreadsheet calls it: codes, tags, names."""

from dataclasses import dataclass, field
from typing import Any, NamedTuple
from uuid import UUID

from records.documents.columns import plain
from records.models.base import Registered
from records.permissions import Actor
from records.selectors import organizations
from records.services import register
from records.services.entering import NotSo
from records.services.kinds import KINDS


class Known(NamedTuple):
    """A piece that is in the book, or was added by an earlier row."""

    id: UUID
    serial: str | None
    out: str | None


@dataclass
class Places:
    """Stations by code and pieces by station and tag; read once a kind, and kept up."""

    actor: Actor
    _clients: dict[str, UUID] = field(default_factory=dict)
    _sites: dict[str, list[tuple[UUID, UUID]]] = field(default_factory=dict)
    _pieces: dict[str, dict[tuple[UUID, str], list[Known]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        own = self.actor.organization_id
        rows = organizations.rows(self.actor)
        self._clients = {plain(each.name): each.id for each in rows if each.id != own}
        self._clients |= {plain(each.name): each.id for each in rows if each.id == own}
        sites: Any = register.rows(self.actor, KINDS["sites"])
        for code, site, client in sites.values_list("code", "id", "client_id"):
            self._sites.setdefault(code, []).append((site, client))

    def client(self, name: str) -> UUID:
        """The client that is called so."""
        found = self._clients.get(plain(name))
        if found is None:
            raise NotSo(f"there is no client of this name among yours: {name[:40]!r}")
        return found

    def site(self, code: str, client: UUID | None = None) -> UUID | None:
        """The station of this code, of a client where one is said; None where there is none."""
        found = [site for site, of in self._sites.get(code, ()) if client in (None, of)]
        if len(found) > 1:
            raise NotSo(f"several clients have a station of the code {code}: say which in a "
                        "column for the client, or enter it by hand")  # fmt: skip
        return found[0] if found else None

    def piece(self, kind: str, site: UUID, tag: str) -> Known | None:
        """What is in service at a tag."""
        return next((each for each in self._at(kind, site, tag) if each.out is None), None)

    def holds(self, kind: str, site: UUID, tag: str) -> bool:
        """Whether anything is or was in service at a tag."""
        return bool(self._at(kind, site, tag))

    def gone(self, kind: str, site: UUID, tag: str) -> list[Known]:
        """What was taken out of service there."""
        return [each for each in self._at(kind, site, tag) if each.out is not None]

    def by_tag(self, kind: str, site: UUID, tag: str) -> UUID:
        """The id of what is in service at a tag, for what names it."""
        found = self.piece(kind, site, tag)
        if found is None:
            one = kind.replace("-", " ").removesuffix("s")
            raise NotSo(f"there is no {one} {tag[:40]!r} in service at this station")
        return found.id

    def add_site(self, row: Any) -> None:
        """A station was added."""
        self._sites.setdefault(row.code, []).append((row.id, row.client_id))

    def add_piece(self, kind: str, site: UUID, tag: str, known: Known) -> None:
        """A piece was added, or taken out: it counts from now on."""
        there = self._at(kind, site, tag)
        there[:] = [each for each in there if each.id != known.id] + [known]

    def _at(self, kind: str, site: UUID, tag: str) -> list[Known]:
        if kind not in self._pieces:
            self._pieces[kind] = self._read(kind)
        return self._pieces[kind].setdefault((site, tag), [])

    def _read(self, kind: str) -> dict[tuple[UUID, str], list[Known]]:
        found: dict[tuple[UUID, str], list[Known]] = {}
        pieces: Any = register.rows(self.actor, KINDS[kind])
        columns = ("site__id", "tag", "id", "plate__serial", "out_of_service_on")
        for site, tag, identity, serial, out in pieces.values_list(*columns).iterator():
            known = Known(identity, serial, out.isoformat() if out else None)
            found.setdefault((site, tag), []).append(known)
        return found


def known(row: Registered) -> Known:
    """A row of the register as it is known here."""
    out = getattr(row, "out_of_service_on", None)
    return Known(row.id, row.plate.get("serial"), str(out) if out else None)
