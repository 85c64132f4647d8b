"""Rule of the datum that heights of a site count from: the pump, not the sea."""

from collections.abc import Iterator

from calculations.aspects import suction
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, entered


def _datum(case: Case, place: str) -> Iterator[Finding]:
    found = suction.misplaced(case)
    if found is None:
        return
    pointer, slip = found
    if slip in ("lift", "dry", "sunk"):
        suction.require_fit(case, pointer)  # in its right place it may lie below the pump
    height, sea = case.quantity(pointer), case.find("/site/elevation")
    high, eye = case.limit(f"{suction.DATUM}.high"), case.find(suction.EYE)
    highest = case.find(suction.HIGHEST)
    beside = {
        "sea": {"elevation": sea},
        "lift": {"eye": eye},
        "dry": {"highest": highest},
        "sunk": {"floor": case.find("/site/wet_well_floor")},
    }.get(slip, {})
    yield DATUM.finding(
        slip, "review", case.place(pointer),
        compared={"height": height, **{name: read for name, read in beside.items() if read}},
        limit={
            "sea": f"more than {about(suction.NEAR, height.unit)} from the elevation",
            "high": f"at most {about(high, height.unit)}",
            "gauge": f"at most {about(suction.BESIDE, height.unit)}",
            "lift": "below the pump",
            "dry": "not above the highest level",
            "sunk": f"at most {about(suction.PIT, height.unit)} under the floor",
        }[slip],
        high=about(high, height.unit), beside=about(suction.BESIDE, height.unit),
        over=f"the pump's eye at {entered(eye)}" if eye else "the datum, the pump's eye",
    )  # fmt: skip


DATUM = Rule(
    id=suction.DATUM,
    title="Heights of the site count from the pump",
    severities=("review",),
    condition="Levels of the liquid, floor, gauges and tappings (a remote sensor's apart) count "
    "from the site's datum: the eye of a dry pump (or what its stated height counts from), or rim "
    "or floor of a pump's own well. No "
    "gauge or tapping is higher than 10 m and within 10 m of the site's elevation over the sea, or "
    "at the suction higher than 15 m. No level lies more than 50 m above the datum, nor more than "
    "10 m above it and within 10 m of the site's elevation where the suction gauges show 10 m less "
    "than that (or the liquid is lifted); gauges that show it bear it out. The lowest level of "
    "what is lifted by suction lies below the eye, and the eye of a pump that stands or hangs in "
    "the liquid not above its highest level, nor (of a submersible sewage pump) more than 1 m "
    "under the floor of its well.",
    source="definition of net positive suction head, HI 9.6.1; limits: common practice, no source",
    subject="/site",
    applies=lambda case: bool(suction.heights(case)),
    check=_datum,
    limits={
        "high": Limit(50, "m", "level over the datum", "lower", "common practice"),
    },
    sentences={
        "sea": "A height of {height} beside the site's elevation of {elevation}: probably heights "
        "over the sea were entered. They count from the pump.",
        "gauge": "A gauge or tapping at the suction {height} above the datum is over {beside}: "
        "probably its height counts from the sea or from a bench mark. Heights count from the "
        "pump.",
        "high": "A height {height} above the datum is more than {high}: probably it counts from "
        "the sea or from a bench mark. Heights count from the pump.",
        "lift": "The liquid is said to be lifted by suction, and at its lowest stands at {height}, "
        "above {over}.",
        "sunk": "The eye of a pump that stands in a wet well is said to be at {height}, far under "
        "its floor at {floor}: probably the point is moved, or it counts from elsewhere.",
        "dry": "The pump is of a kind that stands or hangs in the liquid, but its eye is said to "
        "be at {height}, above the highest level of {highest}: probably a sign is missing, or it "
        "counts from elsewhere.",
    },
    remedies={
        **dict.fromkeys(
            ("sea", "high", "gauge"),
            "Enter all heights of the site from one datum: the eye of a dry pump, or rim or floor "
            "of the well that the pump stands in.",
        ),
        **dict.fromkeys(
            ("dry", "sunk"),
            "Enter the height of the eye over the site's datum, below it as negative.",
        ),
        "lift": "Enter levels below the pump as negative, or correct the kind of suction, or the "
        "height of the eye where one is entered.",
    },
)
