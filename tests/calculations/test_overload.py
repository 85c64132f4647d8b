"""Limits of separate overload devices, and what a drive's own overload should be."""

import pytest

from calculations import overload
from calculations.errors import InvalidInput
from calculations.overload import ElectricalPractice
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked


@worked("overload", "2 overload: NEC 430.32")
def test_example_of_the_overload_limit(case: Case) -> None:
    given = case["inputs"]
    limit = overload.separate_device_limit(
        nameplate_current=given["I_nameplate_A"],
        service_factor=given["SF"],
        temperature_rise=given.get("temp_rise_C"),
    )
    higher, lower = ("125", "140") if given["SF"] >= 1.15 else ("115", "130")
    figures = {
        f"max_A_{higher}pct": Near(limit.maximum, relative=1e-9),
        f"max_A_430_32_C_{lower}pct": Near(limit.raised, relative=1e-9),
    }
    assert_matches(case, **figures)


@worked("overload", "2 overload: trap table vs nameplate")
def test_example_of_table_trap(case: Case) -> None:
    given = case["inputs"]
    right, wrong = (
        overload.separate_device_limit(nameplate_current=current, service_factor=given["SF"])
        for current in (given["I_nameplate_A"], given["I_table_430_250_A"])
    )
    assert_matches(
        case,
        correct_max_A=Near(right.maximum, relative=1e-9),
        wrong_if_table_used_A=Near(wrong.maximum, relative=1e-9),
    )


@worked("overload", "2 overload: conductor ampacity")
def test_example_of_ampacity(case: Case) -> None:
    ampacity = overload.conductor_ampacity(full_load_current=case["inputs"]["I_table_A"])
    assert_matches(case, min_ampacity_A=Near(ampacity, relative=1e-9))


class TestSeparateDevice:
    @pytest.mark.parametrize(
        ("service_factor", "rise", "maximum", "raised"),
        [
            (1.15, None, 125, 140),
            (1.25, 80, 125, 140),
            (1.0, 40, 125, 140),
            (None, 40, 125, 140),
            (1.0, 41, 115, 130),
            (1.14, None, 115, 130),
            (None, None, 115, 130),
        ],
    )
    def test_either_marking_is_enough(self, service_factor, rise, maximum, raised):
        # NFPA 70 430.32(A)(1): "or", not "and".
        limit = overload.separate_device_limit(
            nameplate_current=100, service_factor=service_factor, temperature_rise=rise
        )
        assert (limit.maximum, limit.raised) == (pytest.approx(maximum), pytest.approx(raised))

    def test_label_keeps_it_away_from_drives(self):
        limit = overload.separate_device_limit(nameplate_current=57.6, service_factor=1.15)
        assert "not for a drive's own overload" in limit.label

    @pytest.mark.parametrize(
        ("table_current", "percent"), [(9, 170), (9.1, 156), (20, 156), (20.1, 140), (65, 140)]
    )
    def test_thermal_protector(self, table_current, percent):
        # NFPA 70 430.32(A)(2).
        limit = overload.thermal_protector_limit(table_current=table_current)
        assert limit == pytest.approx(table_current * percent / 100)


class TestConductors:
    @pytest.mark.parametrize(("poles", "basis"), [(4, 65), (6, 65), (8, 70)])
    def test_slow_motors_go_by_their_plate(self, poles, basis):
        # NFPA 70 430.6(A)(1), 60 Hz: 6 poles are 1200 rpm and stay with the table.
        current = overload.conductor_basis_current(
            table_current=65, nameplate_current=70, synchronous_speed=120 / poles
        )
        assert current == basis

    @pytest.mark.parametrize(("rpm", "basis"), [(1199, 70), (1200, 65)])
    def test_below_1200_rpm_counts_as_slow(self, rpm, basis):
        current = overload.conductor_basis_current(
            table_current=65, nameplate_current=70, synchronous_speed=rpm / 60
        )
        assert current == basis

    def test_supply_of_a_drive(self):
        # NFPA 70 430.122, from memory.
        assert overload.drive_input_ampacity(rated_input_current=60) == pytest.approx(75)


class TestDriveOverload:
    def test_setting_is_the_plate_not_125_percent(self):
        found = overload.drive_overload(
            nameplate_current=57.6, practice=ElectricalPractice.US_NEC, service_factor=1.15
        )
        assert found.setting == 57.6
        assert found.review_above == pytest.approx(60.48)
        assert found.stop_above == pytest.approx(72.0)

    @pytest.mark.parametrize(
        ("practice", "stop"),
        [("us_nec", 115), ("iec", 110), ("canadian", 115), ("other", 110)],
    )
    def test_limit_by_practice(self, practice, stop):
        # NFPA 70 430.124 in the US; 110 % elsewhere is common practice, no source.
        found = overload.drive_overload(
            nameplate_current=100, practice=ElectricalPractice(practice), service_factor=1.0
        )
        assert found.stop_above == pytest.approx(stop)

    @pytest.mark.parametrize(("practice", "stop"), [("us_nec", 125), ("canadian", 115)])
    def test_a_marked_rise_of_40_k(self, practice, stop):
        # NFPA 70 430.32(A)(1); rule 28-306 goes by the service factor alone, from memory.
        found = overload.drive_overload(
            nameplate_current=100, practice=ElectricalPractice(practice), temperature_rise=40
        )
        assert found.stop_above == pytest.approx(stop)

    def test_immersed_motor_is_set_to_its_service_factor_current(self):
        immersed = overload.drive_overload(
            nameplate_current=50,
            practice=ElectricalPractice.IEC,
            immersed=True,
            service_factor_current=57,
        )
        dry = overload.drive_overload(
            nameplate_current=50, practice=ElectricalPractice.IEC, service_factor_current=57
        )
        assert (immersed.setting, dry.setting) == (57, 50)


@pytest.mark.parametrize(
    ("argument", "inputs"),
    [
        ("nameplate_current", {"nameplate_current": 0}),
        ("service_factor", {"nameplate_current": 1, "service_factor": 0.9}),
        ("temperature_rise", {"nameplate_current": 1, "temperature_rise": 0}),
    ],
)
def test_bad_input_is_named(argument, inputs):
    with pytest.raises(InvalidInput) as raised:
        overload.separate_device_limit(**inputs)
    assert raised.value.argument == argument
