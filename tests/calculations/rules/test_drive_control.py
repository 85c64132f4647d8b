"""Way of control against the kind of motor; common practice, no source."""

import pytest

from tests.calculations.building import (
    booster,
    case,
    changed,
    judged,
    lacking,
    of_rule,
    severities,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.stations import LEFT, eighty_seven_hertz, permanent_magnet, settings, well

RULE = "drive.control-mode"
LINEAR, QUADRATIC = "volts_per_hertz_linear", "volts_per_hertz_quadratic"


@pytest.mark.parametrize("mode", [LINEAR, QUADRATIC, "vector", "synchronous_vector"])
@pytest.mark.parametrize("start", ["normal", "catch_spinning", "magnetise"])
def test_a_motor_with_slip(mode, start):
    document = changed(booster(), settings({"control_mode": mode, "start_mode": start}))
    expected = [("review", "with_slip")] if mode == "synchronous_vector" else []
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize(
    ("kind", "chosen"),
    [
        ("permanent_magnet", "permanent_magnet"),
        ("synchronous_reluctance", "synchronous_reluctance"),
        ("pm_assisted_reluctance", "permanent_magnet"),
    ],
)
@pytest.mark.parametrize("start", ["normal", "catch_spinning"])
@pytest.mark.parametrize("mode", [LINEAR, QUADRATIC, "vector", "synchronous_vector"])
def test_a_synchronous_motor(kind, chosen, start, mode):
    left = settings({"motor_kind": chosen, "control_mode": mode, "start_mode": start})
    document = changed(permanent_magnet(), left | {"/motor/kind": kind})
    expected = [("review", "synchronous")] if mode in (LINEAR, QUADRATIC) else []
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize("station", [booster, permanent_magnet, eighty_seven_hertz, well])
def test_good_stations_are_silent(station):
    assert verdicts(station(), RULE) == []


def test_the_kind_set_in_the_drive_comes_first():
    left = settings({"motor_kind": "permanent_magnet", "control_mode": "synchronous_vector"})
    (waiting,) = lacking(judged(changed(booster(), left)), RULE)
    assert waiting.waits_for == "drive.motor-kind"


def test_a_mode_that_is_not_known_is_asked_for():
    document = without(permanent_magnet(), f"{LEFT}/control_mode")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == (f"{LEFT}/control_mode",)


# -- settings without a drive ---------------------------------------------------------------------

NO_DRIVE = "drive.missing"


def fixed(**left):
    """The booster across the line, with a soft starter's settings and `left`.

    Its duty points were read at the supply's 60 Hz, or without any frequency.
    """
    document = without(booster(), "/drive", "/event/duty_points")
    document = changed(document, {"/pump_set/drive": None, LEFT: {}})
    starter = {"overload_current": q("68.7", "A"), "ramp_up_time": q("10", "s"),
               "regulation": "hand_only", "output_filter": "none"}  # fmt: skip
    return changed(document, settings(starter | left))


@pytest.mark.parametrize(
    ("left", "expected"),
    [
        ({}, []),
        ({"motor_voltage": q("460", "V"), "high_discharge_limit": q("120", "psi")}, []),
        ({"regulation": "open_loop"}, []),
        ({"maximum_frequency": q("60", "Hz")}, [("review", "stray")]),
        ({"regulation": "closed_loop_in_drive"}, [("review", "stray")]),
        ({"carrier_frequency": q("4", "kHz")}, [("review", "stray")]),
        ({"stage_off_frequency": q("38", "Hz")}, [("review", "stray")]),
        ({"hand_speed": q("48", "Hz")}, [("review", "stray")]),
        ({"control_mode": "unknown"}, []),
        (
            {"maximum_frequency": q("60", "Hz"), "minimum_frequency": q("36", "Hz")},
            [("review", "settings")],
        ),
    ],
)
def test_settings_of_a_drive_that_is_not_there(left, expected):
    assert verdicts(fixed(**left), NO_DRIVE) == expected


def test_the_plate_of_a_drive_that_is_not_there():
    document = changed(booster(), {"/pump_set/drive": None})
    assert verdicts(document, NO_DRIVE) == [("review", "plate")]
    flux = changed(document, {f"{LEFT}/motor_voltage": q("230", "V")})
    assert severities(flux, "drive.volts-per-hertz") == ["stop"]
    assert verdicts(changed(document, {"/pump_set/drive": "VFD-101"}), NO_DRIVE) == []


def test_a_whole_drives_settings_are_named_once():
    document = changed(without(booster(), "/drive"), {"/pump_set/drive": None})
    judgement = judged(document)
    (found,) = judgement.findings
    assert found.rule == NO_DRIVE
    assert found.parameters["names"] == "minimum frequency, maximum frequency, control mode"


def test_a_set_with_a_drives_settings_is_judged_as_one_with_a_drive():
    """Half the flux would be silent if the set were taken to run across the line."""
    document = changed(
        without(booster(), "/drive"),
        {"/pump_set/drive": None, f"{LEFT}/motor_voltage": q("230", "V")},
    )
    assert severities(document, "drive.volts-per-hertz") == ["stop"]


@pytest.mark.parametrize(
    ("hertz", "expected"),  # 5 % of the supply's 60 Hz are 3 Hz
    [
        ("60", []),
        ("57", []),
        ("63", []),
        ("56.9", [("review", "read")]),
        ("63.1", [("review", "read")]),
    ],
)
def test_a_frequency_that_the_supply_has_not(hertz, expected):
    points = [{"purpose": "design"}, {"purpose": "normal", "frequency": q(hertz, "Hz")}]
    judgement = judged(changed(fixed(), {"/event/duty_points": points}))
    told = of_rule(judgement, NO_DRIVE)
    assert [(each.severity, each.variant) for each in told] == expected
    assert {each.subject for each in told} <= {"/event/duty_points/1"}


STRAY = {"minimum_frequency": q("36", "Hz")}


def test_a_stray_setting_makes_no_drive():
    """One entry is told once; what is asked of a set across the line is asked as before."""
    clean, stray = judged(fixed()), judged(fixed(**STRAY))
    (told,) = of_rule(stray, NO_DRIVE)
    assert told.subject == f"{LEFT}/minimum_frequency"
    assert [found for found in stray.findings if found is not told] == list(clean.findings)
    assert stray.not_evaluated == clean.not_evaluated
    assert stray.derived == clean.derived


def test_a_stray_setting_hides_nothing_of_the_overload_relay():
    """A relay at 150 A lets 68.7 A of the plate be passed more than twice over."""
    wide = fixed(**STRAY, overload_current=q("150", "A"))
    assert severities(wide, "motor.overload-relay") == ["stop"]


@pytest.mark.parametrize(
    ("hertz", "expected"),  # 5 % of the supply's 60 Hz are 3 Hz
    [("60", "stray"), ("57", "stray"), ("63", "stray"), ("56.9", "settings"), ("63.1", "settings")],
)
def test_a_point_off_the_supplys_frequency_speaks_for_a_drive(hertz, expected):
    points = {"/event/duty_points": [{"frequency": q("60", "Hz")}, {"frequency": q(hertz, "Hz")}]}
    assert verdicts(changed(fixed(**STRAY), points), NO_DRIVE) == [("review", expected)]


def test_one_setting_of_a_shared_drive_is_no_stray():
    shared = changed(fixed(**STRAY), {"/pump_set/drive_shared_with": ["PS-102"]})
    assert verdicts(shared, NO_DRIVE) == []
    assert not case(shared).fixed_speed


def test_a_drive_that_is_not_named_may_be_there():
    """Only the answer `no drive` is one; a shared drive belongs to another set."""
    document = without(booster(), "/drive", "/pump_set/drive")
    assert verdicts(document, NO_DRIVE) == verdicts(booster(), NO_DRIVE) == []
    shared = changed(without(booster(), "/drive"), {"/pump_set/drive": None,
                     "/pump_set/drive_shared_with": ["PS-102"]})  # fmt: skip
    assert verdicts(shared, NO_DRIVE) == []


SUPPOSED = "no drive is named, and none is ruled out (null); judged as with one"


@pytest.mark.parametrize(
    ("document", "because"),
    [
        # Neither a drive nor its absence is told: whoever reads what is missing has to know.
        (without(booster(), "/drive", "/pump_set/drive", "/event/settings"), SUPPOSED),
        (without(booster(), "/drive", "/pump_set/drive"), ""),  # settings of a drive
        (without(booster(), "/drive", "/event/settings"), ""),  # named by the set
        (without(booster(), "/pump_set/drive", "/event/settings"), ""),  # its plate
    ],
)
def test_what_is_asked_of_a_drive_that_is_only_supposed(document, because):
    asked = [each.because for each in judged(document).not_evaluated
             if any(at.startswith("/drive/") for at in each.needs)]  # fmt: skip
    settings = [each.because for each in judged(document).not_evaluated
                if any(at.endswith("/maximum_frequency") for at in each.needs)]  # fmt: skip
    assert {*asked, *settings} == {because}


def test_of_a_set_without_one_nothing_is_asked():
    known = changed(without(booster(), "/drive", "/event/settings"), {"/pump_set/drive": None})
    wanted = [at for each in judged(known).not_evaluated for at in each.needs]
    assert [at for at in wanted if at.startswith("/drive")] == []


def test_of_a_motor_alone_no_drive_is_supposed():
    wanted = [at for each in judged({"motor": booster()["motor"]}).not_evaluated
              for at in each.needs]  # fmt: skip
    assert [at for at in wanted if at.startswith(("/drive", "/event/settings"))] == []
