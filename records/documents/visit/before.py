"""The first page: which pump set, what to expect above all, cautions, the visit, what is there."""

from typing import get_args

from calculations.inputs.event import EventKind
from records.documents import labels
from records.documents.blocks import Block, Column, heading, paragraph
from records.documents.contents.cautions import SHORT
from records.documents.contents.installed import installed as pieces
from records.documents.contents.source import Document, compact
from records.documents.shown import NO_BREAK, quantity
from records.documents.texts import runs, short
from records.documents.visit.forms import blank, box, boxes, fields, form
from records.documents.visit.visit import Visit

WORK = tuple(labels.word(kind) for kind in get_args(EventKind))


def title(visit: Visit) -> str:
    """Pump set and station."""
    return f"Pump set {short(visit.plate('pump_set').get('tag', ''))}: visit sheet"


def where(visit: Visit) -> str:
    """The station's name and code."""
    site = visit.plate("site")
    return compact([short(str(site.get(name) or "")) for name in ("name", "code")])


def first(visit: Visit) -> list[Block]:
    """Headline, and what to expect above all, after the shortest of cautions."""
    printed = f"{visit.printed_at:%Y-%m-%d}"
    return [
        {
            "kind": "first",
            "over": runs(compact([visit.known.contractor["name"], visit.known.client["name"]],
                                 " for ")),
            "number": f"As known on {printed}",
            "title": runs(title(visit)),
            "where": runs(where(visit)),
        },
        paragraph(SHORT, "small"),
        paragraph(_lead(visit), "lead"),
    ]  # fmt: skip


def _lead(visit: Visit) -> str:
    said = [_set_point(visit), _scaling(visit), _zero_flow(visit), _overload(visit)]
    return compact([*said, _origin(visit)], " ")


def _origin(visit: Visit) -> str:
    last = visit.known.last_settings
    if last is None:
        return "No settings are known yet: everything here follows from plates and register."
    return f"Settings as left on {visit.day_of(last)}; the rest from plates and register."


def _derived(visit: Visit, identity: str) -> str:
    found = visit.source.derived_value(identity)
    return quantity(found) if found else ""


def _set_point(visit: Visit) -> str:
    at, set_point = _derived(visit, "sensor.signal-at-set-point"), visit.left().get("set_point")
    return (
        f"The set point of {quantity(set_point)} is {at} from the sensor."
        if at and set_point
        else ""
    )


def _scaling(visit: Visit) -> str:
    low = _derived(visit, "sensor.scaling-at-lower-signal")
    high = _derived(visit, "sensor.scaling")
    return f"The drive should show {low} to {high} over its signal." if low and high else ""


def _zero_flow(visit: Visit) -> str:
    lowest = _derived(visit, "speed.zero-flow-at-lowest-suction")
    return f"Below {lowest} nothing flows at the lowest suction." if lowest else ""


def _overload(visit: Visit) -> str:
    amperes = _derived(visit, "drive.overload-setting")
    return f"Overload to set: {amperes}." if amperes else ""


def the_visit(visit: Visit) -> list[Block]:
    """Who, when, under which permit, in which conditions."""
    named = [
        ("Date and time", ""), ("Performed by", ""), ("For the client present", ""),
        ("Permit", ""), ("Ambient temperature", visit.unit("temperature")),
        ("Liquid temperature", visit.unit("temperature")), ("Hours run", "h"),
        ("Starts", ""), ("Energy counter", "kWh"),
    ]  # fmt: skip
    done = ["isolated, locked out and proven dead"]
    done += ["drive's own settings file saved"] if visit.has_drive else []
    return [
        heading("The visit"),
        boxes(WORK, 6),
        boxes(done, 2),
        fields(named),
        *_counted(visit),
    ]


def _counted(visit: Visit) -> list[Block]:
    """The counters as they were last read: a slip shows at once."""
    read, on = visit.last("counters")
    hours, energy = (quantity(read[name]) if name in read else ""
                     for name in ("hours_run", "energy_counter"))  # fmt: skip
    starts = f"{read['start_count']} starts" if "start_count" in read else ""
    words = compact([f"{hours} run" if hours else "", starts, energy])
    return [paragraph(f"{on}: {words}.", "small")] if words else []


def installed(visit: Visit) -> list[Block]:
    """What the register holds, to be compared with the plates."""
    _, listed = pieces(visit.source)
    columns = [Column("Piece", mm=15), Column("Tag", mm=19), Column("Serial number", mm=27),
               Column("On the plate", fr=1), Column("Agrees", mm=13),
               Column("Serial number on site", mm=32)]  # fmt: skip
    rows = [[*row["cells"], box(), blank()] for row in listed["rows"]]
    return [heading("Compare with the plates"), form(columns, rows)]


def instruments(visit: Visit) -> list[Block]:
    """Test instruments of the contractor, to tick what was used."""
    if not visit.known.instruments:
        return []
    words = [_instrument(visit, each) for each in visit.known.instruments]
    return [heading("Instruments used", 3), boxes(words, 2)]


def _instrument(visit: Visit, plate: Document) -> str:
    kind = visit.source.shown.words("kind", plate.get("kind"))
    due = plate.get("due_on")
    late = due is not None and str(due) < f"{visit.printed_at:%Y-%m-%d}"
    day = f"due{NO_BREAK}{due}{', OVERDUE' if late else ''}" if due else ""
    return compact([str(plate.get("serial") or ""), kind, day])
