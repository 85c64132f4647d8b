"""A motor run along its volts per hertz above the plate: common practice, no source."""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import changed, judged, lacking, of_rule, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.stations import eighty_seven_hertz
from tests.calculations.whole_stations import LEFT, left

RULE = "drive.extended-torque"
AS_THE_PLATE = left(motor_voltage=q("230", "V"), motor_frequency=q("50", "Hz"))


def test_a_drive_set_for_it_is_silent() -> None:
    assert verdicts(eighty_seven_hertz(), RULE) == []
    assert lacking(judged(eighty_seven_hertz()), RULE) == []


def test_the_plates_voltage_gives_the_plates_power_only() -> None:
    """230 V at 50 Hz of a delta winding on 400 V: 400 / 230 x 50 Hz = 87.0 Hz."""
    document = changed(eighty_seven_hertz(), AS_THE_PLATE)
    (found,) = of_rule(judged(document), RULE)
    assert (found.severity, found.variant) == ("review", "not_set")
    assert "Set 400 V at 87 Hz" in str(finding_document(found, "")["remedy"])


def test_above_100_hertz_the_frequency_still_fits_the_voltage() -> None:
    """400 / 230 x 60 Hz = 104.3 Hz; 100 Hz would be 4 % more volts per hertz than the plate has."""
    sixty = {
        "/motor/ratings/0/frequency": q("60", "Hz"),
        "/motor/ratings/0/speed": q("1770", "rpm"),
    }
    settings = left(
        motor_voltage=q("230", "V"), motor_frequency=q("60", "Hz"), motor_speed=q("1770", "rpm"),
        maximum_frequency=q("104", "Hz"),
    )  # fmt: skip
    (found,) = of_rule(judged(changed(eighty_seven_hertz(), sixty | settings)), RULE)
    assert "Set 400 V at 104 Hz" in str(finding_document(found, "")["remedy"])


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"/motor/extended_constant_torque": False}, []),
        (left(maximum_frequency=q("55", "Hz")), []),  # 10 %, as mains may be off
        (left(maximum_frequency=q("55.1", "Hz")), [("review", "not_set")]),
        ({"/site/supply_nominal_voltage": q("240", "V")}, []),  # no voltage to extend to
        (left(motor_frequency=q("60", "Hz")), []),  # volts per hertz tell it
    ],
)
def test_only_where_something_is_to_be_extended(changes, expected) -> None:
    narrow = left(minimum_frequency=q("40", "Hz"))
    document = changed(changed(eighty_seven_hertz(), AS_THE_PLATE | narrow), changes)
    assert verdicts(document, RULE) == expected


def test_it_names_what_it_lacks() -> None:
    document = without(eighty_seven_hertz(), f"{LEFT}/motor_frequency")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == (f"{LEFT}/motor_frequency",)


def test_what_rests_on_its_slip_waits() -> None:
    """Run as of its plate it slips 1.73 times as much in proportion as when it is stretched."""
    waiting = {each.rule: each.waits_for for each in judged(AT_PLATE).not_evaluated}
    assert waiting["speed.maximum-power"] == RULE
    fitting = {each.rule: each.waits_for for each in judged(eighty_seven_hertz()).not_evaluated}
    assert RULE not in fitting.values()


AT_PLATE = changed(eighty_seven_hertz(), AS_THE_PLATE)
