"""What a drive of 77 A (72 A at heavy duty) gives at its place; figures by common practice."""

import pytest

from calculations.aspects import drive_current
from calculations.case import Missing
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

NORMAL = "/drive/rated_current_normal_duty"
HEAVY = "/drive/rated_current_heavy_duty"


def placed(**drive):
    return case(changed(booster(), {f"/drive/{name}": value for name, value in drive.items()}))


@pytest.mark.parametrize(
    ("changes", "amperes"),
    [
        ({}, 77),
        (left(duty_class="heavy"), 72),
        (left(duty_class=None), 77),
        ({NORMAL: None}, 72),
        ({HEAVY: None}, 77),
        (left(duty_class="heavy") | {HEAVY: None}, None),
        ({NORMAL: None, HEAVY: None}, None),
    ],
)
def test_rated_current_for_the_duty(changes, amperes):
    found = case(changed(booster(), changes))
    if amperes is None:
        with pytest.raises(Missing):
            drive_current.rated_current(found)
    else:
        assert drive_current.rated_current(found).si == amperes


@pytest.mark.parametrize(
    ("changes", "required", "lacks"),
    [
        (left(duty_class=None), 72.5, True),  # enough at normal duty alone
        (left(duty_class=None), 72.0, False),
        (left(duty_class="normal"), 75.0, False),
        (left(duty_class=None) | {NORMAL: None}, 75.0, False),
        (left(duty_class=None) | {HEAVY: None}, 75.0, False),
    ],
)
def test_a_duty_that_nobody_knows_lacks_where_it_decides(changes, required, lacks):
    found = case(changed(booster(), changes))
    if lacks:
        with pytest.raises(Missing):
            drive_current.require_duty(found, required)
    else:
        drive_current.require_duty(found, required)


def test_the_smaller_rating_alone_says_nothing_of_normal_duty():
    with pytest.raises(Missing):
        drive_current.require_normal(placed(rated_current_normal_duty=None))
    heavy = changed(booster(), left(duty_class="heavy") | {NORMAL: None})
    drive_current.require_normal(case(heavy))


@pytest.mark.parametrize(
    ("phases", "stated", "share"),
    [
        (3, None, 1.0),
        (3, "50", 1.0),
        (1, None, 0.5),  # common practice
        (1, "50", 50 / 77),
        (1, "90", 1.0),
        (None, None, 1.0),
    ],
)
def test_on_a_single_phase(phases, stated, share):
    changes = {
        "/site/supply_phases": phases,
        "/drive/rated_current_single_phase_supply": stated and q(stated, "A"),
    }
    found = case(changed(booster(), changes))
    assert drive_current.is_fed_by_one_phase(found) is (phases == 1)
    assert drive_current.single_phase(found) == pytest.approx(share)


@pytest.mark.parametrize(
    ("metres", "drive", "share"),
    [
        ("1000", {}, 1.0),
        ("2000", {}, 0.9),  # 1 % each 100 m above 1000 m
        ("4500", {}, 0.65),
        ("2000", {"derating_start_altitude": q("2000", "m")}, 1.0),
        ("2000", {"derating_per_100m": q("0.5", "%")}, 0.95),
    ],
)
def test_at_an_altitude(metres, drive, share):
    site = {"/site/elevation": q(metres, "m")}
    document = changed(booster(), site | {f"/drive/{name}": each for name, each in drive.items()})
    assert drive_current.altitude(case(document)) == pytest.approx(share)


@pytest.mark.parametrize(
    ("celsius", "drive", "share"),
    [
        ("40", {}, 1.0),
        ("45", {}, 0.95),  # 1 % each kelvin above 40 degC
        ("60", {}, 0.8),
        ("45", {"ambient_rated": q("50", "degC")}, 1.0),
        ("45", {"derating_per_K": q("2", "%")}, 0.9),
    ],
)
def test_in_warm_air(celsius, drive, share):
    found = placed(ambient_at_drive=q(celsius, "degC"), **drive)
    assert drive_current.ambient(found) == pytest.approx(share)


@pytest.mark.parametrize(("kilohertz", "share"), [("2", 1.0), ("4", 1.0), ("8", 0.8)])
def test_at_a_carrier_frequency(kilohertz, share):
    # 5 % each kilohertz above the 4 kHz of its rating.
    settings = left(carrier_frequency=q(kilohertz, "kHz"))
    stated = {"/drive/carrier_derating_per_khz": q("5", "%")}
    assert drive_current.carrier(case(changed(booster(), settings | stated))) == pytest.approx(
        share
    )
    silent = case(changed(booster(), settings))
    if share == 1.0:
        assert drive_current.carrier(silent) == 1.0
    else:
        with pytest.raises(Missing):
            drive_current.carrier(silent)


