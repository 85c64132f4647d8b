"""What a form of the register offers where a resource names another one."""

from collections.abc import Mapping
from typing import Any

from records import natural, permissions
from records.document_style import Units
from records.documents.columns import columns
from records.models import Organization, PumpSet, Site
from records.permissions import Actor
from records.services.kinds import Kind

Options = dict[str, list[tuple[str, str]]]
MOST = 500
"""Pieces of a kind that a list offers to choose from: those that were registered last."""


class Some(list[tuple[str, str]]):
    """Choices of which there are more than a list offers."""


def units_at(site: Site | None) -> Units:
    """The units that plates at a station most often have; each field offers the others as well."""
    return "us" if site is not None and site.electrical_practice == "us_nec" else "si"


def options_of(
    actor: Actor, kind: Kind, site: Site | None, held: Mapping[str, Any] | None = None
) -> Options:
    """For each field that names another resource, the ids to choose from with their names."""
    options: Options = {}
    if "client" in kind.relations:
        clients = permissions.acquainted(Organization.objects.order_by("name"), actor)
        options["client"] = [(str(each.id), each.name) for each in clients]
    if kind.name != "pump-sets" or site is None:
        return options
    for column in columns(kind.document, pieces=tuple(kind.relations)):
        name = str(column.path[0])
        if column.shape == "piece" and name not in ("site", "client"):
            options[name] = _standing(actor, kind.relations[name], site, held, name)
    name = "drive_shared_with"
    options[name] = _standing(actor, PumpSet, site, held, name)
    return options


def is_bounded(options: Mapping[str, list[tuple[str, str]]]) -> bool:
    """Whether more stands at the station than the lists offer."""
    return any(isinstance(each, Some) for each in options.values())


def _standing(
    actor: Actor, model: Any, site: Site, held: Mapping[str, Any] | None, name: str
) -> list[tuple[str, str]]:
    rows = permissions.visible(model.objects.filter(site=site, out_of_service_on=None), actor)
    latest = list(rows.order_by("-row")[: MOST + 1])
    found = {row.id: row for row in latest[:MOST]}
    of_them: type[list[tuple[str, str]]] = list
    if len(latest) > MOST:
        chosen = (held or {}).get(name) or []
        ids = chosen if isinstance(chosen, list) else [chosen]
        found |= {row.id: row for row in rows.filter(id__in=ids)}
        of_them = Some if rows.exclude(id__in=found).exists() else list
    listed = sorted(found.values(), key=lambda row: natural.place(row.tag))
    return of_them((str(row.id), _called(row)) for row in listed)


def _called(row: Any) -> str:
    serial = row.plate.get("serial")
    return f"{row.tag}, No. {serial}" if serial else str(row.tag)
