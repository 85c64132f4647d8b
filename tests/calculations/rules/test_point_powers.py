"""Power and current at the drive's output, and on its display, at the booster's first point.

52.7 A at the output, of 68.7 A on the plate: 25 % away are 39.5 A and 65.9 A. From 40 % of the
plate's on, 27.5 A. 30.9 kW at the output, of a motor of 60 hp, which are 44.74 kW. Bands: common
practice, no source.
"""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_event import three
from tests.calculations.building_plates import Document, q

POINT, RULE = "/event/duty_points/0", "load.power"


def power_shown(kilowatts: str, measured: str | None) -> Document:
    read = None if measured is None else q(measured, "kW")
    return changed(booster(), {
        f"{POINT}/power_drive_display": q(kilowatts, "kW"), f"{POINT}/power_drive_output": read,
    })  # fmt: skip


@pytest.mark.parametrize(
    ("silent", "kilowatts", "expected"),
    [
        # 44.74 kW / 0.95 at a service factor of 1.15 are 54.16 kW, half as much again 81.24 kW
        ("", "81.2", []),
        ("", "81.3", [("review", "high")]),
        # 44.74 kW / 0.7: 73.50 kW, 110.26 kW
        ("/efficiency", "110.3", []),
        ("/efficiency", "110.4", [("review", "high")]),
    ],
)
def test_far_more_than_the_motor_takes(
    silent: str, kilowatts: str, expected: list[tuple[str, str]]
) -> None:
    """Where the plate states no efficiency a poor one is taken."""
    document = power_shown(kilowatts, None)
    if silent:
        document = without(document, f"/motor/ratings/1{silent}")
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize(
    ("kilowatts", "measured", "expected"),
    [
        # 30.9 kW more and less a quarter, and half a digit of both: 38.73 kW and 23.08 kW
        ("38.7", "30.9", []),
        ("38.8", "30.9", [("review", "display")]),
        ("23.1", "30.9", []),
        ("23.0", "30.9", [("review", "display")]),
        # A fifth of 44.74 kW are 8.95 kW, of the lower of both.
        ("20.0", "8.9", []),
        ("20.0", "9.0", [("review", "display")]),
        ("8.9", "20.0", []),
        ("9.0", "20.0", [("review", "display")]),
    ],
)
def test_the_display_shows_the_power_that_is_measured(
    kilowatts: str, measured: str, expected: list[tuple[str, str]]
) -> None:
    assert verdicts(power_shown(kilowatts, measured), RULE) == expected


def shown(amperes: str, **more: object) -> Document:
    values = {"currents_drive_display": [q(amperes, "A")], **more}
    return changed(booster(), {f"{POINT}/{name}": value for name, value in values.items()})


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        ("52.9", []),
        # 65.88 A and 39.53 A, and half a digit of both: 65.99 A and 39.44 A
        ("65.9", []),
        ("66.0", [("review", "display_current")]),
        ("39.5", []),
        ("39.4", [("review", "display_current")]),
        ("527", [("review", "display_current")]),
    ],
)
def test_the_display_shows_what_the_clamp_reads(
    amperes: str, expected: list[tuple[str, str]]
) -> None:
    assert verdicts(shown(amperes), RULE) == expected


@pytest.mark.parametrize(("display", "expected"), [("27.4", []), ("27.6", ["display_current"])])
def test_it_is_compared_where_the_motor_is_loaded(display: str, expected: list[str]) -> None:
    document = shown(display, currents_drive_output=three("15.0", "A"))
    assert [variant for _, variant in verdicts(document, RULE)] == expected


@pytest.mark.parametrize(
    ("clamp", "variant"),
    [
        # 31.9 kW at 480 V: 38.37 A at a power factor of 1, 45.14 A at 0.85.
        ("38.4", "input_current"),
        ("40.0", "input_current"),
        ("45.1", "input_current"),
        ("38.3", "display_current"),
        ("45.2", "display_current"),
    ],
)
def test_the_current_of_the_drives_input_is_named(clamp: str, variant: str) -> None:
    document = shown("60.0", currents_drive_output=three(clamp, "A"))
    (found,) = of_rule(judged(document), RULE)
    assert found.variant == variant
    if variant == "input_current":
        assert "behind the drive" in str(finding_document(found, "")["remedy"])


@pytest.mark.parametrize(
    ("taken", "variant"), [("36.08", "input_current"), ("36.09", "display_current")]
)
def test_a_reading_of_the_input_goes_before_its_power(taken: str, variant: str) -> None:
    """35 A over 0.97 are 36.082 A."""
    document = shown("52.7", currents_drive_output=three("35.0", "A"),
                     currents_drive_input=three(taken, "A"))  # fmt: skip
    (found,) = of_rule(judged(document), RULE)
    assert found.variant == variant


@pytest.mark.parametrize(
    "supply",
    [
        {"/site/supply_nominal_voltage": None},
        {"/site/supply_phases": 1},
        {f"{POINT}/power_drive_input": None},
    ],
)
def test_without_three_phases_of_a_known_voltage_the_input_is_not_named(supply: Document) -> None:
    document = changed(shown("60.0", currents_drive_output=three("40.0", "A")), supply)
    (found,) = of_rule(judged(document), RULE)
    assert found.variant == "display_current"


def test_what_the_load_explains_waits_for_it() -> None:
    """25 A where 52.3 A are expected; the display says 52.7 A."""
    judgement = judged(shown("52.7", currents_drive_output=three("25.0", "A")))
    (waiting,) = (
        each for each in lacking(judgement, "load.current-expected") if each.subject == POINT
    )
    assert waiting.waits_for == RULE


def test_powers_are_held_against_the_input_where_both_were_read() -> None:
    """A visit that measured one of them alone lacks nothing."""
    for gone in ("power_drive_input", "power_drive_output"):
        document = changed(booster(), {f"/event/duty_points/{at}/{gone}": None for at in range(3)})
        assert lacking(judged(document), "load.drive-power") == []
