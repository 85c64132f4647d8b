"""Which tasks an event performs, and with what result."""

import pytest

from calculations.beside import Beside, Sealed
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from calculations.tasks.performed import Verdicts
from calculations.tasks.performing import performed
from tests.calculations.building import booster, changed, without
from tests.calculations.building_event import A_YEAR_LATER
from tests.calculations.building_plates import q
from tests.calculations.rules.test_draw_down import well
from tests.calculations.tasks.doing import AGAIN, done, results, verdicts

LEFT = "/event/settings/as_left"
ODD = q("63.1", "m3/h")


START_UP = {
    ("transmitter", "PT-100"): "inside",
    ("transmitter", "PT-101"): "inside",
    ("insulation", "M-101"): "inside",
    ("rotation", "M-101"): "inside",
    ("overload", "M-101"): "inside",
    ("settings-audit", "D-101"): "inside",
    ("pump-performance", "P-101"): "inside",
    ("earth-continuity", "PS-101"): "inside",
    ("pre-charge", "V-1"): "inside",
    ("first-follow-up", "PS-101"): "begun",
    ("protection.low-suction", "PS-101"): "inside",
    ("protection.high-pressure", "PS-101"): "inside",
    ("protection.loss-of-feedback", "PS-101"): "inside",
    ("protection.power-loss-restart", "PS-101"): "inside",
    ("protection.emergency-stop", "PS-101"): "inside",
    ("protection.local-isolator", "PS-101"): "inside",
    ("protection.motor-overtemperature", "M-101"): "inside",
}


def test_a_complete_start_up():
    assert results() == START_UP


def test_a_set_point_at_the_pump_s_datum_with_readings_of_what_the_drive_showed():
    """Whether heights count from the pump is held to a limit, which has to be known here too."""
    assert results({f"{LEFT}/set_point_datum": "pump_datum"}) == START_UP


def test_a_re_verification_is_the_first_follow_up():
    assert results(AGAIN) == START_UP | {("first-follow-up", "PS-101"): "inside"}


def test_without_a_part_its_task_is_not_performed():
    left = results({}, "/event/earth_tests", "/event/motor_tests/insulation", "/event/rotation")
    gone = {("earth-continuity", "PS-101"), ("insulation", "M-101"), ("rotation", "M-101")}
    assert left == {name: result for name, result in START_UP.items() if name not in gone}


def test_what_the_results_rest_on():
    found = done()
    motor, audit = found["overload", "M-101"], found["settings-audit", "D-101"]
    assert (motor.thing.serial, motor.drive.serial) == ("W60-1187", "V77-5520")
    assert (audit.thing.serial, audit.thing.firmware, audit.drive) == ("V77-5520", "3.1", None)
    assert found["protection.low-suction", "PS-101"].drive.tag == "D-101"
    assert found["protection.emergency-stop", "PS-101"].drive is None
    assert found["insulation", "M-101"].drive is None


# -- motor, drive, pump -------------------------------------------------------------------------


def test_insulation_below_the_minimum():
    # 0.5 Mohm: below 5 Mohm of a random-wound motor at any temperature near 20 degC.
    place = "/event/motor_tests/insulation/resistance_1_min"
    found = done(AGAIN | {place: q("0.5", "Mohm")})["insulation", "M-101"]
    assert (found.result, found.as_found) == ("outside", "outside")


@pytest.mark.parametrize("place", ["resistance_1_min", "winding_temperature"])
def test_insulation_that_cannot_be_corrected_is_not_judged(place):
    found = done(AGAIN, f"/event/motor_tests/insulation/{place}")["insulation", "M-101"]
    assert (found.result, found.as_found) == ("not_judged", None)


def test_insulation_against_no_minimum_is_not_judged():
    """It is brought to 40 degC, but nothing says against what."""
    unknown = {"/motor/ratings/1/voltage": None}
    found = done(AGAIN | unknown)["insulation", "M-101"]
    assert (found.result, found.as_found) == ("not_judged", None)


def test_insulation_with_the_drive_connected_is_not_judged():
    place = "/event/motor_tests/insulation/drive_disconnected"
    assert results({place: False})["insulation", "M-101"] == "not_judged"


@pytest.mark.parametrize(("direction", "result"), [("reversed", "outside"), ("correct", "inside")])
def test_rotation(direction, result):
    place = "/event/rotation/drive_direction"
    assert results({place: direction})["rotation", "M-101"] == result


