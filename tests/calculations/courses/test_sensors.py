"""What a transmitter drifted from verification to verification; errors by hand, of 16 mA."""

import pytest

from calculations.courses.sensors import courses
from tests.calculations.building import booster
from tests.calculations.building_plates import q
from tests.calculations.courses.visiting import visit

AT = "/event/sensor_verifications/0"
STATION = "/sensors/0"
GOOD = ("4.00", "8.00", "12.00", "16.00", "20.00")


def points(signals, applied=(0, 50, 100, 150, 200), unit="psi"):
    return [{"direction": "up", "applied": q(str(value), unit), "signal": q(signal, "mA")}
            for value, signal in zip(applied, signals, strict=True)]  # fmt: skip


def verified(year, found, left=None, **changes):
    values = {f"{AT}/as_found": points(found), f"{AT}/adjusted": "zero" if left else "none"}
    if left:
        values[f"{AT}/as_left"] = points(left)
    return visit(year, values, {pointer.replace("__", "/"): v for pointer, v in changes.items()})


def shifted(percent):
    """Every signal by so much of span: 1 % are 0.16 mA."""
    return tuple(f"{float(each) + 0.16 * percent:.3f}" for each in GOOD)


def only(*visits):
    [found] = courses(visits, "PT-101")
    return found.errors


def test_the_published_drift():
    """Published (R02): left with -0.02 %, found with +0.13 % twelve months later: 0.15 % moved."""
    first, then = only(verified(2026, shifted(-0.02)), verified(2027, shifted(0.13)))
    assert (first.verdict, first.found) == ("first", pytest.approx(-2e-4, abs=2e-5))
    assert then.found == pytest.approx(1.3e-3, abs=2e-5)
    assert then.drift == pytest.approx(1.5e-3, abs=4e-5)
    # The reference is good to 0.0375 % of this span, sqrt(2) times for two visits, and 0.001 mA of
    # 16 mA are the digits of the signal; the inputs were set.
    assert then.verdict == "higher"
    assert then.noise == pytest.approx(5.34e-4, rel=1e-2)


def test_a_drift_beyond_rounding_and_reference():
    errors = only(verified(2026, GOOD), verified(2027, shifted(1.2)))
    assert errors[1].drift == pytest.approx(0.012)
    assert errors[1].verdict == "higher"
    assert errors[1].tolerance == pytest.approx(0.005)


def test_adjusting_is_no_drift():
    """+1 % found and set to 0; then +0.8 %: it drifted 1.8 % in all, and stands 0.8 % too high."""
    errors = only(
        verified(2026, GOOD), verified(2027, shifted(1.0), GOOD), verified(2028, shifted(0.8))
    )
    assert [each.drift for each in errors] == [None, pytest.approx(0.01), pytest.approx(0.018)]
    assert [each.left for each in errors] == pytest.approx([0, 0, 0.008])
    assert errors[2].noise == pytest.approx(2**0.5 * errors[1].noise, rel=0.05)


def test_what_was_not_adjusted_adds_no_noise():
    errors = only(*(verified(year, shifted(0.1 * (year - 2026))) for year in range(2026, 2030)))
    assert errors[3].drift == pytest.approx(0.003, abs=1e-4)
    assert errors[3].noise == pytest.approx(errors[1].noise, rel=0.01)


def test_what_was_found_and_written_down_again_as_left_was_not_adjusted():
    """0.1 % more each year, read once and noted twice: noise of two visits as if noted once."""

    def noted(year, twice):
        found = shifted(0.1 * (year - 2026))
        again = {f"{AT}/as_left": points(found), f"{AT}/adjusted": "none"} if twice else {}
        return verified(year, found, **again)

    years = range(2026, 2030)
    once, twice = (only(*(noted(year, also) for year in years)) for also in (False, True))
    assert [each.adjusted for each in twice] == [False] * 4
    assert [(each.drift, each.noise) for each in twice] == [
        (each.drift, each.noise) for each in once
    ]


def test_a_replaced_transmitter_begins_anew():
    other = verified(2027, shifted(0.4), **{f"{STATION}/serial": "S-9"})
    first, second = courses([verified(2026, GOOD), other], "PT-101")
    assert (first.began_by, second.began_by) == (None, "replaced")
    assert (first.serial, second.serial) == ("S-3301", "S-9")
    assert second.errors[0].verdict == "first"
    assert second.errors[0].reference_known is True


