"""Organizations that a contractor works for."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from calculations.inputs.base import Id, Part, Words
from calculations.inputs.reading import Problem
from records import permissions
from records.document_style import Paper, Style, Units
from records.errors import Conflict, Invalid, NotFound, SameIdOtherContent, Stale
from records.models import Clientele, Organization
from records.permissions import Actor
from records.selectors import organizations
from records.services import audit
from records.services.content import merge_patch
from records.services.reading import read_input


class OrganizationInput(Part):
    """A company or a utility, and how a client wants its documents printed.

    `units`: as they were `entered`, or first in `si` or `us` units with what was entered beside.
    `paper`: `usual` is letter where North American practice holds, else A4.
    """

    id: Id | None = None
    name: Words
    units: Units = "entered"
    paper: Paper = "usual"


def create(actor: Actor, given: Mapping[str, Any]) -> tuple[Organization, bool]:
    """Add a client of the actor's organization; returns it and whether it is new."""
    permissions.require(actor, "organizations.write")
    name, identity, style = _organization(given)
    _one_at_a_time(actor)
    existing = _existing(actor, name, identity)
    if existing is not None:
        return existing, False
    _refuse_same_name(actor, name)
    organization = Organization(name=name, **({"id": identity} if identity else {}))
    try:
        _insert(organization, style, actor)
    except IntegrityError:
        existing = _existing(actor, name, identity)  # the same, and quicker
        if existing is None:
            raise SameIdOtherContent() from None
        return existing, False
    return organization, True


def change(actor: Actor, identity: UUID, patch: Mapping[str, Any], revision: int) -> Organization:
    """Give an organization another name, or its documents another style, for one revision of it.

    Sealed records keep the name that it had. `Conflict` where other contractors work for it, too:
    it is printed on what they seal.
    """
    permissions.require(actor, "organizations.write")
    row = organizations.get(actor, identity)
    pair = organizations.pair(actor, row)
    held = {"id": str(row.id), "name": row.name, **_styled(pair)}
    if "id" in patch and patch["id"] != held["id"]:
        raise Invalid(problems=[Problem("/id", "fixed", "this does not change")])
    name, _, style = _organization(merge_patch(held, patch))
    _refuse_style_of_none(pair, patch)
    if row.revision != revision:
        raise Stale(revision=row.revision)
    if name != row.name:
        _one_at_a_time(actor)
        _refuse_same_name(actor, name, but=identity)
    if not _renamed(row, name, revision):
        raise Stale(revision=organizations.get(actor, identity).revision)
    if pair is not None:
        Clientele.objects.filter(pk=pair.pk).update(units=style.units, paper=style.paper)
    change = audit.difference(_told(row, pair), {"name": name} | (asdict(style) if pair else {}))
    audit.write(actor, "changed", _about(row), change)
    return organizations.get(actor, identity)


def known(identity: UUID, using: str) -> Organization:
    """Any organization of the book: for whoever runs the service, as the tables' owner."""
    found = Organization.objects.using(using).filter(id=identity).first()
    if found is None:
        raise NotFound("there is no organization of this id")
    return found


def _renamed(row: Organization, name: str, revision: int) -> bool:
    """The database knows who else works for it; whoever asks does not see them."""
    rows = Organization.objects.filter(id=row.id, revision=revision)
    try:
        with transaction.atomic():
            return bool(rows.update(name=name, revision=revision + 1))
    except IntegrityError:
        words = "others work for this client as well: whoever runs the service changes its name"
        raise Conflict(words, [Problem("/name", "shared", words)]) from None


def _refuse_style_of_none(pair: Clientele | None, patch: Mapping[str, Any]) -> None:
    if pair is None and (given := [name for name in ("units", "paper") if name in patch]):
        words = "documents are printed for clients: there is none of this to be set here"
        raise Invalid(problems=[Problem(f"/{name}", "not_a_client", words) for name in given])


def _styled(pair: Clientele | None) -> dict[str, Any]:
    return asdict(pair.style) if pair else {}


def _told(organization: Organization, pair: Clientele | None) -> dict[str, Any]:
    return {"name": organization.name, **_styled(pair)}


def _about(organization: Organization) -> audit.About:
    return audit.About("organization", organization.id, organization.name, client=organization.id)


def _one_at_a_time(actor: Actor) -> None:
    """Nobody of the organization adds between a look and what is added after it."""
    Organization.objects.select_for_update().get(id=actor.organization_id)


def _refuse_same_name(actor: Actor, name: str, but: UUID | None = None) -> None:
    """Two of one name could not be told apart."""
    others = organizations.rows(actor).filter(name__iexact=name)
    if (others.exclude(id=but) if but else others).exists():
        words = "you work with an organization of this name already"
        raise Conflict(words, [Problem("/name", "taken", words)])


def _existing(actor: Actor, name: str, identity: UUID | None) -> Organization | None:
    found = organizations.rows(actor).filter(id=identity).first() if identity else None
    if found is not None and found.name != name:
        raise SameIdOtherContent()
    return found


def _insert(organization: Organization, style: Style, actor: Actor) -> None:
    """The pair first: an organization is seen by those who work with it."""
    with transaction.atomic():
        pair = Clientele.objects.create(
            contractor_id=actor.organization_id, client_id=organization.id, **asdict(style)
        )
        organization.save(force_insert=True)
        after = _told(organization, pair)
        audit.write(actor, "added", _about(organization), audit.Change(after=after))


def _organization(given: Mapping[str, Any]) -> tuple[str, UUID | None, Style]:
    document = read_input(OrganizationInput, given)
    identity = UUID(document.id) if document.id else None
    return " ".join(document.name.split()), identity, Style(document.units, document.paper)
