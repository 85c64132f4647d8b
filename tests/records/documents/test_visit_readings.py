"""What the visit sheet leaves room for, by where the pump draws from; what it does not expect."""

import pytest

from tests.calculations.building import booster, changed, derived, judged
from tests.calculations.building_plates import q
from tests.records.documents.test_visit_sheet import blocks, rows, under

LEVEL, DEPTH = "Level of the liquid over datum", "Depth of the water below the head"


@pytest.mark.parametrize(
    ("kind", "pump", "level", "gauge"),
    [
        ("pressurised_main", "end_suction", None, True),
        ("pressurised_main", "vertical_turbine", None, True),  # in a can, which a main feeds
        ("flooded_tank", "end_suction", LEVEL, True),
        ("suction_lift", "self_priming", LEVEL, True),
        ("wet_well", "end_suction", LEVEL, True),  # in a dry pit beside it
        ("wet_well", "self_priming", LEVEL, True),
        ("wet_well", "submersible_sewage", LEVEL, False),
        ("wet_well", "vertical_turbine", LEVEL, False),
        ("well", "submersible_well", DEPTH, False),
    ],
)
def test_what_stands_before_the_pump_is_asked_for_where_it_can_be_read(kind, pump, level, gauge):
    """A pump in its liquid has no gauge at its suction, and its head is told by the level."""
    station = changed(booster(), {"/site/suction_kind": kind, "/pump/type": pump})
    asked = list(rows(under(blocks(station), "Duty points")))
    assert {LEVEL, DEPTH} & set(asked) == ({level} if level else set())
    assert ("Suction pressure" in asked) is gauge
    assert "Discharge pressure" in asked


@pytest.mark.parametrize(("rating", "asked"), [("400", False), ("175", True)])
def test_a_ramp_that_no_main_asks_for_is_not_expected(rating, asked):
    """A main of 400 psi, highest at its outlet, bears an instant stop: 0 s are nothing to set."""
    main = {"length": q("4000", "ft"), "inside_diameter": q("12", "in"), "material": "steel",
            "wall_thickness": q("0.3", "in"), "pressure_rating": q(rating, "psi"),
            "high_point_elevation": q("189", "ft")}  # fmt: skip
    document = changed(booster(), {"/site/pipeline": main})
    shortest = derived(judged(document), "surge.shortest-ramp")
    assert (shortest.si > 0) is asked
    found = blocks(document)
    (ramp,) = [
        row["cells"] for block in found if block["kind"] == "form" for row in block["rows"]
        if row.get("cells") and str(row["cells"][0].get("t")).startswith("Ramp down time")
    ]  # fmt: skip
    assert ("at least, for surge" in str(ramp)) is asked
