"""What a device can enter: one description, made out of what the inputs declare.

Labels, closed lists, units and hard limits are those of calculations/inputs and of paper; nothing
of a field is said a second time. Only the order of the sections is of this file.
"""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from calculations.catalogue import VERSION
from calculations.inputs.base import Moment, Needed, Of
from calculations.inputs.event import Event
from calculations.inputs.settings import Settings
from calculations.units import KINDS
from records.documents import labels
from records.documents.contents import cautions, settings
from records.services.attachments import LARGEST, TAKEN
from records.services.kinds import KINDS as KINDS_OF_PIECES

Node = dict[str, Any]

SECTIONS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("before", "Before you begin", (
        "parties", "isolation_confirmed", "permit_reference", "performed_at", "performed_until",
        "instruments", "ambient_temperature", "liquid_temperature", "weather", "hours_run",
        "start_count", "energy_counter", "replaced")),
    ("plates", "Nameplates", ("not_in_register",)),
    ("as_found", "Settings as found", ("settings/as_found",)),
    ("as_left", "Settings as left", ("settings/as_left",)),
    ("checks", "Mechanical checks", ("mechanical_checks", "vessel_checks")),
    ("electrical", "Supply, insulation, rotation", (
        "supply", "motor_tests", "earth_tests", "rotation", "identification_run")),
    ("readings", "Duty points", ("duty_points", "drawdown_tests", "level_tests")),
    ("sensors", "Transmitters", ("sensor_verifications",)),
    ("protections", "Protections", ("protection_tests",)),
    ("files", "Photographs and files", ()),
    ("traces", "Recorded traces", ("step_tests",)),
    ("rest", "Not possible, remarks", ("not_possible", "remarks")),
)  # fmt: skip

PLATES = ("pumps", "motors", "drives", "sensors", "vessels")
NOT_ON_PLATES = frozenset({"id", "site", "tag", "in_service_from", "out_of_service_on"})

REFERENCES = {
    "sensor": "sensors", "instrument": "instruments", "vessel": "vessels", "trace": "traces",
    "instruments": "instruments",
}  # fmt: skip
"""Fields that name a piece, and the list it is taken from."""

INSULATION = ("resistance_30_s", "resistance_1_min", "resistance_10_min")
USUAL_UNITS = {
    "signal": "mA", "signal_loss_threshold": "mA", "hours_run": "h",
    **dict.fromkeys(INSULATION, "Mohm"),
    **dict.fromkeys((f"power_drive_{end}" for end in ("input", "output", "display")), "kW"),
}  # fmt: skip
"""Units as instruments show them, where the station's units of the kind are of other things."""

BORE, VIBRATION = {"ft": "in", "m": "mm"}, {"ft": "in/s", "m": "mm/s"}
USUAL_BESIDE = {"bore_suction": BORE, "bore_discharge": BORE, "velocity_rms": VIBRATION}
"""The same, by the unit that the station's lengths are in."""

POSITIONS = {"rating_in_use": "ratings"}
"""Fields that hold an index, and the list beside them that it is of; people count from 1."""

PHASES = {
    "line_voltages": ("L1 – L2", "L2 – L3", "L3 – L1"),
    "line_to_earth_voltages": ("L1", "L2", "L3"),
    "currents": ("L1", "L2", "L3"),
    "currents_drive_input": ("L1", "L2", "L3"),
    "voltages_drive_input": ("L1 – L2", "L2 – L3", "L3 – L1"),
    "values": ("U – V", "V – W", "W – U"),
}
OUTPUT_VOLTAGES, OUTPUT_CURRENTS = ("U – V", "V – W", "W – U"), ("U", "V", "W")
PLACES = {
    "drive_input": "drive’s input", "drive_output": "drive’s output",
    "drive_display": "drive’s display",
}  # fmt: skip

ALONG_THE_LINE = {"drive_input": "from the supply", "drive_output": "to the motor"}
WITHOUT_DRIVE = {
    "drive_direction": "Direction of rotation", "drive_disconnected": "Starter disconnected",
}  # fmt: skip
"""What is called otherwise where the pump set has no drive."""
ONLY_OF_DRIVE = frozenset({"dc_bus_voltage", "identification_run"})
"""What is not asked for where the pump set has no drive, beside readings of its display."""


@dataclass(frozen=True, slots=True)
class Described:
    """The description as JSON, and its SHA-256 in hex."""

    text: str
    digest: str


@cache
def described() -> Described:
    """The whole description."""
    text = json.dumps(document(), ensure_ascii=False, separators=(",", ":"))
    return Described(text, hashlib.sha256(text.encode()).hexdigest())


def document() -> Node:
    """What can be entered, by section, with what every screen says."""
    fields = {name: _field(name, info) for name, info in Event.model_fields.items()}
    return {
        "catalogue": VERSION,
        "sections": [
            {"id": identity, "title": title, "fields": [_at(fields, place) for place in places]}
            for identity, title, places in SECTIONS
        ],
        "plates": {name: list(_plate(KINDS_OF_PIECES[name].document)) for name in PLATES},
        "kinds": fields["kind"]["words"],
        "purposes": _purposes(),
        "units": {unit: labels.unit(unit) for units in KINDS.values() for unit in units},
        "words": {"arithmetic": cautions.ARITHMETIC, "deference": cautions.DEFERENCE,
                  "short": cautions.SHORT},
        "said": labels.other_words(),
        "files": {"largest": LARGEST, "taken": TAKEN},
    }  # fmt: skip