def test_rotation_that_was_not_checked():
    assert ("rotation", "M-101") not in results({"/event/rotation/drive_direction": "not_checked"})


def test_a_setting_that_stands_against_a_stop():
    # 50 Hz for a motor of 60 Hz: drive.volts-per-hertz, a stop.
    place = "/event/settings/as_left/motor_frequency"
    assert results({place: q("50", "Hz")})["settings-audit", "D-101"] == "outside"


def test_an_overload_that_does_not_fit_the_plate():
    place = "/event/settings/as_left/overload_current"
    assert results({place: q("110", "A")})["overload", "M-101"] == "outside"


def test_settings_that_had_moved_were_found_outside():
    """Somebody lowered the minimum frequency since the last record; it was set back."""
    first = read(Subject, booster())
    lower = {"/event/settings/as_found": {"minimum_frequency": q("20.0", "Hz")}}
    subject = read(Subject, changed(booster(), AGAIN | A_YEAR_LATER | lower))
    judged = judge(subject, beside=Beside(last=Sealed(first, 3)))
    found = {each.task: each for each in performed(subject, verdicts(judged))}["settings-audit"]
    assert (found.result, found.as_found) == ("inside", "outside")


def test_two_duty_points_are_no_performance_test():
    assert ("pump-performance", "P-101") not in results({}, "/event/duty_points/2")


def test_a_pump_below_its_curve():
    low = {f"/event/duty_points/{index}/discharge_pressure": q("60", "psi") for index in range(3)}
    found = done(AGAIN | low)["pump-performance", "P-101"]
    assert (found.result, found.as_found) == ("outside", "outside")


def pressed(psi):
    return {f"/event/duty_points/{n}/discharge_pressure": q(psi, "psi") for n in range(3)}


def test_a_pump_that_has_worn_since_the_first_visit_is_outside():
    """11 psi are 25 of 125 ft: what the curve says of it waits for the trend."""
    worn = done(AGAIN | A_YEAR_LATER | pressed("74"), earlier=booster())
    found = worn["pump-performance", "P-101"]
    assert (found.result, found.as_found) == ("outside", "outside")


def test_a_pump_that_takes_more_power_than_it_did_is_outside():
    more = {f"/event/duty_points/{n}/power_drive_input": q(value, "kW")
            for n, value in enumerate(("39.4", "27.6", "18.8"))}  # fmt: skip
    first = {f"/event/duty_points/{n}/power_drive_input": q(value, "kW")
             for n, value in enumerate(("33.4", "23.4", "15.9"))}  # fmt: skip
    found = done(AGAIN | A_YEAR_LATER | more, earlier=changed(booster(), first))
    assert found["pump-performance", "P-101"].result == "outside"


def test_points_that_these_instruments_cannot_decide_prove_nothing():
    """3 psi are 6.9 of 125 ft, 5.5 %: beyond 5 %, within what meter and gauges explain."""
    found = done(AGAIN | pressed("82"))["pump-performance", "P-101"]
    assert (found.result, found.as_found) == ("not_judged", None)


def test_a_point_in_another_unit_says_nothing_of_the_pump():
    """63.1 L/s are 1000 gpm (NIST SP 811, B.8), written as m3/h; with 60 psi it is the pump."""
    at = "/event/duty_points/0"
    mistaken = {f"{at}/flow": q("63.1", "m3/h")}
    found = done(AGAIN | mistaken)["pump-performance", "P-101"]
    assert (found.result, found.as_found) == ("not_judged", None)
    low = {"/event/duty_points/1/discharge_pressure": q("60", "psi")}
    assert done(AGAIN | mistaken | low)["pump-performance", "P-101"].result == "outside"


@pytest.mark.parametrize(
    ("accepted", "result"), [((), "not_judged"), (("curve.point",), "outside")]
)
def test_a_point_that_is_accepted_as_it_stands_is_the_pumps(accepted, result):
    """The same 63.1 m3/h: who says that they were read so says that the pump gives no more.

    Without powers, which would say it as well once that is accepted.
    """
    powers = [f"/event/duty_points/{n}/power_drive_{where}"
              for n in range(3) for where in ("input", "output", "display")]  # fmt: skip
    document = changed(booster(), AGAIN | {"/event/duty_points/0/flow": ODD})
    subject = read(Subject, changed(document, dict.fromkeys(powers)))
    told = verdicts(judge(subject, accepted=[(rule, "/event/duty_points/0") for rule in accepted]))
    found = {each.task: each for each in performed(subject, told, accepted=accepted)}
    assert found["pump-performance"].result == result


