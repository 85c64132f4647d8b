"""What was looked at and tested on site besides running and measuring."""

from calculations.inputs.event import NotInRegister, Replaced
from calculations.inputs.readings import (
    DrawdownTest,
    EarthTest,
    IdentificationRun,
    Insulation,
    LevelTest,
    MechanicalCheck,
    ProtectionTest,
    Rotation,
    StepTest,
    Supply,
    VesselCheck,
    WindingResistance,
)
from records.documents import labels
from records.documents.blocks import Block, heading, pairs
from records.documents.contents import figures
from records.documents.contents.listing import derived_lines, listed_section, section
from records.documents.contents.matrix import lines_of, matrix
from records.documents.contents.source import Source
from records.documents.shown import order, text

_HEAD = (
    "isolation_confirmed", "permit_reference", "parties", "ambient_temperature",
    "liquid_temperature", "weather", "reading_unit_system", "hours_run", "start_count",
    "energy_counter", "device_time", "sensors", "instruments",
)  # fmt: skip


def visit(source: Source) -> list[Block]:
    """The circumstances of the visit, what was replaced, and what the register lacks."""
    event = source.event
    rows = source.cells((name, event.take(name)) for name in _HEAD if event.see(name) is not None)
    blocks = [pairs(rows)] if rows else []
    blocks += listed_section(source, "Replaced", event, "replaced", Replaced, 3)
    blocks += listed_section(
        source, "Not in the register", event, "not_in_register", NotInRegister, 3
    )
    return [heading("The visit"), *blocks] if blocks else []


def electrical(source: Source) -> list[Block]:
    """Supply, motor tests, protective earth."""
    event = source.event
    return [
        *section(source, "Supply", event.part("supply"), Supply),
        *_motor_tests(source),
        *listed_section(source, "Protective earth", event, "earth_tests", EarthTest),
    ]


def _motor_tests(source: Source) -> list[Block]:
    tests = source.event.part("motor_tests")
    winding, insulation = tests.part("winding_resistance"), tests.part("insulation")
    run = source.event.part("identification_run")
    blocks = [
        *section(source, "Winding resistance", winding, WindingResistance, 3),
        *section(source, "Insulation to earth", insulation, Insulation, 3),
        *section(source, "Identification run", run, IdentificationRun, 3),
    ]
    others = source.rest(tests)
    blocks += [pairs(others)] if others else []
    return [heading("Motor tests"), *blocks] if blocks else []


def mechanical(source: Source) -> list[Block]:
    """Mechanical checks, rotation, vessels."""
    event = source.event
    return [
        *_checks(source),
        *section(source, "Rotation", event.part("rotation"), Rotation),
        *listed_section(source, "Vessels", event, "vessel_checks", VesselCheck),
    ]


def _checks(source: Source) -> list[Block]:
    """What was looked at, with its result."""
    rows = []
    for check in source.event.parts("mechanical_checks"):
        item = labels.label(str(check.take("item")))
        said = [source.shown.words(name, v) for name, v in check.rest(order(MechanicalCheck))]
        rows.append((item, text(", ".join(said))))
    return [heading("Mechanical checks"), pairs(rows)] if rows else []


def protections(source: Source) -> list[Block]:
    """Protections that were provoked, and what they did."""
    return listed_section(source, "Protections", source.event, "protection_tests", ProtectionTest)


def levels(source: Source) -> list[Block]:
    """Levels by tape, draw-down, steps."""
    event = source.event
    return [
        *listed_section(source, "Level tests", event, "level_tests", LevelTest),
        *_drawdown(source),
        *listed_section(source, "Steps of the regulation", event, "step_tests", StepTest),
        *figures.steps(source),
    ]


def _drawdown(source: Source) -> list[Block]:
    tests = source.event.parts("drawdown_tests")
    if not tests:
        return []
    heads = [f"Test {index + 1}" for index in range(len(tests))]
    lines = [*lines_of(tests, order(DrawdownTest)), *derived_lines(source, tests)]
    return [heading("Draw-down tests"), *matrix(source, heads, lines)]
