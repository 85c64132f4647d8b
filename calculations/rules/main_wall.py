"""Rule of a main's wall against its bore and its pressure rating: surges rest on all three."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, about, percent, roughly, spaced
from calculations.rules.closeness import above, below

PIPELINE = "/site/pipeline"
WALL, BORE = f"{PIPELINE}/wall_thickness", f"{PIPELINE}/inside_diameter"
RATING, MATERIAL = f"{PIPELINE}/pressure_rating", f"{PIPELINE}/material"
MATERIALS = ("ductile_iron", "steel", "pvc", "pe")
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
        limit=limit, material=spaced(material), bears=roughly(bears, "MPa"),
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
    "90 MPa where it is stretched, of PE 25 MPa; above half of that it is noted), and is not "
    "thinner than mains of iron (3 mm) or steel (1.5 mm) are made. The speed of a pressure wave "
    "rests on it.",
    source="hoop stress of a thin wall, Barlow; strengths: EN 545, EN 10224, ISO 16422, from "
    "memory; half of them: AWWA M11, from memory; thinnest walls: EN 545 and common practice",
    subject=WALL,
    needs=(WALL, BORE, RATING),
    applies=lambda case: case.is_(MATERIAL, *MATERIALS),
    check=_wall,
    limits={
        "ductile-iron": Limit(270, "MPa", "yield of ductile iron", "lower", "from memory"),
        "steel": Limit(355, "MPa", "yield of pipe steel", "lower", "from memory"),
        "pvc": Limit(90, "MPa", "strength of stretched PVC", "lower", "from memory"),
        "pe": Limit(25, "MPa", "yield of PE", "lower", "from memory"),
        "share": Limit(50, "%", "of that, noted above", "lower", "from memory"),
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
