"""The kinds of resources that tables and forms are made of, with their columns."""

from functools import cache

from records.documents.columns import Column, columns, plain
from records.services.kinds import KINDS

# In the order in which they are written: each after those that it names.
TITLES = {
    "sites": "Stations",
    "pumps": "Pumps",
    "motors": "Motors",
    "drives": "Drives",
    "sensors": "Sensors",
    "vessels": "Vessels",
    "pump-sets": "Pump sets",
}
_ALSO = {"sites": ("site", "sites", "station")}


@cache
def columns_of(kind: str) -> tuple[Column, ...]:
    """What a row of this kind can hold."""
    return columns(KINDS[kind].document, pieces=tuple(KINDS[kind].relations))


@cache
def column_named(kind: str, name: str) -> Column | None:
    """The column that programs call so."""
    return next((each for each in columns_of(kind) if each.name == name), None)


def column_at(kind: str, pointer: str) -> Column | None:
    """The column that a JSON Pointer leads to."""
    return next((each for each in columns_of(kind) if each.holds(pointer)), None)


def kind_called(words: str) -> str:
    """The kind that a sheet of this name is of; nothing where it says none."""
    said = plain(words)
    for kind, title in TITLES.items():
        one = plain(kind).removesuffix("s")
        if said in (plain(title), plain(kind), one, *_ALSO.get(kind, ())):
            return kind
    return ""


def one_of(kind: str) -> str:
    """One of them, in words."""
    return "station" if kind == "sites" else kind.replace("-", " ").removesuffix("s")
