"""What is tested and read on site: blanks beside what is known beforehand."""

from collections.abc import Iterable, Iterator
from typing import get_args

from calculations.aspects.check_points import CheckPoint, signal_unit
from calculations.aspects.suction import IN_THE_LIQUID
from calculations.inputs.readings import CheckItem
from calculations.rules.protections import SET_BY
from calculations.units import Quantity
from records.documents import labels
from records.documents.blocks import Block, Column, heading, paragraph
from records.documents.contents.source import Document, called, compact
from records.documents.shown import Cell, is_quantity, number, quantity, text
from records.documents.visit.forms import blank, box, boxes, fields, form
from records.documents.visit.visit import Visit, cell

# Field of a duty point, kind of quantity.
READINGS = (
    ("Frequency", "Hz"), ("Speed (measured?)", "rpm"), ("Flow, and by what", "flow"),
    ("Suction pressure", "pressure"), ("Its gauge over datum", "length"),
    ("Discharge pressure", "pressure"), ("Its gauge over datum", "length"),
    ("Output currents U / V / W", "current"), ("Output voltage", "voltage"),
    ("Input currents L1 / L2 / L3", "current"), ("Power at the drive's input", "kW"),
    ("Power and current on the display", ""), ("Motor temperature", "temperature"),
    ("Vibration, highest r.m.s.", "velocity"), ("Other pumps running", ""),
    ("Steady for", "s"), ("Instruments", ""),
)  # fmt: skip
_SUCTION = (3, 4)  # rows of the suction's gauge
_LEVEL_READ = {
    **dict.fromkeys(("wet_well", "flooded_tank", "suction_lift"), "Level of the liquid over datum"),
    "well": "Depth of the water below the head",
}
# Without a drive the same current flows all along the line; nothing has a display.
_ALONG_THE_LINE = {
    "Output currents U / V / W": "Motor currents U / V / W", "Output voltage": "Motor voltage",
    "Input currents L1 / L2 / L3": "", "Power at the drive's input": "Power from the supply",
    "Power and current on the display": "",
}  # fmt: skip


# -- before it is switched on ---------------------------------------------------------------------


def mechanical(visit: Visit) -> list[Block]:
    """Things to look at before the first start."""
    columns = [Column("Before the first start", fr=1.5), Column("Good", mm=14),
               Column("Not good", mm=18), Column("Does not apply", mm=26),
               Column("Value, remark", fr=1)]  # fmt: skip
    rows = [
        [text(labels.sentence(labels.word(item))), box(), box(), box(), blank()]
        for item in get_args(CheckItem)
    ]
    return [heading("Mechanical checks"), form(columns, rows)]


def electrical(visit: Visit) -> list[Block]:
    """Supply, insulation, windings, earth, rotation."""
    return [
        heading("Electrical tests"),
        *_supply(visit),
        *_insulation(visit),
        heading("Windings, phase to phase, and protective earth", 3),
        fields([("U – V", "ohm"), ("V – W", "ohm"), ("W – U", "ohm"), ("Resolution", "ohm"),
                ("Winding temperature", visit.unit("temperature")), ("Earth, motor to bar", "ohm")],
               6),
        boxes(["two-wire", "four-wire", "at the motor", f"at the {_feeds(visit)}'s end of the "
               "cable"], 4),
        *_rotation(visit),
    ]  # fmt: skip


def _feeds(visit: Visit) -> str:
    """What the motor is connected to."""
    return "drive" if visit.has_drive else "starter"


def _supply(visit: Visit) -> list[Block]:
    site, drive = visit.plate("site"), visit.plate("drive")
    nominal = site.get("supply_nominal_voltage")
    ends = [drive.get(name) for name in ("input_voltage_min", "input_voltage_max")]
    allowed = compact([quantity(end) for end in ends if end], " to ")
    words = compact([
        f"Nominal {quantity(nominal)}" if nominal else "",
        f"the drive takes {allowed}" if allowed else "",
        f"{quantity(site['supply_frequency'])}" if site.get("supply_frequency") else "",
    ])  # fmt: skip
    volts = ["L1 – L2", "L2 – L3", "L3 – L1"] if site.get("supply_phases") != 1 else ["L – L/N"]
    rows = [(each, visit.unit("voltage")) for each in volts]
    rows += [("Frequency", "Hz")]
    rows += [("D.C. bus", visit.unit("voltage"))] if visit.has_drive else []
    return [
        heading("Supply", 3),
        *([paragraph(f"{words}.", "small")] if words else []),
        fields(rows, len(rows)),
    ]