@pytest.mark.parametrize("registered", ["S-3301", "S-9"])
def test_an_exchange_ends_one_course_and_begins_another(registered):
    """+0.62 % found belongs to the old one; the new one was left with +0.05 % and goes on."""
    exchange = {
        f"{AT}/adjusted": "replaced",
        "/event/replaced": [{"resource": "sensor", "tag": "PT-101", "old_serial": "S-3301",
                             "new_serial": "S-9"}],
        f"{STATION}/serial": registered,
    }  # fmt: skip
    later = verified(2028, shifted(0.11), **{f"{STATION}/serial": "S-9"})
    taken = visit(2027, {f"{AT}/as_found": points(shifted(0.62)),
                         f"{AT}/as_left": points(shifted(0.05))}, exchange)  # fmt: skip
    old, new = courses([verified(2026, GOOD), taken, later], "PT-101")
    assert (old.serial, new.serial, new.began_by) == ("S-3301", "S-9", "replaced")
    assert [each.found for each in old.errors] == pytest.approx([0, 0.0062], abs=4e-5)
    assert [each.found for each in new.errors] == pytest.approx([0.0005, 0.0011], abs=4e-5)
    assert old.errors[1].drift == pytest.approx(0.0062, abs=4e-5)
    assert new.errors[1].drift == pytest.approx(0.0006, abs=4e-5)


def test_an_exchange_for_an_unnamed_one_ends_the_course_of_the_old_one():
    """The register keeps its id; with no serial number read that would make one of both."""
    registered = {f"{STATION}/id": "01890a5d-ac96-774b-bcce-b302099a8002"}
    taken = visit(2027, registered, {
        f"{AT}/as_found": points(shifted(0.62)), f"{AT}/as_left": points(shifted(0.05)),
        f"{AT}/adjusted": "replaced",
    })  # fmt: skip
    old, new = courses([visit(2026, registered, {f"{AT}/as_found": points(GOOD)}), taken], "PT-101")
    assert (old.serial, new.serial, new.began_by) == ("S-3301", "", "replaced")
    assert [each.found for each in old.errors] == pytest.approx([0, 0.0062], abs=4e-5)
    assert [each.found for each in new.errors] == pytest.approx([0.0005], abs=4e-5)


def test_a_verification_written_down_in_another_unit_is_left_out():
    """0 to 200 psi are 0 to 13.79 bar; written down as psi they are no drift."""
    slip = visit(2027, {f"{AT}/as_found": points(GOOD, (0, 3.447, 6.895, 10.342, 13.79))})
    errors = only(verified(2026, GOOD), slip, verified(2028, shifted(0.1)))
    assert [each.visit for each in errors] == [0, 2]


def test_an_unread_serial_between_two_that_differ_joins_them_not():
    known = {f"{STATION}__id": "01890a5d-ac96-774b-bcce-b302099a8002"}
    years = ((2026, "S-3301"), (2027, None), (2028, "S-9"))
    runs = courses(
        [verified(y, GOOD, **known, **{f"{STATION}__serial": each}) for y, each in years], "PT-101"
    )
    assert [[each.visit for each in run.errors] for run in runs] == [[0, 1], [2]]
    assert [run.began_by for run in runs] == [None, "replaced"]


def test_another_range_is_another_scale():
    changed = {f"{STATION}/upper_range_value": q("100", "psi"),
               f"{AT}/as_found": points(GOOD, (0, 25, 50, 75, 100))}  # fmt: skip
    runs = courses([verified(2026, GOOD), visit(2027, changed)], "PT-101")
    assert [each.began_by for each in runs] == [None, "range_changed"]


def test_the_same_range_in_other_units_goes_on():
    # 200 psi are 13.78951 bar by definition.
    metric = visit(2027, {
        f"{STATION}/upper_range_value": q("13.78951459", "bar"),
        f"{AT}/as_found": points(GOOD, ("0", "3.44738", "6.89476", "10.34214", "13.78951"), "bar"),
    })  # fmt: skip
    [found] = courses([verified(2026, GOOD), metric], "PT-101")
    assert found.errors[1].drift == pytest.approx(0, abs=1e-5)


def test_values_that_were_applied_once_only_are_not_compared():
    other = visit(2027, {f"{AT}/as_found": points(("6.00", "14.00"), (25, 125))})
    found = only(verified(2026, GOOD), other)[1]
    assert (found.drift, found.verdict) == (None, "not_compared")


def test_what_cannot_be_compared_does_not_end_the_course():
    other = visit(2027, {f"{AT}/as_found": points(("6.00", "14.00"), (25, 125))})
    errors = only(verified(2026, GOOD), other, verified(2028, shifted(1.2)))
    assert [each.drift for each in errors] == [None, None, pytest.approx(0.012)]


def test_adjusted_before_anybody_read_it_begins_anew():
    unread = visit(2027, {f"{AT}/as_found": None, f"{AT}/as_left": points(GOOD),
                          f"{AT}/adjusted": "zero"})  # fmt: skip
    runs = courses([verified(2026, GOOD), unread], "PT-101")
    assert [each.began_by for each in runs] == [None, "not_read_as_found"]


def adjusted_and_not_read(year, **more):
    """How it was left is anybody's guess."""
    return visit(year, {f"{AT}/adjusted": "zero", f"{AT}/as_left": None, **more})