def test_points_that_are_all_in_another_unit_say_nothing_of_the_pump():
    """63.1, 44.2 and 25.2 L/s are the flows (NIST SP 811, B.8), written as gpm: told once."""
    read_as = {f"/event/duty_points/{n}/flow": q(value, "gpm")
               for n, value in enumerate(("63.1", "44.2", "25.2"))}  # fmt: skip
    found = done(AGAIN | read_as)["pump-performance", "P-101"]
    assert (found.result, found.as_found) == ("not_judged", None)


def test_points_that_are_right_count_beside_those_told_once():
    """Three points as they are, and the same three with their flows of L/s written as gpm."""
    points = booster()["event"]["duty_points"]
    flows = ("63.1", "44.2", "25.2")
    mistaken = [point | {"flow": q(flow, "gpm")}
                for point, flow in zip(points, flows, strict=True)]  # fmt: skip
    found = done(AGAIN | {"/event/duty_points": [*points, *mistaken]})
    assert found["pump-performance", "P-101"].result == "inside"


def test_what_was_said_of_all_points_holds_where_it_is_found_of_none_now():
    """By limits that were set otherwise when it was judged."""
    subject = read(Subject, changed(booster(), AGAIN))
    told = Verdicts.of([("curve.point", "review", "/event/duty_points")], [])
    found = {each.task: each for each in performed(subject, told)}
    assert found["pump-performance"].result == "outside"


LIFT = "/event/drawdown_tests/0"


@pytest.mark.parametrize(
    ("changes", "result"),
    [
        ({}, "inside"),
        ({f"{LIFT}/plan_area": q("76.1", "m2")}, "outside"),  # ft2
        ({f"{LIFT}/time": q("3.27", "s")}, "outside"),  # minutes
        ({f"{LIFT}/inflow_method": "none"}, "outside"),
        ({f"{LIFT}/fill_time": None}, "not_judged"),
        ({"/event/duty_points": [], "/site/system_design_flow": None}, "not_judged"),
    ],
)
def test_a_draw_down_counts_where_it_agrees_with_what_is_known(changes, result):
    document = changed(well(), {"/pump/tag": "P-201"} | changes)
    subject = read(Subject, document)
    taken = performed(subject, verdicts(judge(subject)))
    [found] = [each for each in taken if each.task == "draw-down"]
    assert found.result == result


def test_earth_resistance_too_high():
    # 0.8 ohm: above the 0.5 ohm that acceptance-testing practice investigates.
    place = "/event/earth_tests/0/resistance"
    assert results({place: q("0.8", "ohm")})["earth-continuity", "PS-101"] == "outside"


def test_a_pre_charge_with_the_system_full_means_nothing():
    assert results({"/event/vessel_checks/0/system_drained": False})["pre-charge", "V-1"] == (
        "not_judged"
    )


CHARGE = "/event/vessel_checks/0"


@pytest.mark.parametrize(
    "check",
    [
        {f"{CHARGE}/vessel": "V-7"},  # none such stands there
        {f"{CHARGE}/pre_charge_as_found": None, f"{CHARGE}/pre_charge_as_left": None},
    ],
)
def test_a_pre_charge_of_no_vessel_or_that_nobody_read_was_not_looked_at(check):
    assert results(check) == {
        name: result for name, result in START_UP.items() if name[0] != "pre-charge"
    }


@pytest.mark.parametrize("read", ["pre_charge_as_found", "pre_charge_as_left"])
def test_a_pre_charge_that_was_read_once_was_looked_at(read):
    other = {"pre_charge_as_found", "pre_charge_as_left"} - {read}
    assert results({f"{CHARGE}/{each}": None for each in other}) == START_UP


def test_a_vibration_without_its_velocity_was_not_measured():
    read = [{"location": "drive end", "direction": "horizontal"}]
    performed_on_pump = ("vibration", "P-101")
    assert performed_on_pump not in results({"/event/duty_points/0/vibration": read})
    read = [{**read[0], "velocity_rms": q("1.2", "mm/s")}]
    assert results({"/event/duty_points/0/vibration": read})[performed_on_pump] == "inside"


# -- protections --------------------------------------------------------------------------------

TESTS = "/event/protection_tests"


