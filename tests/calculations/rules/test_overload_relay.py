"""Overload relay of a motor without a drive, and what else is said of a set without one."""

import pytest

from calculations.rules.winding import CURRENT_UNBALANCE
from tests.calculations.building import changed, judged, lacking, of_rule, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.rules.test_scope import fixed
from tests.calculations.whole_stations import LEFT

RELAY = "motor.overload-relay"


def relay(amperes: str, practice: str | None, factor: str | None):
    document = changed(fixed(), {"/site/electrical_practice": practice,
                                 "/motor/service_factor": q(factor, "1") if factor else None,
                                 f"{LEFT}/overload_current": q(amperes, "A")})  # fmt: skip
    return changed(document, {"/motor/ratings/1/current": q("70.0", "A")})


@pytest.mark.parametrize(
    ("amperes", "practice", "factor", "expected"),
    [
        # Of 70.0 A: 125 % 87.5, 140 % 98; 115 % 80.5, 130 % 91 (NFPA 70 430.32(A)(1), (C)).
        ("87", "us_nec", "1.15", []),
        ("89", "us_nec", "1.15", [("review", "over")]),
        ("97", "us_nec", "1.15", [("review", "over")]),
        ("99", "us_nec", "1.15", [("stop", "over")]),
        ("80", "us_nec", "1", []),
        ("89", "canadian", None, [("review", "over")]),
        ("99", "canadian", None, [("stop", "over")]),
        ("89", "us_nec", None, [("review", "over")]),
        ("99", "us_nec", None, [("stop", "over")]),
        # CSA C22.1 28-306, from memory: 115 %, marked 1.15 and more 125 %; 15 % more never.
        ("80", "canadian", "1", []),
        ("82", "canadian", "1", [("review", "over")]),
        ("90", "canadian", "1", [("review", "over")]),
        ("92", "canadian", "1", [("stop", "over")]),
        ("87", "canadian", "1.15", []),
        ("89", "canadian", "1.15", [("review", "over")]),
        ("99", "canadian", "1.15", [("stop", "over")]),
        ("89", "canadian", "1.14", [("review", "over")]),
        ("87", None, "1.15", []),  # the most generous where the practice is not known
        # 105 % 73.5, 125 % 87.5; common practice.
        ("73", "iec", None, []),
        ("75", "iec", "1.15", [("review", "over")]),
        ("89", "iec", None, [("stop", "over")]),
    ],
)
def test_a_relay_against_the_plate(amperes, practice, factor, expected):
    found = [each for each in verdicts(relay(amperes, practice, factor), RELAY)
             if each[1] == "over"]  # fmt: skip
    assert found == expected


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        # 105 and 125 % of 70.0 A are 73.5 and 87.5 A.
        ("73.3", []), ("74.0", [("review", "over")]), ("87.3", [("review", "over")]),
        ("88.0", [("stop", "over")]),
    ],
)  # fmt: skip
def test_a_relay_just_beside_its_limits(amperes, expected):
    assert verdicts(relay(amperes, "iec", None), RELAY) == expected


def test_a_relay_set_in_percent_of_the_plate():
    """110 % of 70.0 A are 77 A. 80 % are 56 A, that hold 58.8 A; 83 % hold 61.0 A."""
    percent = {f"{LEFT}/overload_current": q("110", "%")}
    (found,) = of_rule(judged(changed(relay("70", "iec", None), percent)), RELAY)
    told = {"set": "110 %", "plate": "70.0 A", "highest": "73.5 A", "share": "110 %"}
    assert (found.variant, found.limit) == ("over", "105 % review, 125 % stop")
    assert told.items() <= found.parameters.items()
    for value, expected in (("80", [("review", "trips")]), ("83", [])):
        percent = {f"{LEFT}/overload_current": q(value, "%")}
        assert verdicts(changed(drawing("60", "70"), percent), RELAY) == expected


@pytest.mark.parametrize("practice", ["us_nec", "canadian", None])
@pytest.mark.parametrize("amperes", ["82", "87", "92", "97"])
def test_a_relay_that_a_service_factor_would_permit_waits_for_it(amperes, practice):
    """Between 115 and 125 %, and between 130 and 140 %, the factor decides."""
    judgement = judged(relay(amperes, practice, None))
    assert of_rule(judgement, RELAY) == []
    (missing,) = lacking(judgement, RELAY)
    assert missing.needs == ("/motor/service_factor",)