def test_adjusted_without_anybody_reading_how_it_was_left_begins_anew():
    """Found 1 % too high and set; then 0.2 % too high: not 0.8 % down, but nobody knows."""
    unread = adjusted_and_not_read(2027, **{f"{AT}/as_found": points(shifted(1.0))})
    runs = courses([verified(2026, GOOD), unread, verified(2028, shifted(0.2))], "PT-101")
    assert [[each.visit for each in run.errors] for run in runs] == [[0, 1], [2]]
    assert [each.began_by for each in runs] == [None, "not_read_as_left"]
    then = runs[0].errors[1]
    assert (then.adjusted, then.left) == (True, None)
    assert then.drift == pytest.approx(0.01)
    assert runs[1].errors[0].drift is None


def test_so_does_one_that_was_adjusted_and_not_read_at_all():
    unread = adjusted_and_not_read(2027, **{f"{AT}/as_found": None})
    runs = courses([verified(2026, GOOD), unread, verified(2028, shifted(0.2))], "PT-101")
    assert [[each.visit for each in run.errors] for run in runs] == [[0], [2]]
    assert [each.began_by for each in runs] == [None, "not_read_as_left"]
    assert courses([unread], "PT-101") == []
    [first] = courses([unread, verified(2028, GOOD)], "PT-101")
    assert first.began_by is None


def test_and_one_whose_reading_as_left_is_a_slip_of_writing():
    """0 to 200 psi are 0 to 13.79 bar; written down as psi nobody knows how it was left."""
    slip = points(GOOD, (0, 3.447, 6.895, 10.342, 13.79))
    unread = visit(2027, {f"{AT}/as_found": points(shifted(1.0)), f"{AT}/as_left": slip,
                          f"{AT}/adjusted": "zero"})  # fmt: skip
    runs = courses([verified(2026, GOOD), unread, verified(2028, shifted(0.2))], "PT-101")
    assert [each.began_by for each in runs] == [None, "not_read_as_left"]


def test_another_transmitter_is_told_before_an_adjustment_of_the_one_before():
    unread = adjusted_and_not_read(2027, **{f"{AT}/as_found": points(shifted(1.0))})
    other = verified(2028, GOOD, **{f"{STATION}/serial": "S-9"})
    runs = courses([verified(2026, GOOD), unread, other], "PT-101")
    assert [each.began_by for each in runs] == [None, "replaced"]


def test_not_adjusted_and_not_read_again_goes_on():
    errors = only(verified(2026, GOOD), verified(2027, shifted(0.2)), verified(2028, shifted(1.2)))
    assert [each.drift for each in errors] == [None, pytest.approx(0.002), pytest.approx(0.012)]


def test_it_is_found_behind_other_verifications_of_the_visit():
    [own] = [each for each in booster()["event"]["sensor_verifications"]
             if each["sensor"] == "PT-101"]  # fmt: skip
    others = [own | {"sensor": "PT-77"}, own | {"sensor": "PT-100"}]
    behind = visit(2026, {"/event/sensor_verifications": [*others, own]})
    [found] = courses([behind, visit(2027)], "PT-101")
    assert [each.visit for each in found.errors] == [0, 1]


def test_other_sensors_of_the_visit_are_left_out():
    assert courses([visit(2026)], "PT-999") == []


@pytest.mark.parametrize(
    ("percent", "compared"), [(27.5, True), (29.9, True), (30.1, False), (45.1, True), (50, True)]
)
def test_values_near_each_other_are_compared(percent, compared):
    """Within 5 % of span of 25 or 50 %: no source. The signal is right for what was applied."""
    signal = f"{4 + 0.16 * percent:.3f}"
    near = visit(2027, {f"{AT}/as_found": points((signal,), (2 * percent,))})
    found = only(verified(2026, GOOD), near)[1]
    assert found.drift == (pytest.approx(0, abs=1e-5) if compared else None)


def test_a_way_down_is_not_compared_with_a_way_up():
    down = [each | {"direction": "down"} for each in points(GOOD)]
    found = only(verified(2026, GOOD), visit(2027, {f"{AT}/as_found": down}))[1]
    assert found.verdict == "not_compared"


def test_the_value_that_moved_most_counts():
    """0.16 mA of 16 mA at the middle alone, downwards."""
    middle = ("4.000", "8.016", "11.840", "16.016", "20.000")
    found = only(verified(2026, GOOD), verified(2027, middle))[1]
    assert (found.drift, found.verdict) == (pytest.approx(-0.01), "lower")


def test_without_a_reference_only_rounding_is_noise():
    """Signals to 0.01 mA of 16 mA at both visits, values to 1 psi of 200 psi at most."""
    unknown = {f"{AT}/instrument": None}
    first, second = (visit(year, unknown, {f"{AT}/as_found": points(signals)})
                     for year, signals in ((2026, GOOD), (2027, shifted(1.2))))  # fmt: skip
    [found] = courses([first, second], "PT-101")
    assert found.errors[1].reference_known is False
    assert 0.0003 < found.errors[1].noise < 0.006
    known = only(verified(2026, GOOD), verified(2027, shifted(1.2)))[1]
    assert known.reference_known is True
    half = courses([verified(2026, GOOD), second], "PT-101")[0].errors[1]
    assert half.reference_known is False
    assert found.errors[1].noise < half.noise < known.noise
