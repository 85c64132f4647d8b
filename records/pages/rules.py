"""The catalogue of rules for people, each with an example."""

from collections.abc import Mapping
from functools import cache
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from calculations.catalogue import RULES, VERSION
from records.documents import labels
from records.documents.contents import cautions
from records.documents.shown import Shown
from records.pages.base import inside, show
from records.pages.sheets import sheet
from records.permissions import Actor
from records.selectors.rule_examples import examples

_SHOWN = Shown()


@inside
def rules(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Every rule with its condition, limits, source and example."""
    return show(
        request, actor, "rules", count=len(RULES), version=VERSION, table=_table(),
        caution=cautions.SHORT, cautions=sheet(cautions.cautions()),
    )  # fmt: skip


@cache
def _table() -> SafeString:
    """All rules, rendered once: the same for everybody as long as the process runs."""
    listed = [{"rule": rule, "example": _example(examples()[rule.id])} for rule in RULES]
    return render_to_string("pages/rules_table.html", {"rules": listed})


def _example(example: Mapping[str, Any]) -> dict[str, Any]:
    compared = [(labels.label(each["name"]), _words(each)) for each in example["compared"]]
    said = (("Limit", example["limit"]), ("Put right", example["remedy"]))
    return {
        **example,
        "entered": [_entered(line) for line in example["entered"]],
        "compared": compared,
        "said": [(name, labels.with_units(words)) for name, words in said if words],
    }


def _entered(line: Mapping[str, Any]) -> dict[str, Any]:
    """A value as it is read, and what would agree with the others."""
    steps = (line["place"] or "").split("/")
    field = next((step for step in reversed(steps) if not step.isdigit()), "")
    value, agrees = (_value(field, line[each]) for each in ("value", "agrees"))
    return {**line, "value": value, "agrees": agrees}


def _value(field: str, value: Any) -> str:
    return "not entered" if value is None else _SHOWN.words(field, value)


def _words(quantity: Mapping[str, str]) -> str:
    return _SHOWN.words("", {"value": quantity["value"], "unit": quantity["unit"]})
