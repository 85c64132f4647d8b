"""The register: sites, equipment, pump sets, instruments."""

import re
from collections.abc import Iterable, Mapping
from typing import Any, cast
from uuid import UUID

from django.db import IntegrityError, models, transaction
from pydantic import BaseModel

from calculations.inputs.base import REQUIRED, Part
from calculations.inputs.reading import InvalidDocument, Problem, read
from calculations.units import Quantity
from records import permissions
from records.errors import Conflict, Invalid, NotFound, SameIdOtherContent, Stale, first_of_each
from records.models import (
    Appointment,
    Clientele,
    Organization,
    Site,
    SiteSummary,
)
from records.models.audit import Action
from records.models.base import Registered
from records.permissions import Actor
from records.services import audit, register_checks
from records.services.content import merge_patch, quick_digest, units_alone
from records.services.kinds import Kind
from records.services.times import day_at

# What a broken constraint of the database means to the one who sent the document.
_CONSTRAINTS = (
    (r"_in_service_at_a_tag", "/tag", "one with this tag is in service at this site already"),
    (r"site_code_in_client", "/code", "the client has a site with this code already"),
    (r"instrument_serial", "/serial", "an instrument with this serial number exists already"),
    (r"pump_set_(\w+)_at_the_same_site", r"/\1", "a pump set joins what stands at one site"),
    (
        r"one_set_in_service_a_(\w+)",
        r"/\1",
        "another pump set in service has it: take that one out of service first",
    ),
    (r"after_in_service", "/out_of_service_on", "expected a day on or after in_service_from"),
    (r"instrument_due", "/due_on", "expected a day on or after calibrated_on"),
)


# These are told from the row itself.
_IN_COLUMNS_ONLY = ("id", "client", "contractor", "organization")


def create(actor: Actor, kind: Kind, given: Mapping[str, Any]) -> tuple[Registered, bool]:
    """Add a resource; the same id with the same content again changes nothing.

    Returns the row and whether it is new.
    """
    permissions.require(actor, kind.write)
    document = _read(kind, given)
    digest = quick_digest(given)
    existing = _existing(actor, kind, document, digest)
    if existing is not None:
        return existing, False
    values = _values(actor, kind, document)
    row = kind.model(**values, **_parties(actor, kind, values), created_digest=digest)
    if getattr(document, "id", None):
        row.id = UUID(str(document.id))  # type: ignore[attr-defined]
    try:
        _insert(actor, kind, row)
    except Conflict:
        existing = _existing(actor, kind, document, digest)  # the same, and quicker
        if existing is None:
            raise
        return existing, False
    return row, True


def _insert(actor: Actor, kind: Kind, row: Registered) -> None:
    with transaction.atomic(), _Told(kind):
        row.save(force_insert=True)
        if isinstance(row, Site):
            _open_site(row)
        audit.write(actor, "added", _about(kind, row), audit.Change(after=row.plate))


def change(
    actor: Actor, kind: Kind, identity: UUID, patch: Mapping[str, Any], revision: int
) -> Registered:
    """Change a resource by a merge patch (RFC 7396) meant for one revision of it."""
    permissions.require(actor, kind.write)
    row = get(actor, kind, identity)
    held = to_document(kind, row)
    beside = _fixed(kind, held, patch) + units_alone(held, patch)
    values = _values(actor, kind, _read(kind, merge_patch(held, patch), beside))
    if row.revision != revision:
        raise Stale(revision=row.revision)
    with transaction.atomic(), _Told(kind):
        changed = kind.model._default_manager.filter(row=row.row, revision=revision).update(
            **values, revision=revision + 1
        )
    before, row = row.plate, get(actor, kind, identity)
    if not changed:
        raise Stale(revision=row.revision)
    _write_down(actor, kind, row, before)
    return row


def _write_down(actor: Actor, kind: Kind, row: Registered, before: Mapping[str, Any]) -> None:
    change = audit.difference(before, row.plate)
    gone = "out_of_service_on"
    action: Action = "taken out of service" if change.after.get(gone) else "changed"
    audit.write(actor, action, _about(kind, row), change)