def test_one_protection_alone_is_performed():
    alone = booster()["event"]["protection_tests"][:1]
    found = results({TESTS: alone})
    assert found["protection.low-suction", "PS-101"] == "inside"
    assert [task for task, _ in found if task.startswith("protection.")] == [
        "protection.low-suction"
    ]


def test_a_protection_that_did_not_act_and_then_did():
    again = {"function": "low_suction", "passed": True}
    changes = AGAIN | {f"{TESTS}/0/passed": False, f"{TESTS}/-": again}
    found = done(changes)["protection.low-suction", "PS-101"]
    assert (found.result, found.as_found) == ("inside", "outside")


def test_a_protection_that_did_not_act():
    found = done(AGAIN | {f"{TESTS}/0/passed": False})["protection.low-suction", "PS-101"]
    assert (found.result, found.as_found) == ("outside", "outside")


def test_a_protection_of_which_nobody_says_whether_it_acted():
    named = results({}, f"{TESTS}/0/passed")
    assert ("protection.low-suction", "PS-101") not in named


def test_a_protection_that_acted_elsewhere_than_it_is_set():
    # 6 psi acted where 10 psi is set: protection.trip-value, a review.
    place = "/event/settings/as_left/low_suction_limit"
    changes = AGAIN | {f"{TESTS}/0/limit_at_trip": q("6", "psi"), place: q("10", "psi")}
    found = done(changes)["protection.low-suction", "PS-101"]
    assert (found.result, found.as_found) == ("outside", "outside")


@pytest.mark.parametrize("order", [(True, False), (False, True)])
def test_one_protection_does_not_stand_for_another_that_did_not_act(order):
    """At a booster both prove low suction."""
    other = {"function": "dry_run", "passed": order[1]}
    found = done(AGAIN | {f"{TESTS}/0/passed": order[0], f"{TESTS}/-": other})
    assert found["protection.low-suction", "PS-101"].result == "outside"


def test_an_overload_that_trips_but_does_not_fit_the_plate():
    place = "/event/settings/as_left/overload_current"
    tripped = {"function": "overload", "passed": True}
    changes = {place: q("110", "A"), f"{TESTS}/-": tripped}
    assert results(changes)["overload", "M-101"] == "outside"


def test_dry_run_proves_low_suction_at_a_booster_alone():
    change = {f"{TESTS}/0/function": "dry_run"}
    both = {"protection.low-suction", "protection.dry-run"}
    assert both <= {task for task, _ in results(change)}
    at_well = {task for task, _ in results(change | {"/site/kind": "well"})}
    assert both & at_well == {"protection.dry-run"}


# -- in general ---------------------------------------------------------------------------------


def test_a_subject_without_an_event_performs_nothing():
    subject = read(Subject, without(booster(), "/event"))
    assert performed(subject, Verdicts.of((), ())) == ()


def test_a_sensor_that_nobody_knows_hides_none_behind_it():
    verifications = booster()["event"]["sensor_verifications"]
    unknown = verifications[0] | {"sensor": "PT-999"}
    found = results({"/event/sensor_verifications": [unknown, *verifications]})
    assert found == START_UP


def test_a_note_is_no_finding_against_anything():
    findings = [("a.note", "note", "/x"), ("a.review", "review", "/x/1"), ("a.stop", "stop", "/y")]
    verdicts = Verdicts.of(findings, [("a.silent", "/z/0")])
    assert not verdicts.against("/x", "a.note")
    assert verdicts.against("/x", "a.note", "a.review")
    assert not verdicts.against("/y", "a.review")
    assert verdicts.stops == ("/y",)
    assert verdicts.unjudged("/z", "a.silent")
    assert not verdicts.unjudged("/z", "a.stop")
    assert not verdicts.unjudged("/x", "a.silent")


def test_a_protection_that_failed_is_that_one_alone():
    tests = booster()["event"]["protection_tests"]
    (at,) = (n for n, each in enumerate(tests) if each["function"] == "emergency_stop")
    found = results({f"/event/protection_tests/{at}/passed": False})
    assert found == START_UP | {("protection.emergency-stop", "PS-101"): "outside"}


def test_each_task_of_a_thing_is_told_once():
    subject = read(Subject, booster())
    found = list(performed(subject, Verdicts.of([], [])))
    told = [(each.task, each.thing.tag) for each in found]
    assert sorted(told) == sorted(START_UP)