@pytest.mark.parametrize(
    ("limits", "practice", "expected"),
    [
        ({"motor.overload-relay.canada-marked": 0.10}, "canadian", [("review", "over")]),
        ({"motor.overload-relay.canada-marked": 0.05, "motor.overload-relay.canada-beyond": 0.05},
         "canadian", [("stop", "over")]),
        ({"motor.overload-relay.canada": 0.10}, "canadian", []),
        ({"motor.overload-relay.canada-marked": 0.10}, "us_nec", []),
    ],
)  # fmt: skip
def test_a_client_in_canada_sets_its_own(limits, practice, expected):
    """79 A of 70.0 A, 112.9 %, service factor 1.15."""
    found = of_rule(judged(relay("79", practice, "1.15"), limits), RELAY)
    assert [(each.severity, each.variant) for each in found] == expected


def drawing(amperes: str, setting: str):
    document = relay(setting, "iec", None)
    read = {f"/event/duty_points/{at}/currents_drive_output": [q(amperes, "A")] * 3
            for at in range(3)}  # fmt: skip
    return changed(document, read)


@pytest.mark.parametrize(
    ("setting", "expected"),
    [
        ("56", [("review", "trips")]),  # it holds 56.5 A x 1.05 = 59.3 A
        ("58", []),  # it holds 60.9 A
        # 70 / sqrt(3) = 40.4, within 3 %: common practice, no source
        ("40.4", []),
        ("41.5", []),
        ("42.5", [("review", "trips")]),
    ],
)
def test_a_relay_below_what_the_motor_drew(setting, expected):
    assert verdicts(drawing("60", setting), RELAY) == expected


@pytest.mark.parametrize(
    ("amperes", "expected", "beside"),
    [
        # Worked by hand: 70.0 A with a service factor of 1.15 may draw 80.5 A, 5 % more 84.5 A. A
        # relay at 70.0 A holds 73.5 A: IEC 60947-4-1, from memory.
        ("73.4", [], []),
        ("73.6", [("review", "at_plate")], []),
        ("84.4", [("review", "at_plate")], []),
        ("86.0", [], [("review", "across_the_line")] * 3),
    ],
)
def test_a_relay_at_the_plate_is_not_to_be_set_to_the_plate(amperes, expected, beside):
    """Beyond what the plate allows the current is told alone, with what to do across the line."""
    document = changed(drawing(amperes, "70.0"), {"/motor/service_factor": q("1.15", "1")})
    judgement = judged(document)
    assert [(each.severity, each.variant) for each in of_rule(judgement, RELAY)] == expected
    assert verdicts(document, "load.current-nameplate") == beside


def test_with_a_drive_its_own_overload_is_judged():
    document = relay("99", "us_nec", "1.15")
    assert verdicts(changed(document, {"/pump_set/drive": "VFD-101"}), RELAY) == []


def test_without_a_setting_it_is_asked_for():
    document = without(fixed(ramp_up_time=q("10", "s")), f"{LEFT}/overload_current")
    (missing,) = lacking(judged(document), RELAY)
    assert missing.needs == (f"{LEFT}/overload_current",)


# -- words and tests of a set without a drive -----------------------------------------------------


@pytest.mark.parametrize(
    ("disconnected", "expected"), [(False, [("note", "starter")]), (True, []), (None, [])]
)
def test_insulation_tested_through_a_soft_starter(disconnected, expected):
    place = "/event/motor_tests/insulation/drive_disconnected"
    document = changed(fixed(), {place: disconnected})
    assert verdicts(document, "insulation.drive-connected") == expected


def test_uneven_currents_without_a_drive_are_not_laid_to_one():
    """68, 60 and 64 A: 4 A off a mean of 64 are 6.25 %."""
    uneven = [q(value, "A") for value in ("68.0", "60.0", "64.0")]
    supply = [q(value, "V") for value in ("480", "480", "490")]  # 1.4 %, which may explain it
    document = changed(fixed(), {"/event/duty_points/0/currents_drive_output": uneven,
                                 "/event/supply/line_voltages": supply})  # fmt: skip
    (finding,) = of_rule(judged(document), "winding.current-unbalance")
    assert finding.variant == "across_the_line"
    assert "drive" not in (CURRENT_UNBALANCE.remedy(finding) or "")
