"""Tags of a station: the places where pieces stand, whichever pieces those are."""

from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import Any
from uuid import UUID

from django.db.models import Model, Q

from records import natural
from records.documents import labels
from records.errors import NotFound
from records.models import Sensor, Site
from records.permissions import Actor
from records.services import register
from records.services.kinds import KINDS, Kind

_SETS = KINDS["pump-sets"]
# In this order labels are printed, and a tag that several kinds have leads to the first of them.
_ORDER = (_SETS, *(KINDS[name] for name in ("pumps", "motors", "drives", "sensors", "vessels")))


@dataclass(frozen=True, slots=True)
class Tag:
    """A place where something is in service, and what that is in words."""

    tag: str
    what: str


def in_service(actor: Actor, site: Site) -> list[Tag]:
    """Every tag once; a query for each kind."""
    found: dict[str, list[str]] = {}
    for kind in _ORDER:
        for row in _standing(actor, kind, site).order_by(*natural.order("tag"), "row"):
            found.setdefault(row.tag, []).append(_what(kind, row))
    return [Tag(tag, ", ".join(dict.fromkeys(what))) for tag, what in found.items()]


def stands_at(actor: Actor, site: Site, tag: str) -> UUID:
    """Id of the pump set that the piece at a tag belongs to; of the piece, where that is not one.

    A sensor or a drive may belong to several: none of them is more meant than the others.
    `NotFound` where nothing is in service at this tag.
    """
    if "\0" in tag:
        raise NotFound()
    for kind in _ORDER:
        row = _standing(actor, kind, site).filter(tag=tag).first()
        if row is not None:
            return _set_of(actor, kind, site, row) or row.id
    raise NotFound()


def _standing(actor: Actor, kind: Kind, site: Site) -> Any:
    rows: Any = register.rows(actor, kind)
    return rows.filter(site=site, out_of_service_on=None)


def _set_of(actor: Actor, kind: Kind, site: Site, row: Any) -> UUID | None:
    """The one pump set in service that a piece belongs to."""
    roles = _roles(kind.model)
    if not roles:
        return None
    belongs = reduce(or_, (Q(**{role: row}) for role in roles))
    sets = _standing(actor, _SETS, site).filter(belongs).values_list("id", flat=True)[:2]
    return sets[0] if len(sets) == 1 else None


def _roles(model: type[Model]) -> list[str]:
    """What pieces of a kind are called in a pump set."""
    return [name for name, of in _SETS.relations.items() if of is model and of is not Site]


def _what(kind: Kind, row: Any) -> str:
    words = labels.sentence(kind.word)
    if isinstance(row, Sensor) and row.quantity:
        return f"{words}, {labels.word(row.quantity)}"
    return words
