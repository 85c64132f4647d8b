"""What verifications of sensors perform, and of which sensor."""

import pytest

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.tasks.performed import Verdicts
from calculations.tasks.performing import performed
from tests.calculations.building import booster, changed
from tests.calculations.building_plates import q
from tests.calculations.tasks.doing import AGAIN, KIND, done, results

CHECK = "/event/sensor_verifications/0"


def signal(value, state="as_found", index=4):
    """At the highest of five points of PT-101, 0 to 200 psi, 4 to 20 mA, tolerance 0.5 %."""
    return {f"{CHECK}/{state}/{index}/signal": q(value, "mA")}


def sensor(changes):
    return done(AGAIN | changes)["transmitter", "PT-101"]


def test_the_worst_error_over_the_tolerance():
    # 20.060 mA for 20 mA: 0.06 / 16 = 0.375 % of span, of 0.5 % allowed: 75 %.
    found = sensor(signal("20.060"))
    assert (found.result, found.as_found) == ("inside", "inside")
    assert found.ratio == pytest.approx(0.75)


def test_found_outside_and_not_adjusted():
    # 0.16 / 16 = 1 % of span, of 0.5 % allowed.
    found = sensor(signal("20.160"))
    assert (found.result, found.as_found) == ("outside", "outside")
    assert found.ratio == pytest.approx(2.0)


def adjusted():
    points = booster()["event"]["sensor_verifications"][0]["as_found"]
    return {f"{CHECK}/adjusted": "span", f"{CHECK}/as_left": points}


def test_found_outside_and_left_inside():
    found = sensor(adjusted() | signal("20.160"))
    assert (found.result, found.as_found) == ("inside", "outside")


def test_found_inside_and_left_outside():
    found = sensor(adjusted() | signal("20.160", "as_left"))
    assert (found.result, found.as_found) == ("outside", "inside")


def test_a_new_sensor_has_no_interval_behind_it():
    found = done(adjusted() | signal("20.160"))["transmitter", "PT-101"]
    assert (found.result, found.as_found, found.ratio) == ("inside", None, None)


def test_adjusted_and_not_read_again_is_not_judged():
    assert sensor({f"{CHECK}/adjusted": "span"}).result == "not_judged"


def only(*indexes):
    """The first verification with these of its five rising points, as far apart as 50 psi."""
    points = booster()["event"]["sensor_verifications"][0]["as_found"]
    return {f"{CHECK}/as_found": [points[each] for each in indexes]}


@pytest.mark.parametrize(
    ("indexes", "result"),
    [
        ((2,), "not_judged"),  # one point
        ((2, 7), "not_judged"),  # the same one rising and falling
        ((0, 4), "not_judged"),  # two ends tell nothing of what is between
        ((1, 2, 3), "inside"),  # 50 to 150 psi of 200: half of the span
    ],
)
def test_points_that_do_not_show_the_span_do_not_count(indexes, result):
    """IEC 61298-2 asks for five points over the whole span; three over half: common practice."""
    found = sensor(only(*indexes))
    measured = ("inside", True) if result == "inside" else (None, False)
    assert (found.result, found.as_found, found.ratio is not None) == (result, *measured)


def test_points_in_a_tenth_of_the_span_do_not_count():
    """0, 10 and 20 psi of 200: 4.00, 4.80 and 5.60 mA."""
    low = [{"direction": "up", "applied": q(applied, "psi"), "signal": q(sent, "mA")}
           for applied, sent in (("0", "4.00"), ("10", "4.80"), ("20", "5.60"))]  # fmt: skip
    assert sensor({f"{CHECK}/as_found": low}).result == "not_judged"


def test_one_point_that_is_wrong_is_enough():
    """12.160 mA for 100 psi: 1 % of span high."""
    found = sensor(only(2) | signal("12.160", index=0))
    assert (found.result, found.as_found) == ("outside", "outside")
    assert found.ratio == pytest.approx(2.0)


def exchanged(**named):
    """PT-101 found 1 % high at full scale and replaced; the new one reads right."""
    replaced = [{"resource": "sensor", "tag": "PT-101"} | named]
    return adjusted() | signal("20.160") | {f"{CHECK}/adjusted": "replaced",
                                            "/event/replaced": replaced}  # fmt: skip


def of_transmitter(changes):
    subject = read(Subject, changed(booster(), AGAIN | changes))
    found = performed(subject, Verdicts.of((), ()))
    return [each for each in found if (each.task, each.thing.tag) == ("transmitter", "PT-101")]


