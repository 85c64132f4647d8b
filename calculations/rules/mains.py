"""Rules of the main: the velocity in it where it carries solids, and its wall."""

from collections.abc import Iterator

from calculations.aspects import group, holding, pumping, system
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, about, percent, roughly, spaced
from calculations.rules.closeness import above, below
from calculations.rules.scope import has_drive
from calculations.rules.speed_limits import MAXIMUM, MINIMUM, RESTS_ON_CURVE

SETTLING = ("sewage", "sludge", "raw_water")


def carries_solids(case: Case) -> bool:
    """Whether a drive pumps a liquid that settles through a main that is recorded."""
    return (
        has_drive(case)
        and pumping.is_centrifugal(case)
        and case.is_("/site/liquid_kind", *SETTLING)
        and case.find("/site/pipeline") is not None
    )


def _velocity(case: Case, place: str) -> Iterator[Finding]:
    least = case.limit("main.velocity.least")
    ends: tuple[tuple[str, str, Severity], ...] = (
        ("maximum", MAXIMUM, "review"),
        ("minimum", MINIMUM, "note"),
    )
    for variant, pointer, severity in ends:
        frequency = case.quantity(pointer)
        # Solids that one pump lets lie the others move along: nobody needs them moved all day.
        running = system.flow_together if variant == "maximum" else system.flow
        flow = running(case, frequency.si, "high")
        if flow == 0:
            raise _no_flow(case, pointer)
        velocity = system.main_velocity(case, flow)
        if not below(velocity, least):
            continue
        unit = "ft/s" if case.quantity("/site/pipeline/inside_diameter").unit == "in" else "m/s"
        yield VELOCITY.finding(
            variant, severity, case.place(pointer),
            compared={"frequency": frequency, "velocity": about(velocity, unit)},
            limit=f"at least {roughly(least, unit)}", least=roughly(least, unit),
            pumps=_pumps(case), taken=_taken(case),
        )  # fmt: skip
        return


def _pumps(case: Case) -> str:
    pumps = group.sharing(case)
    return f" with {pumps} pumps" if pumps > 1 else ""


def _taken(case: Case) -> str:
    """What is taken for granted of a main that falls to its outlet, in words."""
    if holding.over_summit(case, "high") is None:
        return ""
    return (
        " (the main taken as full: beyond its high point, above the outlet, it may run part full, "
        "and faster)"
    )


def _no_flow(case: Case, pointer: str) -> Missing | Waits:
    """Why nothing flows: told by another rule where a lift is pumped against."""
    if holding.lifts(case):
        return Waits("speed.zero-flow")
    return Missing(case.place(pointer), because="nothing flows at the lowest lift")


VELOCITY = Rule(
    id="main.velocity",
    title="Velocity in a main that carries solids",
    severities=("review", "note"),
    condition="With sewage, sludge or raw water the velocity in the main reaches 0.6 m/s at the "
    "maximum frequency of all pumps that may run at once, at the lowest lift; less at the minimum "
    "frequency of one is a note, since it has to be reached somewhere in each day. The main "
    "is taken as full; beyond a high point above the outlet it may not be, and the finding says "
    "so.",
    source="common practice, from memory",
    subject=MAXIMUM,
    needs=(MINIMUM, MAXIMUM, "/site/pipeline/inside_diameter"),
    waits_for=(*RESTS_ON_CURVE, "speed.order"),
    applies=carries_solids,
    check=_velocity,
    limits={"least": Limit(0.6, "m/s", "to keep solids moving", "higher", "from memory")},
    sentences={
        "maximum": "Even at {frequency}{pumps} the liquid moves at {velocity} only, less than the "
        "{least} that keep solids moving{taken}.",
        "minimum": "At {frequency} the liquid moves at {velocity}, less than the {least} that keep "
        "solids moving{taken}: it has to run faster for a while each day.",
    },
    remedies={"maximum": "Check flow and bore; flush the main at a higher speed."},
)


# -- wall ----------------------------------------------------------------------------------------

PIPELINE = "/site/pipeline"
WALL, BORE = f"{PIPELINE}/wall_thickness", f"{PIPELINE}/inside_diameter"
RATING, MATERIAL = f"{PIPELINE}/pressure_rating", f"{PIPELINE}/material"
MATERIALS = ("ductile_iron", "steel", "pvc", "pe")
NAMES = {"pvc": "PVC", "pe": "PE"}
THINNEST = ("ductile_iron", "steel")
"""Materials of which thin walls are not made for mains, whatever pressure they would bear."""