def test_what_is_known_counts_and_the_rest_lacks():
    warm = changed(booster(), {"/drive/ambient_at_drive": q("50", "degC"), "/site/elevation": None})
    found, lacking = drive_current.available_as_far_as_known(case(warm))
    assert found.current == pytest.approx(0.9 * 77)
    assert list(lacking) == ["altitude"]
    with pytest.raises(Missing):
        drive_current.available(case(warm))
    whole = changed(booster(), {"/drive/ambient_at_drive": q("50", "degC")})
    assert drive_current.available(case(whole)).current == pytest.approx(0.9 * 77)


# 51.3 hp at 60 Hz and 950 gpm (see test_speed_values) are 0.855 of 60 hp, and of the torque:
# 68.7 A (0.16 + 0.84 x 0.855^2)^0.5 = 60.5 A. At f Hz the torque goes with (f / 60)^2.
@pytest.mark.parametrize(
    ("points", "share", "amperes"),
    [
        (None, 0.0, 60.5),
        (None, 0.1, 54.4),
        (None, 0.2, 52.7),  # as read at the design point
        ([], 0.2, 48.4),
        ("75", 0.1, 68.7),  # at most what the plate allows
    ],
)
def test_highest_current_in_service(points, share, amperes):
    at = "/event/duty_points"
    changes = {} if points is None else {at: []}
    if points:
        changes = {f"{at}/0/currents_drive_output": [q(points, "A")] * 3}
    found = drive_current.highest_load(case(changed(booster(), changes)), share)
    assert found == pytest.approx(amperes, abs=0.2)


def test_what_nobody_can_expect_and_nobody_read_is_no_load():
    unknown = case(changed(booster(), {"/pump/curve_points": None, "/event/duty_points": []}))
    assert drive_current.highest_load(unknown, 0.1) is None
    assert drive_current.carries_expected(unknown, 1000.0, 0.1) is False
    assert drive_current.frequency_carried(unknown, 1000.0, 0.1) is None


@pytest.mark.parametrize(
    ("left_over", "share", "carried"),
    [(61, 0.0, True), (60, 0.0, False), (67, 0.1, True), (66, 0.1, False), (53, 0.0, False)],
)
def test_whether_what_is_left_carries_it(left_over, share, carried):
    assert drive_current.carries_expected(case(booster()), left_over, share) is carried


def test_a_reading_above_what_is_left_is_not_carried():
    read = {"/event/duty_points/0/currents_drive_output": [q("65", "A")] * 3}
    found = case(changed(booster(), read))
    assert drive_current.carries_expected(found, 64.9, 0.0) is False
    assert drive_current.carries_expected(found, 65.0, 0.0) is True


@pytest.mark.parametrize(
    ("left_over", "share", "hertz"),
    [
        (77, 0.0, 60.0),
        # Torque 0.6634: 1770 (0.6634 / 0.850)^0.5 = 1563.7 rpm and 25 x 0.6634 of slip, 52.68 Hz.
        (50, 0.0, 52.5),
        (51, 0.1, 49.5),  # 46.36 A, torque 0.5930: 1478.4 rpm and 14.8, 49.77 Hz
        (34.0, 0.0, 36.0),  # torque 0.3180: 1082.6 rpm and 8.0, 36.35 Hz
        (33.85, 0.0, 36.0),  # 1072.2 rpm, torque 0.312 and 33.78 A at the minimum
        (33.7, 0.0, None),
    ],
)
def test_highest_frequency_that_is_carried(left_over, share, hertz):
    """At 1770 rpm the pump asks for 0.850 of rated torque (test_load)."""
    assert drive_current.frequency_carried(case(booster()), left_over, share) == hertz


def test_without_a_minimum_it_is_looked_for_down_to_1_hz():
    found = case(changed(booster(), left(minimum_frequency=None)))
    # 0.4 of 68.7 A, 27.48 A, are left at no torque; 27.60 A at 13 Hz and 0.041 of it, 27.62 A at
    # 13.5 Hz and 0.044.
    assert drive_current.frequency_carried(found, 27.61, 0.0) == 13.0
    assert drive_current.frequency_carried(found, 27.4, 0.0) is None
