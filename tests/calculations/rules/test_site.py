"""Height of the site, earthing, fault current."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.stations import LEFT

ELEVATION = "site.elevation"
EARTHING = "supply.earthing"
FAULT = "supply.fault-rating"


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        ("1800", "m", []),
        ("5280", "ft", []),
        ("4000", "m", []),
        ("4001", "m", [("review", "feet")]),
        ("5280", "m", [("review", "feet")]),  # 5280 ft are 1609 m
        ("13200", "ft", [("review", "plain")]),  # 4023 m
        ("-430", "m", []),
        ("-431", "m", [("review", "feet")]),
        ("-432", "m", [("review", "feet")]),  # -432 ft are -132 m
    ],
)
def test_elevation(value: str, unit: str, expected: list[tuple[str, str]]) -> None:
    document = changed(booster(), {"/site/elevation": q(value, unit)})
    assert verdicts(document, ELEVATION) == expected


def test_what_rests_on_the_elevation_waits() -> None:
    judgement = judged(changed(booster(), {"/site/elevation": q("5280", "m")}))
    (waiting,) = lacking(judgement, "drive.rated-current")
    assert waiting.waits_for == ELEVATION


@pytest.mark.parametrize(
    ("earthing", "links", "expected"),
    [
        ("solid_star", "connected", []),
        ("solid_star", "disconnected", [("note", "open")]),
        ("solid_star", "unknown", []),
        ("unearthed", "disconnected", []),
        ("unearthed", "connected", [("review", "connected")]),
        ("impedance_earthed", "connected", [("review", "connected")]),
        ("corner_earthed_delta", "connected", [("review", "connected")]),
        ("high_leg_delta", "connected", [("review", "connected")]),
        ("unknown", "connected", [("review", "unknown_supply")]),
        ("unknown", "disconnected", []),
        ("unearthed", "unknown", [("review", "unknown_links")]),
    ],
)
def test_earthing(earthing: str, links: str, expected: list[tuple[str, str]]) -> None:
    changes = {"/site/supply_earthing": earthing, f"{LEFT}/emc_filter_earthed": links}
    assert verdicts(changed(booster(), changes), EARTHING) == expected


def test_missing_links_and_earthing_are_named() -> None:
    document = changed(booster(), {"/site/supply_earthing": "unearthed"})
    (missing,) = lacking(judged(without(document, f"{LEFT}/emc_filter_earthed")), EARTHING)
    assert missing.needs == (f"{LEFT}/emc_filter_earthed",)
    (missing,) = lacking(judged(without(booster(), "/site/supply_earthing")), EARTHING)
    assert missing.needs == ("/site/supply_earthing",)


@pytest.mark.parametrize(
    ("available", "fires"),
    [("22", False), ("65", False), ("65.4", True)],  # rating 65 kA
)
def test_fault_current(available: str, fires: bool) -> None:
    document = changed(booster(), {"/site/available_fault_current": q(available, "kA")})
    assert bool(verdicts(document, FAULT)) is fires


def test_the_fault_current_is_asked_for_in_the_united_states() -> None:
    document = without(booster(), "/site/available_fault_current")
    (missing,) = lacking(judged(document), FAULT)
    assert missing.needs == ("/site/available_fault_current",)
    elsewhere = judged(changed(document, {"/site/electrical_practice": "iec"}))
    assert lacking(elsewhere, FAULT) == []
    assert of_rule(elsewhere, FAULT) == []