def _insulation(visit: Visit) -> list[Block]:
    least = visit.expectation.insulation
    return [
        heading("Insulation, motor to earth, before the motor is connected to the "
                f"{_feeds(visit)}", 3),
        *([_least(visit)] if least else []),
        *_last_insulation(visit),
        fields([("Test voltage", "V"), ("After 30 s", "Mohm"), ("After 1 min", "Mohm"),
                ("After 10 min", "Mohm"), ("Winding temperature", visit.unit("temperature")),
                ("Humidity", "%")], 6),
        boxes([f"{_feeds(visit)} disconnected", "with cable", "discharged afterwards"], 3),
    ]  # fmt: skip


def _least(visit: Visit) -> Block:
    said = [
        f"{_words(each.resistance)} at {_words(each.temperature_in(visit.unit('temperature')))}"
        for each in visit.expectation.insulation
    ]
    return paragraph(f"At least, after one minute: {', '.join(said)} of the winding.", "small")


def _last_insulation(visit: Visit) -> list[Block]:
    read, on = visit.last("insulation")
    if not read:
        return []
    with_cable = read.get("includes_cable")
    cable = "" if with_cable is None else "with cable" if with_cable else "without cable"
    voltage, warm = (quantity(read[name]) if name in read else ""
                     for name in ("test_voltage", "winding_temperature"))  # fmt: skip
    words = compact([
        f"{quantity(read['resistance_1_min'])} after one minute", cable,
        f"at {voltage}" if voltage else "", f"{warm} of the winding" if warm else "",
    ])  # fmt: skip
    return [paragraph(f"{on}: {words}.", "small")]


def _words(value: Quantity) -> str:
    return quantity({"value": value.value, "unit": value.unit})


def _rotation(visit: Visit) -> list[Block]:
    if not visit.has_drive:
        return [heading("Direction of rotation", 3), boxes(["correct", "reversed"], 4)]
    bypass = visit.plate("pump_set").get("bypass") in ("manual", "automatic")
    words = ["on the drive: correct", "on the drive: reversed"]
    words += ["on the bypass: correct", "on the bypass: reversed"] if bypass else []
    return [heading("Direction of rotation", 3), boxes(words, 4)]


# -- running --------------------------------------------------------------------------------------


def duty_points(visit: Visit) -> list[Block]:
    """Readings at steady operating points."""
    purposes = visit.purposes
    columns = [Column("Reading", fr=1.25), *(Column(each.capitalize(), fr=1) for each in purposes)]
    rows = [[text(label), *([blank(_unit(visit, kind))] * len(purposes))]
            for label, kind in _readings(visit)]  # fmt: skip
    words = "Say where electrical values were read: drive's input, output and display differ."
    told = [paragraph(words, "small")] if visit.has_drive else []
    return [heading("Duty points"), *told, form(columns, rows)]


def _suction(visit: Visit) -> str:
    return str(visit.plate("site").get("suction_kind"))


def _stands_in_its_liquid(visit: Visit) -> bool:
    """Whether there is no suction pipe that a gauge could sit on: beside a wet well there is."""
    if _suction(visit) == "well":
        return True
    return _suction(visit) == "wet_well" and visit.plate("pump").get("type") in IN_THE_LIQUID


def _readings(visit: Visit) -> Iterator[tuple[str, str]]:
    level, in_the_liquid = _LEVEL_READ.get(_suction(visit)), _stands_in_its_liquid(visit)
    for index, (label, kind) in enumerate(READINGS):
        if index == _SUCTION[0] and level:
            yield level, "length"
        if index in _SUCTION and in_the_liquid:
            continue
        name = label if visit.has_drive else _ALONG_THE_LINE.get(label, label)
        if name:
            yield name, kind


def _unit(visit: Visit, kind: str) -> str:
    return kind if kind in ("", "Hz", "rpm", "s", "kW") else visit.unit(kind)


# -- sensors --------------------------------------------------------------------------------------


def sensors(visit: Visit) -> list[Block]:
    """Points of every sensor that concerns the set, up and down."""
    plates = visit.known.snapshot.get("sensors") or ()
    blocks = [block for plate, points in zip(plates, visit.expectation.sensors, strict=True)
              for block in _sensor(visit, plate, points)]  # fmt: skip
    return [heading("Sensor verifications"), *blocks] if blocks else []


