"""The catalogue of rules for people, each with an example."""

from collections import Counter
from collections.abc import Mapping
from functools import cache
from typing import Any, get_args

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from calculations.catalogue import RULES, VERSION, rule
from calculations.rule import Limit, Rule
from records import permissions
from records.document_style import Units
from records.documents import labels
from records.documents.contents import cautions
from records.documents.shown import Shown
from records.models import Clientele
from records.pages.base import inside, show
from records.pages.limits import in_units
from records.pages.sheets import sheet
from records.permissions import Actor
from records.selectors.rule_examples import examples

UNITS: Mapping[Units, str] = {"entered": "as entered", "si": "in SI units", "us": "in US units"}


@inside
def rules(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Every rule with its condition, limits, source and example; the one asked for opened."""
    usual = _usual_units(actor)
    asked: Any = request.GET.get("units", "")
    units: Units = asked if asked in get_args(Units) else usual
    listed = dict(rows(units))
    opened = request.GET.get("rule", "")
    if opened in listed:
        listed[opened] = _row(rule(opened), units, opened=True)
    return show(
        request, actor, "rules", count=len(RULES), version=VERSION, rows=listed.values(),
        choices=[(words, _asked(request, name), name == units) for name, words in UNITS.items()],
        caution=cautions.SHORT, cautions=sheet(cautions.cautions()),
    )  # fmt: skip


def _usual_units(actor: Actor) -> Units:
    """Those of the documents of whoever reads, where all its clients read in the same."""
    pairs = permissions.visible(Clientele.objects.order_by(), actor)
    wanted: list[Any] = list(pairs.values_list("units", flat=True).distinct()[:2])
    return wanted[0] if len(wanted) == 1 else "entered"


def _asked(request: HttpRequest, units: Units) -> str:
    query = request.GET.copy()
    query["units"] = units
    return f"?{query.urlencode()}"


@cache
def rows(units: Units) -> Mapping[str, SafeString]:
    """All rules by their ids, rendered once: the same for everybody while the process runs."""
    return {each.id: _row(each, units) for each in RULES}


def _row(each: Rule, units: Units, *, opened: bool = False) -> SafeString:
    limits = [(about, limit, in_units(limit, units)) for about, limit in _told_apart(each)]
    example = _example(examples()[each.id], Shown(units=units))
    context = {"rule": each, "limits": limits, "example": example, "opened": opened}
    return render_to_string("pages/rules_row.html", context)


def _told_apart(each: Rule) -> list[tuple[str, Limit]]:
    """What each limit is about; those that are about the same are told apart by their names."""
    number = Counter(limit.about for limit in each.limits.values())
    return [
        (limit.about if number[limit.about] == 1 else f"{limit.about}, {name}", limit)
        for name, limit in each.limits.items()
    ]


def _example(example: Mapping[str, Any], shown: Shown) -> dict[str, Any]:
    compared = [(labels.label(each["name"]), _words(each, shown)) for each in example["compared"]]
    said = (("Limit", example["limit"]), ("Put right", example["remedy"]))
    return {
        **example,
        "entered": [_entered(line, shown) for line in example["entered"]],
        "compared": compared,
        "said": [(name, labels.with_units(words)) for name, words in said if words],
    }


def _entered(line: Mapping[str, Any], shown: Shown) -> dict[str, Any]:
    """A value as it is read, and what would agree with the others."""
    steps = (line["place"] or "").split("/")
    field = next((step for step in reversed(steps) if not step.isdigit()), "")
    value, agrees = (_value(field, line[each], shown) for each in ("value", "agrees"))
    return {**line, "value": value, "agrees": agrees}


def _value(field: str, value: Any, shown: Shown) -> str:
    return "not entered" if value is None else shown.words(field, value)


def _words(quantity: Mapping[str, str], shown: Shown) -> str:
    return shown.words("", {"value": quantity["value"], "unit": quantity["unit"]})
