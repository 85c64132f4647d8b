"""Current that the drive shows against the clamp's, at the booster's first point.

52.7 A at the output, of 68.7 A on the plate: 25 % away are 39.5 A and 65.9 A. From 40 % of the
plate's on, 27.5 A. Bands: common practice, no source.
"""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import booster, changed, judged, lacking, of_rule, verdicts
from tests.calculations.building_event import three
from tests.calculations.building_plates import Document, q

POINT, RULE = "/event/duty_points/0", "load.power"


def shown(amperes: str, **more: object) -> Document:
    values = {"currents_drive_display": [q(amperes, "A")], **more}
    return changed(booster(), {f"{POINT}/{name}": value for name, value in values.items()})


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        ("52.9", []),
        ("65.8", []),
        ("66.2", [("review", "display_current")]),
        ("39.6", []),
        ("39.3", [("review", "display_current")]),
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
        # 31.9 kW at 480 V: 38.4 A at a power factor of 1, 45.1 A at 0.85.
        ("38.5", "input_current"),
        ("40.0", "input_current"),
        ("38.2", "display_current"),
    ],
)
def test_the_current_of_the_drives_input_is_named(clamp: str, variant: str) -> None:
    document = shown("52.7", currents_drive_output=three(clamp, "A"))
    (found,) = of_rule(judged(document), RULE)
    assert found.variant == variant
    if variant == "input_current":
        assert "behind the drive" in str(finding_document(found, "")["remedy"])


@pytest.mark.parametrize(
    ("taken", "variant"), [("36.0", "input_current"), ("38.0", "display_current")]
)
def test_a_reading_of_the_input_goes_before_its_power(taken: str, variant: str) -> None:
    """35 A: within 3 % of 36 A, not of 38 A."""
    document = shown("52.7", currents_drive_output=three("35.0", "A"),
                     currents_drive_input=three(taken, "A"))  # fmt: skip
    (found,) = of_rule(judged(document), RULE)
    assert found.variant == variant


def test_what_the_load_explains_waits_for_it() -> None:
    """25 A where 52.3 A are expected; the display says 52.7 A."""
    judgement = judged(shown("52.7", currents_drive_output=three("25.0", "A")))
    (waiting,) = (
        each for each in lacking(judgement, "load.current-expected") if each.subject == POINT
    )
    assert waiting.waits_for == RULE
