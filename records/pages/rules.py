"""The catalogue of rules for people, each with an example."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
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

_LONGEST = 200
_TITLES = {
    "system": "System curve", "earth": "Protective earth", "curve": "Pump curve", "npsh": "NPSH",
    "insulation": "Insulation of the motor", "winding": "Winding of the motor",
    "machine": "Mechanical checks", "main": "Rising main", "loop": "Control loop",
    "speed": "Speed and its limits", "ramp": "Ramps", "trace": "Recorded traces",
    "region": "Operating region", "efficiency": "Efficiency", "flow": "Flow", "load": "Load",
    "protection": "Protections", "trend": "Trends", "record": "What was recorded",
    "sensor": "Sensors", "vessel": "Vessels", "level": "Levels", "well": "Wells",
}  # fmt: skip
"""Of groups whose word alone says too little."""
UNITS: Mapping[Units, str] = {"entered": "as entered", "si": "in SI units", "us": "in US units"}


@inside
def rules(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Every rule with its condition, limits, source and example, by what they are about.

    Groups are closed until one is asked for: by a rule's id, by words, or all of them.
    """
    usual = _usual_units(actor)
    asked: Any = request.GET.get("units", "")
    units: Units = asked if asked in get_args(Units) else usual
    words = " ".join(request.GET.get("words", "").split())[:_LONGEST]
    opened = request.GET.get("rule", "")
    groups = list(_groups(units, words, opened, "all" in request.GET))
    return show(
        request, actor, "rules", count=len(RULES), version=VERSION, groups=groups, words=words,
        found=sum(group.count for group in groups), asked=asked, open_all=_asked(request, all=""),
        choices=[(told, _asked(request, units=name), name == units)
                 for name, told in UNITS.items()],
        caution=cautions.SHORT, cautions=sheet(cautions.cautions()),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Group:
    """Rules about the same: those whose ids begin with the same word."""

    name: str
    rows: list[SafeString]
    is_open: bool

    @property
    def title(self) -> str:
        """As people read it."""
        return _TITLES.get(self.name, self.name.capitalize())

    @property
    def count(self) -> int:
        """How many are shown."""
        return len(self.rows)


def _groups(units: Units, words: str, opened: str, every: bool) -> Iterator[Group]:
    """In the order of trust of their first rules; of each the rules that hold all the words."""
    wanted = words.lower().split()
    for name, ids in _by_first_word().items():
        shown = [each for each in ids if all(word in _searched(each) for word in wanted)]
        rendered = [
            _row(rule(each), units, opened=True) if each == opened else rows(units)[each]
            for each in shown
        ]
        if rendered:
            yield Group(name, rendered, every or bool(wanted) or opened in shown)


@cache
def _by_first_word() -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = {}
    for each in RULES:
        found.setdefault(each.id.partition(".")[0], []).append(each.id)
    return found


@cache
def _searched(identity: str) -> str:
    """What is looked in for words: what a rule is about, not what its example says."""
    found = rule(identity)
    about = (limit.about for limit in found.limits.values())
    return " ".join((found.id, found.title, found.condition, *about)).lower()


def _usual_units(actor: Actor) -> Units:
    """Those of the documents of whoever reads, where all its clients read in the same."""
    pairs = permissions.visible(Clientele.objects.order_by(), actor)
    wanted: list[Any] = list(pairs.values_list("units", flat=True).distinct()[:2])
    return wanted[0] if len(wanted) == 1 else "entered"


def _asked(request: HttpRequest, **also: str) -> str:
    query = request.GET.copy()
    for name, value in also.items():
        query[name] = value
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