def _about(kind: Kind, row: Any) -> audit.About:
    """A resource as the audit names it, at the station where it stands."""
    site = row.row if kind.name == "sites" else getattr(row, "site_id", None)
    name = next(row.plate[name] for name in ("tag", "code", "serial") if row.plate.get(name))
    return audit.About(kind.word, row.id, name, site, row.client_id if site else None)


def get(actor: Actor, kind: Kind, identity: UUID) -> Registered:
    """The resource of this id, if the actor's organization is a party to it."""
    row = rows(actor, kind).filter(id=identity).first()
    if row is None:
        raise NotFound()
    return row


def rows(actor: Actor, kind: Kind) -> "models.QuerySet[Registered]":
    """Every row of this kind that the actor may see."""
    permissions.require(actor, kind.read)
    return permissions.visible(kind.model._default_manager.all(), actor)


def to_document(kind: Kind, row: Registered) -> dict[str, Any]:
    """The document of a row, as it was entered; fields that hold nothing are null."""
    known = row.plate | _whose(kind, row)
    return {name: known.get(name) for name in kind.document.model_fields}


def to_plate(kind: Kind, row: Registered) -> dict[str, Any]:
    """The document of a row without its empty fields."""
    return {**_whose(kind, row), **row.plate}


def _whose(kind: Kind, row: Registered) -> dict[str, str]:
    """What stands in columns only: the id, and the parties, who may change."""
    whose = {"id": str(row.id)}
    if kind.name == "sites":
        whose |= {"client": str(row.client_id), "contractor": str(row.contractor_id)}
    if kind.name == "instruments":
        whose |= {"organization": str(row.contractor_id)}
    return whose


def _read(kind: Kind, given: Mapping[str, Any], beside: Iterable[Problem] = ()) -> Part:
    """The resource, typed; `beside` is wrong with it already."""
    problems = [*beside, *_missing(kind, given)]
    try:
        document = read(kind.document, given)
    except InvalidDocument as error:
        raise Invalid(problems=first_of_each([*problems, *error.problems])) from None
    problems += register_checks.problems(kind.name, document)
    if problems:
        raise Invalid(problems=first_of_each(problems))
    return document


def _missing(kind: Kind, given: Mapping[str, Any]) -> tuple[Problem, ...]:
    required = [
        name for name, info in kind.document.model_fields.items() if REQUIRED in info.metadata
    ]
    lacking = [name for name in required if given.get(name) is None]
    problems = [Problem(f"/{name}", "required", "this field is required") for name in lacking]
    if kind.name == "drives" and not any(
        given.get(f"rated_current_{duty}_duty") for duty in ("normal", "heavy")
    ):
        words = "expected the rated current for normal duty, for heavy duty, or both"
        problems.append(Problem("/rated_current_normal_duty", "required", words))
    if (
        kind.name == "sensors"
        and given.get("quantity") == "pressure"
        and not given.get("reference")
    ):
        words = "expected what the pressure is measured against: most often gauge"
        problems.append(Problem("/reference", "required", words))
    return tuple(problems)


def _existing(actor: Actor, kind: Kind, document: BaseModel, digest: bytes) -> Registered | None:
    identity = getattr(document, "id", None)
    if not identity:
        return None
    row = rows(actor, kind).filter(id=UUID(identity)).first()
    if row is not None and bytes(row.created_digest) != digest:
        raise SameIdOtherContent()
    return row


def refuse_unless_entered(kind: Kind, document: Mapping[str, Any]) -> None:
    """`Invalid` where a whole document, with id and parties, could not have been entered."""
    _read(kind, document)


def columns_of(kind: Kind, row: Registered) -> dict[str, Any]:
    """What a row's columns hold where they follow from its document, but for relations.

    `Invalid` where the document could not have been entered.
    """
    document = _read(kind, to_plate(kind, row))
    dumped = document.model_dump(mode="json", exclude_unset=True, by_alias=True)
    found = {}
    for name in kind.document.model_fields:
        if name not in (*_IN_COLUMNS_ONLY, *kind.relations):
            value = getattr(document, name)
            value = value if isinstance(value, Quantity) else dumped.get(name, value)
            column = cast("models.Field[Any, Any]", kind.model._meta.get_field(name))
            found[name] = column.to_python(value)
    if kind.name == "pump-sets" and found["drive_shared_with"] is None:
        found["drive_shared_with"] = []
    return found | {"plate": _plate(dumped)}