def _stress(pressure: float, bore: float, wall: float) -> float:
    """Hoop stress of a thin wall [Pa]."""
    return pressure * bore / (2 * wall)


def _wall(case: Case, place: str) -> Iterator[Finding]:
    wall, bore, rating = case.quantity(WALL), case.quantity(BORE), case.quantity(RATING)
    material = case.word(MATERIAL)
    name = material.replace("_", "-")
    # The last digits in favour of the wall.
    stress = _stress(rating.at_least, bore.at_least, wall.at_most)
    bears = case.limit(f"main.wall.{name}")
    least = case.limit(f"main.wall.least-{name}") if material in THINNEST else 0.0
    share = case.limit("main.wall.share")
    severity: Severity
    if above(stress, bears):
        variant, severity, limit = "yields", "review", f"at most {roughly(bears, 'MPa')}"
    elif below(wall.at_most, least):
        variant, severity, limit = "thin", "review", f"at least {roughly(least, wall.unit)}"
    elif above(stress, share * bears):
        variant, severity = "little", "note"
        limit = f"at most {percent(share)} of {roughly(bears, 'MPa')}"
    else:
        return
    yield MAIN_WALL.finding(
        variant, severity, place,
        compared={
            "wall": wall, "bore": bore, "rating": rating,
            "stress": about(_stress(rating.si, bore.si, wall.si), "MPa"),
        },
        limit=limit, material=NAMES.get(material, spaced(material)), bears=roughly(bears, "MPa"),
        least=roughly(least, wall.unit),
    )  # fmt: skip


_AT_RATING = (
    "At its rating of {rating} a wall of {wall} around a bore of {bore} carries {stress} (p D / "
    "2 e), "
)

MAIN_WALL = Rule(
    id="main.wall",
    title="Wall of the main against its bore and pressure rating",
    severities=("review", "note"),
    condition="At the main's pressure rating its wall carries no more than its material bears "
    "(hoop stress p D / 2 e; yield of ductile iron 270 MPa, of common pipe steel 355 MPa, of PVC "
    "90 MPa where it is stretched, of PE 25 MPa; above 55 % of that it is noted), and is not "
    "thinner than mains of iron (3 mm) or steel (1.5 mm) are made. The speed of a pressure wave "
    "rests on it.",
    source="hoop stress of a thin wall, Barlow; strengths: EN 545, EN 10224, ISO 16422, from "
    "memory; a good half of them: AWWA M11, and EN 545, where a third of its strength of 420 MPa "
    "is 52 % of iron's yield, from memory; thinnest walls: EN 545 and common practice",
    subject=WALL,
    needs=(WALL, BORE, RATING),
    applies=lambda case: case.is_(MATERIAL, *MATERIALS),
    check=_wall,
    limits={
        "ductile-iron": Limit(270, "MPa", "yield of ductile iron", "lower", "from memory"),
        "steel": Limit(355, "MPa", "yield of pipe steel", "lower", "from memory"),
        "pvc": Limit(90, "MPa", "strength of stretched PVC", "lower", "from memory"),
        "pe": Limit(25, "MPa", "yield of PE", "lower", "from memory"),
        "share": Limit(55, "%", "of that, noted above", "lower", "from memory"),
        "least-ductile-iron": Limit(3, "mm", "thinnest wall of iron", "higher", "from memory"),
        "least-steel": Limit(1.5, "mm", "thinnest wall of steel", "higher", "common practice"),
    },
    sentences={
        "yields": _AT_RATING + "more than the {bears} at which {material} gives: one of the three "
        "is wrong, and with it the wave's speed and what a surge is told to be.",
        "thin": "A wall of {wall} is thinner than mains of {material} are made ({least}): it makes "
        "the wave too slow, and what a surge is told to be too low.",
        "little": _AT_RATING + "more than is usual in {material}, which gives at about {bears}.",
    },
    remedies=dict.fromkeys(
        ("yields", "thin", "little"),
        "Read wall, bore and rating again with their units, from drawing or pipe list: a point may "
        "be moved by one place, or inches written as millimetres.",
    ),
)