def _sensor(visit: Visit, plate: Document, points: Iterable[CheckPoint]) -> Iterator[Block]:
    signal = signal_unit(plate.get("output"))
    columns = [Column("", mm=11), Column("Applied", "quantity", fr=1),
               Column("Expected", "quantity", fr=0.9), Column("Found: signal", fr=0.9),
               Column("Found: shown", fr=0.9), Column("Left: signal", fr=0.9),
               Column("Left: shown", fr=0.9)]  # fmt: skip
    process = str((plate.get("upper_range_value") or {}).get("unit") or "")
    rows = [
        [text(each.way), cell(each.applied) or text(f"{each.share} %"),
         cell(each.signal) or {"t": ""}, blank(signal), blank(process), blank(signal),
         blank(process)]
        for each in points
    ]  # fmt: skip
    yield heading(compact([called(plate), str(plate.get("serial") or "")], ", "), 3)
    yield paragraph(_about(visit, plate), "small")
    yield fields([("Reference used", ""), ("Reference over the sensor", visit.unit("length")),
                  ("Damping", "s")])  # fmt: skip
    yield form(columns, rows)
    yield boxes(["isolated and vented", "adjusted: zero", "adjusted: span", "scaling changed"], 4)


def _about(visit: Visit, plate: Document) -> str:
    words = visit.source.shown.words
    tolerance = plate.get("tolerance_percent_of_span")
    height = plate.get("tapping_elevation")
    return compact([
        words("quantity", plate.get("quantity")), words("location", plate.get("location")),
        str(plate.get("output") or ""),
        f"allowed error {quantity(tolerance)} of span" if tolerance else "",
        f"tapping {quantity(height)} over datum" if height else "",
    ]) + "."  # fmt: skip


# -- protections, levels, vessels -----------------------------------------------------------------


def protections(visit: Visit) -> list[Block]:
    """What the kind of station has to prove, at the values that are set."""
    columns = [Column("Protection", fr=1.5), Column("Set at", "quantity", fr=0.9),
               Column("How provoked", fr=1.3), Column("Acted at", fr=0.8),
               Column("After", fr=0.6), Column("Passed", mm=14)]  # fmt: skip
    rows = [
        [text(labels.sentence(words)), _set_at(visit, functions), blank(), blank(), blank("s"),
         box()]
        for words, functions in visit.expectation.protections
    ]  # fmt: skip
    rows += [[blank(), blank(), blank(), blank(), blank("s"), box()] for _ in range(3)]
    return [heading("Protections"), form(columns, rows)]


def _set_at(visit: Visit, functions: tuple[str, ...]) -> Cell:
    names = (SET_BY.get(each, "") for each in functions)
    found = next((visit.left()[name] for name in names if visit.left().get(name)), None)
    return visit.source.shown.cell("", found) if is_quantity(found) else blank()


LEVELS = ("start_level", "stop_level", "lag_start_level", "high_level_alarm", "low_level_cutoff")


def levels(visit: Visit) -> list[Block]:
    """Thresholds of level against the tape."""
    left = visit.left()
    if visit.plate("site").get("suction_kind") != "wet_well" and not any(map(left.get, LEVELS)):
        return []
    columns = [Column("Threshold", fr=1.2), Column("Set at", "quantity", fr=1),
               Column("By tape", fr=1), Column("Shown", fr=1)]  # fmt: skip
    unit = visit.unit("length")
    rows = [[text(labels.label(name)), visit.source.shown.cell(name, left.get(name)) or blank(unit),
             blank(unit), blank(unit)] for name in LEVELS]  # fmt: skip
    return [heading("Levels"), form(columns, rows)]


def vessels(visit: Visit) -> list[Block]:
    """Pre-charge of every vessel, drained."""
    found = visit.known.snapshot.get("vessels") or ()
    if not found:
        return []
    columns = [Column("Vessel", fr=1), Column("Design", "quantity", fr=1),
               Column("Target today", "quantity", fr=1), Column("As found", fr=1),
               Column("As left", fr=1), Column("Drained", mm=16)]  # fmt: skip
    unit = visit.unit("pressure")
    rows = [
        [text(called(plate)),
         visit.source.shown.cell("", plate.get("pre_charge_pressure_design")),
         _target(visit, index), blank(unit), blank(unit), box()]
        for index, plate in enumerate(found)
    ]  # fmt: skip
    return [heading("Vessels: pre-charge, water side drained"), form(columns, rows)]


def _target(visit: Visit, index: int) -> Cell:
    for value in visit.expectation.derived:
        if value.id == "vessel.pre-charge-target" and value.subject == f"/vessels/{index}":
            return number(value.shown.value, value.shown.unit)
    return None
