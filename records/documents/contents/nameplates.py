"""The annex: station and equipment in full, as the event was judged against them."""

from collections.abc import Sequence

from pydantic import BaseModel

from calculations.inputs.drive import Drive
from calculations.inputs.motor import Motor, Rating
from calculations.inputs.pump import CurvePoint, Pump
from calculations.inputs.pump_set import PumpSet
from calculations.inputs.sensor import Sensor, Vessel
from calculations.inputs.site import Pipeline, Site, SystemPoint
from records.documents.blocks import Block, heading, paragraph
from records.documents.contents.instruments import instruments
from records.documents.contents.listing import listed_section, section
from records.documents.contents.matrix import lines_of, matrix
from records.documents.contents.neighbours import neighbours
from records.documents.contents.source import Source
from records.documents.placing import Part
from records.documents.shown import order
from records.documents.texts import short

_SIGNED = "As they stood when the event was first signed, and as it was judged against them."


def nameplates(source: Source) -> list[Block]:
    """Everything that the event was judged against."""
    snapshot = source.snapshot
    signed = bool(source.record.see("signatures"))
    words = _SIGNED if signed else "As they stand in the register, and as it is judged by them."
    return [
        heading("Station and nameplates"),
        paragraph(words, "small"),
        *site(source, snapshot.part("site")),
        *section(source, "Pump set", snapshot.part("pump_set"), PumpSet, 3),
        *pump(source, snapshot.part("pump")),
        *motor(source, snapshot.part("motor")),
        *section(source, "Drive", snapshot.part("drive"), Drive, 3),
        *_several(source, "Sensors", snapshot.parts("sensors"), Sensor),
        *_several(source, "Vessels", snapshot.parts("vessels"), Vessel),
        *instruments(source),
        *neighbours(source),
    ]


def site(source: Source, part: Part) -> list[Block]:
    """The station with its pipeline and system curve."""
    curve = listed_section(source, "System curve", part, "system_curve_points", SystemPoint, 3)
    pipeline = section(source, "Pipeline", part.part("pipeline"), Pipeline, 3)
    return [*section(source, "Station", part, Site, 3), *pipeline, *curve]


def pump(source: Source, part: Part) -> list[Block]:
    """A pump with its curve."""
    title = "Pump curve at rated speed"
    curve = listed_section(source, title, part, "curve_points", CurvePoint, 3)
    return [*section(source, "Pump", part, Pump, 3), *curve]


def motor(source: Source, part: Part) -> list[Block]:
    """A motor with the lines of its plate."""
    ratings = part.parts("ratings")
    used = part.see("rating_in_use")
    heads = [f"{i + 1}, in use" if i == used else str(i + 1) for i in range(len(ratings))]
    if isinstance(used, int) and used < len(ratings):
        part.take("rating_in_use")
    plate = section(source, "Motor", part, Motor, 3)
    lines = lines_of(ratings, order(Rating))
    table = [heading("Ratings of the motor", 3), *matrix(source, heads, lines)] if lines else []
    return [*plate, *table]


def _several(
    source: Source, title: str, parts: Sequence[Part], model: type[BaseModel]
) -> list[Block]:
    """Pieces beside each other, under the tag or serial number they are known by."""
    if not parts:
        return []
    heads = [_head(part, index) for index, part in enumerate(parts)]
    lines = lines_of(parts, order(model))
    return [heading(title, 3), *matrix(source, heads, lines, words=True)]


def _head(part: Part, index: int) -> str:
    name = "tag" if part.see("tag") else "serial"
    known = str(part.see(name) or index + 1)
    head = short(known)
    if head == known:
        part.take(name)  # else the whole stands in a row: a head is repeated on every page
    return head
