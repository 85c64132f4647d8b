"""The main of the river intake when its flow stops.

At rest it stands at 154 ft (-6 ft of river and 160 ft of lift), 148 ft at the highest river and
the lowest lift (-2 ft, 150 ft).

700 gpm at 200 ft take 1723.3 rpm: 719 gpm of the curve, where 0.818 of rated torque slip 25 x 0.818
(1723.3 / 1770)^2 = 19.4 rpm, 58.09 Hz. 160 ft are held at no flow by 1770 sqrt(160 / 260) = 1388.5
rpm: 0.380 of rated torque (45 % of that at best efficiency, from memory) slip 5.8 rpm, 46.48 Hz. So
of 60 s of ramp the flow ends in 11.61 s.
"""

import pytest

from calculations.aspects import surging
from calculations.case import Missing
from tests.calculations.building import case, changed
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, raw_water

FOOT = 0.3048
MAIN = "/site/pipeline"


def main(**values):
    return case(changed(raw_water(), {f"{MAIN}/{name}": each for name, each in values.items()}))


def site(**values):
    changes = {f"/site/{name}": each for name, each in values.items()}
    high = {f"{MAIN}/high_point_elevation": q("150", "ft")}
    return case(changed(raw_water(), high | changes))


@pytest.mark.parametrize(
    ("feet", "ends"),
    # 1 m, 3.28 ft, over and under; no source.
    [("144.6", False), ("144.9", True), ("151", True), ("157.1", True), ("157.4", False)],
)
def test_where_the_high_point_is_the_outlet(feet, ends):
    assert surging.ends_at_high_point(main(high_point_elevation=q(feet, "ft"))) is ends


@pytest.mark.parametrize("lift", ["static_lift_low", "static_lift_high"])
def test_without_both_lifts_nobody_knows_the_outlet(lift):
    assert surging.ends_at_high_point(site()) is True
    assert surging.ends_at_high_point(site(**{lift: None})) is False


@pytest.mark.parametrize(
    ("high", "feet"),
    [
        # 100 psi are 231.1 ft at 60 degF, of which 154 ft are used at rest.
        (None, 77.1),
        ("100", 54.0),  # 54 ft under the grade
        ("90", 64.0),
        ("154", 77.1),  # the outlet
        ("200", 31.1),  # over the grade even at rest: full to it
    ],
)
def test_what_a_stop_may_add(high, feet):
    place = high and q(high, "ft")
    found = main(pressure_rating=q("100", "psi"), high_point_elevation=place)
    assert surging.allowed_rise(found) / FOOT == pytest.approx(feet, abs=0.3)


@pytest.mark.parametrize(
    ("settings", "seconds"),
    [({}, 11.61), ({"ramp_down_time": q("30", "s")}, 5.80), ({"stop_mode": "coast"}, 0.0)],
)
def test_how_long_the_flow_takes_to_end(settings, seconds):
    found = case(changed(raw_water(), left(**settings)))
    assert surging.flow_stop_time(found) == pytest.approx(seconds, abs=0.05)


@pytest.mark.parametrize(
    ("feet", "seconds"),
    [
        # 2 kg m2 x 0.957 s: (2 pi 28.72 / s)^2 / 34.03 kW; equation of rotation. 34.03 kW: 0.818 of
        # rated torque (60 hp at 1775 rpm) at 1770 rpm, times (1723.3 / 1770)^2, at 1723.3 rpm.
        ("160", 0.461),  # times 1723.3 / 1388.5 - 1
        ("40", 1.91),  # at half of 1388.5 rpm: ends after 2.8 s, and at first falls faster
        ("0", 1.91),
        ("-3", 1.91),  # it runs by itself; the pump's part ends so
    ],
)
def test_how_long_a_set_coasts(feet, seconds):
    inertias = {f"/{part}/inertia": q("1", "kg.m2") for part in ("pump", "motor")}
    lifts = {f"/site/static_lift_{end}": q(feet, "ft") for end in ("low", "high")}
    found = case(changed(raw_water(), inertias | lifts))
    assert surging.coasting_time(found) == pytest.approx(seconds, rel=0.01)


@pytest.mark.parametrize(
    ("powers", "seconds"),
    [
        # 1.3 times (from memory) the 50.5 hp of 1000 gpm at 1770 rpm: 65.7 hp, 45.2 kW at 1723.3
        # rpm: 65.1e3 / 45.2e3 x (1723.3 / 1388.5 - 1).
        ({}, 0.347),
        # 80 hp at no flow by its curve, 55.1 kW at 1723.3 rpm.
        ({"0": "80", "1": "70", "2": "60", "3": "55", "4": "50", "5": "46", "6": "43"}, 0.285),
        # Most of it on the way back, 90 hp at 600 gpm: 61.9 kW.
        ({"0": "80", "1": "85", "2": "90", "3": "55", "4": "50", "5": "46", "6": "43"}, 0.253),
    ],
)
def test_an_axial_pump_coasts_less_as_it_asks_for_more_with_less_flow(powers, seconds):
    inertias = {f"/{part}/inertia": q("1", "kg.m2") for part in ("pump", "motor")}
    told = {f"/pump/curve_points/{at}/shaft_power": q(hp, "hp") for at, hp in powers.items()}
    kind = {"/pump/type": "axial_or_mixed_flow"}
    found = case(changed(raw_water(), inertias | told | kind))
    assert surging.coasting_time(found) == pytest.approx(seconds, rel=0.01)


def test_no_ramp_is_short_enough():
    for changes, because in (
        ({f"{MAIN}/pressure_rating": q("60", "psi")}, "exceeded at rest"),  # 138.6 ft
        (left(stop_mode="coast"), "the ramp stops no flow"),
    ):
        with pytest.raises(Missing) as raised:
            surging.shortest_ramp(case(changed(raw_water(), changes)))
        assert raised.value.because == because


def test_a_recorded_wave_counts_first():
    # 1233 m/s by Korteweg: K 2.152 GPa at 60 degF, E 165 GPa from memory, 8 in by 0.25 in.
    assert surging.wave_speed(main()) == pytest.approx(1233, abs=3)
    recorded = site(wave_speed_override=q("1000", "m/s"))
    assert surging.wave_speed(recorded) == 1000
    # 2 x 3000 ft.
    assert surging.reflection_time(recorded) == pytest.approx(1.829, abs=1e-3)
    with pytest.raises(Missing):
        surging.wave_speed(main(material="other"))


def test_the_wave_of_another_liquid_is_not_water_s():
    other = changed(raw_water(), {"/site/liquid_kind": "other"})
    with pytest.raises(Missing) as raised:
        surging.wave_speed(case(other))
    assert raised.value.places == ("/site/wave_speed_override",)
    recorded = {"/site/wave_speed_override": q("1350", "m/s")}
    assert surging.wave_speed(case(changed(other, recorded))) == 1350


def test_the_ramp_to_set_stops_the_flow_as_slowly_as_the_main_needs():
    """t = 2 L dV / (g dH) (Michaud 1878): 3000 ft, and 77.1 ft or 23.50 m that 100 psi leave.

    60 s of ramp stop the flow in 11.61 s.
    """
    found = main(pressure_rating=q("100", "psi"))
    needed = 2 * 3000 * FOOT * surging.velocity(found) / (9.80665 * 23.50)
    assert surging.settable_ramp(found) == pytest.approx(60 / 11.61 * needed, rel=0.01)