@pytest.mark.parametrize("registered", ["S-3301", "S-9555"])
def test_of_an_exchange_what_was_found_belongs_to_the_one_taken_out(registered):
    """Whether the new one is in the register already or not."""
    serials = {"old_serial": "S-3301", "new_serial": "S-9555"}
    old, new = of_transmitter(exchanged(**serials) | {"/sensors/0/serial": registered})
    assert (old.thing.serial, old.result, old.as_found) == ("S-3301", "not_judged", "outside")
    assert old.ratio == pytest.approx(2.0)
    assert (new.thing.serial, new.result, new.as_found, new.ratio) == (
        "S-9555", "inside", None, None,
    )  # fmt: skip


def test_a_replacement_visit_keeps_what_was_found_of_the_old_one():
    serials = {"old_serial": "S-3301", "new_serial": "S-9555"}
    old, new = of_transmitter(exchanged(**serials) | {KIND: "replacement"})
    assert (old.as_found, new.as_found) == ("outside", None)


def test_an_exchange_without_serial_numbers_leaves_the_new_one_without():
    old, new = of_transmitter(exchanged())
    assert (old.thing.serial, old.as_found) == ("S-3301", "outside")
    assert (new.thing.serial, new.result, new.as_found) == ("", "inside", None)


@pytest.mark.parametrize("again_first", [False, True])
def test_an_exchanged_sensor_that_is_read_in_two_pieces(again_first):
    """Found and taken out in one verification, the new one read in another; its number is open."""
    both = changed(booster(), exchanged())["event"]["sensor_verifications"]
    again = {**booster()["event"]["sensor_verifications"][0], "adjusted": "none"}
    listed = [again, both[0]] if again_first else [both[0], again]
    found = of_transmitter({"/event/sensor_verifications": listed})
    assert [each.thing.serial for each in found] == ["S-3301", ""]
    assert [each.taken_out for each in found] == [True, False]


@pytest.mark.parametrize("registered", ["S-3301", "S-9555"])
def test_what_was_found_before_the_exchange_is_entered_is_of_the_old_one(registered):
    """Found 1 % high in one verification, taken out and the new one read in the next."""
    serials = {"old_serial": "S-3301", "new_serial": "S-9555"}
    both = changed(booster(), exchanged(**serials))["event"]
    exchange = both["sensor_verifications"][0]
    listed = [exchange | {"adjusted": "none", "as_left": None}, exchange | {"as_found": None}]
    changes = {"/event/sensor_verifications": listed, "/event/replaced": both["replaced"],
               "/sensors/0/serial": registered}  # fmt: skip
    old, new = of_transmitter(changes)
    assert (old.thing.serial, old.taken_out, old.as_found) == ("S-3301", True, "outside")
    assert (new.thing.serial, new.result, new.as_found) == ("S-9555", "inside", None)


def test_two_that_cannot_be_told_apart_are_one():
    [found] = of_transmitter(exchanged(old_serial="S-1", new_serial="S-1"))
    assert (found.thing.serial, found.as_found) == ("S-1", "outside")


def test_what_one_slip_explains_says_nothing_of_the_sensor():
    """Applied in bar, written down as psi: neither found outside nor left so."""
    bar = ("0.000", "3.447", "6.895", "10.342", "13.790")
    applied = {f"{CHECK}/as_found/{n}/applied": q((*bar, *bar[::-1])[n], "psi") for n in range(10)}
    found = sensor(applied)
    assert (found.result, found.as_found, found.ratio) == ("not_judged", None, None)


def test_a_flow_meter_at_the_flows_that_there_are():
    flow = {"quantity": "flow", "reference": None, "lower_range_value": q("0", "gpm"),
            "upper_range_value": q("200", "gpm")}  # fmt: skip
    points = only(2)[f"{CHECK}/as_found"]
    at = [points[0] | {"applied": q("100", "gpm"), "indicated": q("100", "gpm")}]
    changes = {f"/sensors/0/{name}": value for name, value in flow.items()}
    changes |= {f"{CHECK}/as_found": at, "/pump_set/regulating_sensor": None}
    assert done(AGAIN | changes)["flow-meter", "PT-101"].result == "inside"


def test_a_flow_meter_is_another_task():
    flow = {"quantity": "flow", "reference": None, "lower_range_value": q("0", "gpm"),
            "upper_range_value": q("1600", "gpm")}  # fmt: skip
    named = results({f"/sensors/1/{name}": value for name, value in flow.items()})
    tag = booster()["sensors"][1]["tag"]
    assert ("flow-meter", tag) in named
    assert ("transmitter", tag) not in named


def test_a_verification_of_a_sensor_that_nobody_knows_takes_nothing_from_an_exchange():
    serials = {"old_serial": "S-3301", "new_serial": "S-9555"}
    known = changed(booster(), exchanged(**serials))["event"]["sensor_verifications"]
    unknown = {**known[0], "sensor": "PT-999", "adjusted": "none"}
    listed = {"/event/sensor_verifications": [unknown, *known]}
    old, new = of_transmitter(exchanged(**serials) | listed)
    assert [each.thing.serial for each in (old, new)] == ["S-3301", "S-9555"]