def _at(fields: dict[str, Node], place: str) -> Node:
    name, _, inside = place.partition("/")
    if not inside:
        return dict(fields[name])
    [found] = [dict(each) for each in fields[name]["fields"] if each["name"] == inside]
    return found | {"at": name}


def _purposes() -> list[list[str]]:
    named = {name: info for name, info in Event.model_fields.items() if name == "attachments"}
    listed = _field("attachments", named["attachments"])
    [purpose] = [each for each in listed["fields"] if each["name"] == "purpose"]
    words: list[list[str]] = purpose["words"]
    return words


# -- one field -------------------------------------------------------------------------------------


def _field(name: str, info: FieldInfo, owner: type[BaseModel] | None = None) -> Node:
    told: Node = {"name": info.alias or name, "label": _label(name, owner)}
    if info.description:
        told["about"] = info.description
    if any(isinstance(mark, Needed) for mark in info.metadata):
        told["needed"] = True
    if info.is_required():
        told["first"] = True
    group = _group(name, owner)
    if group:
        told["group"] = group
    told |= _without_drive(name)
    return told | _shape(name, info.annotation, tuple(info.metadata))


def _label(name: str, owner: type[BaseModel] | None) -> str:
    if name == "from_point":
        return "From"
    place = next((words for end, words in PLACES.items() if name.endswith(f"_{end}")), "")
    return labels.label(name) + (f", {place}" if place else "")


def _without_drive(name: str) -> Node:
    """How a field is told where the pump set has no drive: otherwise, or not at all."""
    if name in ONLY_OF_DRIVE or name.endswith("_drive_display"):
        return {"onlyOfDrive": True}
    if name in WITHOUT_DRIVE:
        return {"withoutDrive": WITHOUT_DRIVE[name]}
    place = next((words for end, words in ALONG_THE_LINE.items() if name.endswith(f"_{end}")), "")
    return {"withoutDrive": f"{labels.label(name)}, {place}"} if place else {}


def _group(name: str, owner: type[BaseModel] | None) -> str:
    if owner is Settings:
        return settings.group_of(name)
    return ""


def _shape(name: str, annotation: Any, marks: tuple[Any, ...]) -> Node:
    """What kind of entry a field is."""
    kind, marks = _bare(annotation, marks)
    of = next((mark for mark in marks if isinstance(mark, Of)), None)
    if of is not None:
        usual: Node = {"usual": USUAL_UNITS[name]} if name in USUAL_UNITS else {}
        if name in USUAL_BESIDE:
            usual["usualBeside"] = USUAL_BESIDE[name]
        return _quantity(of) | usual
    if name in REFERENCES:
        several = get_origin(kind) is list
        return {"type": "names" if several else "name", "of": REFERENCES[name]}
    if name in POSITIONS:
        return {"type": "position", "of": POSITIONS[name]}
    if get_origin(kind) is Literal:
        return {"type": "choice", "words": [[word, _word(str(word))] for word in get_args(kind)]}
    if get_origin(kind) is list:
        return _list(name, get_args(kind)[0])
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return {"type": "group", "fields": list(_fields(kind))}
    plain = {bool: "boolean", int: "count", Moment: "time", str: "text"}
    return {"type": plain[kind]}


def _word(word: str) -> str:
    return labels.sentence(labels.word(word))


def _bare(annotation: Any, marks: tuple[Any, ...]) -> tuple[Any, tuple[Any, ...]]:
    """The type behind what is optional and annotated, with all marks on the way."""
    while True:
        if get_origin(annotation) in (Union, UnionType):
            given = [each for each in get_args(annotation) if each is not type(None)]
            annotation = given[0]
        elif get_origin(annotation) is Annotated:
            annotation, *more = get_args(annotation)
            marks += tuple(more)
        else:
            return annotation, marks


def _quantity(of: Of) -> Node:
    if of.kinds == ("conductor",):
        return {"type": "text"}
    units = list(dict.fromkeys(unit for kind in of.kinds for unit in KINDS[kind]))
    told: Node = {"type": "quantity", "units": units, "kinds": list(of.kinds)}
    if of.words():
        told["limits"] = of.words()
    if of.also:
        told["also"] = [[word, _word(word)] for word in of.also]
    if of.low is None or of.low.si < 0 or "temperature" in of.kinds:
        told["signed"] = True
    return told


def _list(name: str, inside: Any) -> Node:
    kind, marks = _bare(inside, ())
    of = next((mark for mark in marks if isinstance(mark, Of)), None)
    if of is not None:
        return {**_quantity(of), "type": "values", "labels": _phases(name)}
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        element = labels.sentence(labels.place(f"/{name}/0").removesuffix(" 1"))
        return {"type": "list", "fields": list(_fields(kind)), "element": element,
                "ids": "id" in kind.model_fields}  # fmt: skip
    return {"type": "texts"}


def _phases(name: str) -> list[str]:
    if name in PHASES:
        return list(PHASES[name])
    if name.startswith("voltages_"):
        return list(OUTPUT_VOLTAGES)
    if name.startswith("currents_"):
        return list(OUTPUT_CURRENTS)
    return ["1", "2", "3"]


def _plate(model: type[BaseModel]) -> Iterator[Node]:
    """What can be read on site of a piece; where it stands and since when is the office's."""
    return (node for node in _fields(model) if node["name"] not in NOT_ON_PLATES)


def _fields(model: type[BaseModel]) -> Iterator[Node]:
    for name, info in model.model_fields.items():
        if name not in ("id", "sha256"):
            yield _field(name, info, model)