def _values(actor: Actor, kind: Kind, document: Part) -> dict[str, Any]:
    """Column values of a document; fields that are not given are empty."""
    dumped = document.model_dump(mode="json", exclude_unset=True, by_alias=True)
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    for name in kind.document.model_fields:
        if name in ("id", "contractor", "organization"):
            continue
        value = getattr(document, name)
        if name in kind.relations:
            values[name] = _related(actor, kind, name, value, problems)
        elif isinstance(value, Quantity) or name not in dumped:
            values[name] = value
        else:
            values[name] = dumped[name]
    problems += _of_others(actor, document)
    if problems:
        raise Invalid(problems=problems)
    if kind.name == "pump-sets" and values["drive_shared_with"] is None:
        values["drive_shared_with"] = []
    return values | {"plate": _plate(dumped)}


def _plate(dumped: Mapping[str, Any]) -> dict[str, Any]:
    given = {name: value for name, value in dumped.items() if value is not None}
    return {name: value for name, value in given.items() if name not in _IN_COLUMNS_ONLY}


def _related(
    actor: Actor, kind: Kind, name: str, identity: Any, problems: list[Problem]
) -> models.Model | None:
    if identity is None:
        return None
    model = kind.relations[name]
    found = _find(actor, model, str(identity))
    if found is None:
        word = model.__name__.lower()
        problems.append(Problem(f"/{name}", "unknown_id", f"there is no {word} of this id here"))
    return found


def _find(actor: Actor, model: type[models.Model], identity: str) -> models.Model | None:
    try:
        key = UUID(identity)
    except ValueError:
        return None
    if model is Organization:
        return permissions.acquainted(Organization.objects.all(), actor).filter(id=key).first()
    return permissions.visible(model._default_manager.all(), actor).filter(id=key).first()


def _of_others(actor: Actor, document: Part) -> list[Problem]:
    """Fields that say whose it is may only say what is so."""
    own = str(actor.organization_id)
    return [
        Problem(f"/{name}", "not_yours", "expected your own organization, or nothing")
        for name in ("contractor", "organization")
        if getattr(document, name, None) not in (None, own)
    ]


def _parties(actor: Actor, kind: Kind, values: Mapping[str, Any]) -> dict[str, Any]:
    own = {"contractor_id": actor.organization_id}
    if kind.name == "sites":
        return own
    if kind.name == "instruments":
        return own | {"client_id": actor.organization_id}
    return own | {"client_id": values["site"].client_id}


def _open_site(site: Site) -> None:
    """What every site has from its first day: its summary, its contractor, its client."""
    parties: dict[str, Any] = {"contractor_id": site.contractor_id, "client_id": site.client_id}
    SiteSummary.objects.create(site=site, **parties)
    since = day_at(site.created_at, site.time_zone)
    Appointment.objects.create(site=site, from_day=since, **parties)
    Clientele.objects.get_or_create(**parties)


def _fixed(kind: Kind, held: Mapping[str, Any], patch: Mapping[str, Any]) -> list[Problem]:
    return [
        Problem(f"/{name}", "fixed", "this does not change: take it out of service instead")
        for name in kind.fixed
        if name in patch and patch[name] != held[name]
    ]


class _Told:
    """Turns a broken constraint into a sentence with the place of the value."""

    def __init__(self, kind: Kind) -> None:
        self.kind = kind

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: Any, error: BaseException | None, trace: Any) -> None:
        if not isinstance(error, IntegrityError):
            return
        text = str(error)
        for pattern, place, words in _CONSTRAINTS:
            found = re.search(pattern, text)
            if found:
                problem = Problem(found.expand(place), "conflict", words)
                raise Conflict(words, [problem]) from error
        if "_id_in_contractor" in text:
            raise SameIdOtherContent()
        raise error
