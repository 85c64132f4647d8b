"""Rules of the supply's lines: what each has to earth, and what each carries into the drive."""

from collections.abc import Iterator
from math import sqrt

from calculations.aspects.load import mean
from calculations.case import Case, Missing
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, percent, show
from calculations.rules.closeness import Apart, above, below
from calculations.rules.incoming_supply import mean_voltage
from calculations.rules.scope import has_drive
from calculations.units import Quantity

TO_EARTH, CURRENTS = "/event/supply/line_to_earth_voltages", "/event/supply/currents"

# -- to earth -----------------------------------------------------------------------------------

STAR, CORNER, HIGH_LEG = "solid_star", "corner_earthed_delta", "high_leg_delta"
SHARES = {
    STAR: (1 / sqrt(3),) * 3,
    CORNER: (0.0, 1.0, 1.0),
    HIGH_LEG: (0.5, 0.5, sqrt(3) / 2),
}
"""What the lines have to earth, the lowest first, over the voltage from line to line [1]."""

OTHERS = {
    "line": (1.0, 1.0, 1.0),
    "corner": SHARES[CORNER],
    "star": SHARES[STAR],
    "high_leg": SHARES[HIGH_LEG],
}


def _to_earth(case: Case, place: str) -> Iterator[Finding]:
    read: list[Quantity] = case.find(TO_EARTH) or []
    line = mean_voltage(case)
    kind = case.word("/site/supply_earthing")
    limit = case.limit("supply.line-to-earth.difference")
    if len(read) != 3 or line <= 0 or _are(read, line, SHARES[kind], limit):
        return
    variant = next((name for name, each in OTHERS.items() if _are(read, line, each, limit)), kind)
    if kind == HIGH_LEG and variant != "line":
        variant = HIGH_LEG
    lowest, middle, highest = sorted(read, key=lambda each: each.si)
    yield LINE_TO_EARTH.finding(
        variant, "review", place,
        compared={"lowest": lowest, "middle": middle, "highest": highest, "line": show(line, "V")},
        limit=f"{percent(limit)} of the voltage from line to line",
        usual=about(line / sqrt(3), "V"),
    )  # fmt: skip


def _are(read: list[Quantity], line: float, shares: tuple[float, ...], limit: float) -> bool:
    """Whether the three, the lowest first, are these shares of the line's voltage."""
    ordered = sorted(read, key=lambda each: each.si)
    return not any(
        above(abs(each.si - share * line) - each.resolution, limit * line)
        for each, share in zip(ordered, shares, strict=True)
    )


_READ = (
    "From the lines to earth {lowest}, {middle} and {highest} were read, from line to line {line}"
)
_STAR = _READ + "; on a star whose neutral is solidly earthed each has {usual}: "

LINE_TO_EARTH = Rule(
    id="supply.line-to-earth",
    title="Voltages to earth against how the supply is earthed",
    severities=("review",),
    condition="On a star with a solidly earthed neutral each line has the line voltage over sqrt(3)"
    " to earth, on a delta with an earthed corner one has none and two have all of it, on one "
    "with a high leg two have half of it and one 87 %; to within 10 % of the line voltage. On "
    "other supplies anything may stand there.",
    source="definition; 10 %: common practice, no source",
    subject=TO_EARTH,
    waits_for=("supply.phases", "supply.unbalance", "supply.voltage-range"),
    applies=lambda case: (
        bool(case.find(TO_EARTH))
        and case.find("/event/supply/line_voltages") is not None
        and case.is_("/site/supply_earthing", *SHARES)
        and case.find("/site/supply_phases") != 1
    ),
    check=_to_earth,
    limits={
        "difference": Limit(10, "%", "of the line voltage, each line", "lower", "common practice")
    },
    sentences={
        "line": "Probably the voltages from line to line were written twice. " + _READ + ".",
        "corner": _STAR + "this is a supply with an earthed corner, or one that is not earthed and "
        "has a fault to earth on a line.",
        "star": _READ + ": those of a star with an earthed neutral, not of an earthed corner.",
        "high_leg": _STAR + "this is a delta with a high leg.",
        STAR: _STAR + "a fault to earth on a supply that is not solidly earthed, a broken joint "
        "between neutral and earth, or another supply than the record has.",
        CORNER: _READ + ", which an earthed corner does not give.",
        HIGH_LEG: _READ + "; a delta with a high leg gives half of that at two lines and 87 % of "
        "it at the third.",
    },
    remedies={"line": "Read each line to earth."}
    | dict.fromkeys(
        ("corner", "star", "high_leg", STAR, CORNER, HIGH_LEG),
        "Read each line to earth again at the incoming terminals; find out how the supply is "
        "earthed, correct the site, and judge the drive's filter links by it.",
    ),
)


# -- into the drive -----------------------------------------------------------------------------

ALIKE = 0.5
"""How small the lowest of three currents may be over the highest where all three lines carry the
drive's current [1]: a rectifier without a reactor on an uneven supply; common practice."""


def _input_currents(case: Case, place: str) -> Iterator[Finding]:
    read: list[Quantity] = case.find(CURRENTS) or []
    if len(read) != 3:
        return
    lowest, middle, highest = sorted(read, key=lambda each: each.si)
    compared = {"lowest": lowest, "middle": middle, "highest": highest}
    if case.is_("/drive/input_phases", "1"):
        if lowest.si > ALIKE * highest.si:
            yield INPUT_CURRENTS.finding("one_phase", "review", place, compared=compared)
        return
    plate = case.find("/rating/current")
    if plate is None:
        raise Missing("/rating/current")
    least, lost = map(case.limit, ("supply.input-currents.least", "supply.input-currents.lost"))
    loaded = not below(middle.si, least * plate.si)
    if loaded and below(Apart(lowest.si / mean([middle, highest])).ratio, lost):
        case.require("/drive/input_phases")  # one for a single phase has no third current
        yield INPUT_CURRENTS.finding(
            "lost", "review", place, compared=compared, limit=f"at least {percent(lost)}"
        )


INPUT_CURRENTS = Rule(
    id="supply.input-currents",
    title="Currents into the drive against its phases",
    severities=("review",),
    condition="Where three currents were read at a drive's input, its plate is not that of a drive "
    "for a single phase, and under load none is below 10 % of the other two: an uneven supply "
    "makes a rectifier's currents uneven, but does not end one.",
    source="common practice, no source",
    subject=CURRENTS,
    waits_for=("supply.phases", "supply.unbalance"),
    applies=lambda case: (
        has_drive(case)
        and bool(case.find(CURRENTS))
        and case.is_("/event/supply/measured_at", "drive_input")
        and case.find("/site/supply_phases") == 3
    ),
    check=_input_currents,
    limits={
        "lost": Limit(10, "%", "lowest over the mean of the others", "higher", "common practice"),
        "least": Limit(50, "%", "of the motor's current, from which it is judged", "higher",
                       "common practice"),
    },
    sentences={
        "one_phase": "Three lines carry current into the drive ({lowest}, {middle} and {highest}), "
        "whose plate is entered as one for a single phase.",
        "lost": "One line carries {lowest} into the drive, the others {middle} and {highest}: a "
        "phase is lost, and the rectifier and the link's capacitors bear what it would carry.",
    },
    remedies={
        "one_phase": "Read the number of input phases from the drive's plate again; a drive for a "
        "single phase has no place for the third line.",
        "lost": "Look for a blown fuse, an open contact or a loose joint, isolated and proven "
        "dead; read again, and have the drive's own watch over its phases switched on.",
    },
)  # fmt: skip
