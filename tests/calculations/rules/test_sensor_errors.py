"""A sensor against its reference.

PT-101: 0 to 200 psi, 4-20 mA, tolerance 0.5 % of span = 1 psi = 0.08 mA. Half a last digit of "50"
psi and of "8.02" mA are 0.25 % and 0.03 % of span.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_event import verification
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import LEFT, left, lift_station

AT = "/event/sensor_verifications/0"
GOOD = ("4.00", "8.00", "12.00", "16.00", "20.00")


def verified(signals: tuple[str, ...], **more: object) -> Document:
    """The booster with another verification of its regulating sensor."""
    return changed(booster(), {AT: verification("PT-101", 50, signals) | more})


def exact(up: tuple[str, ...], down: tuple[str, ...] | None = None) -> Document:
    """The same with inputs to a thousandth of a psi, so that rounding plays no part."""
    found = verification("PT-101", 50, up)
    falling = down or up
    for index, point in enumerate(found["as_found"]):
        number = index if index < 5 else 9 - index
        signal = up[number] if index < 5 else falling[number]
        point["applied"] = q(f"{50 * number}.000", "psi")
        point["signal"] = q(signal, "mA")
        point["indicated"] = q(f"{(float(signal) - 4) / 16 * 200:.2f}", "psi")
    return changed(booster(), {AT: found})


# -- sensor.error-as-left -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("top", "expected"),
    [
        ("20.080", []),  # 0.50 % of span at the top
        ("20.083", [("review", "outside")]),  # 0.52 %; 0.5 uA are 0.003 %
        ("19.920", []),
        ("19.917", [("review", "outside")]),
        # 2 % and the reference's 0.075 psi (0.0375 %) low: 16 mA x 2.04 % = 0.3263 mA.
        ("19.676", [("review", "outside")]),
        ("19.670", [("stop", "low")]),
        ("20.400", [("review", "outside")]),  # reading high is safe for the pipework
    ],
)
def test_error_as_left(top, expected):
    document = exact(("4.000", "8.000", "12.000", "16.000", top))
    assert verdicts(document, "sensor.error-as-left") == expected


def told(document: Document) -> list[str]:
    """The rules of an error, found or left, that speak of the first verification."""
    rules = ("sensor.offset", "sensor.error-as-found", "sensor.error-as-left")
    return [each.rule for each in judged(document).findings if each.rule in rules]


def applied(document: Document, *values: str, unit: str = "psi") -> Document:
    """The first readings of the first verification, with other digits applied; no others."""
    points = document["event"]["sensor_verifications"][0]["as_found"][: len(values)]
    put = [point | {"applied": q(value, unit)} for point, value in zip(points, values, strict=True)]
    for point in put:
        del point["indicated"]
    return changed(document, {f"{AT}/as_found": put})


@pytest.mark.parametrize("digits", ["{}", "{}.0", "{}.00"])
def test_a_check_point_is_what_it_is_however_it_is_written(digits):
    """2.5 % high (0.4 mA of 16 mA) at 0, 100 and 200 psi: five times the tolerance of 0.5 %.

    Half a digit of "100" psi would be 0.25 % only, of a range of 10 bar 5 %; what was set is exact.
    """
    document = verified(("4.40", "12.40", "20.40", "20.00", "20.00"))
    document = applied(document, *(digits.format(each) for each in ("0", "100", "200")))
    assert told(document) == ["sensor.offset", "sensor.error-as-found"]


def test_whole_bars_hide_no_error():
    """0, 5 and 10 bar of 10 bar, 2.5 % high: half a digit of "5" bar is twice as much."""
    bars = {"/sensors/0/lower_range_value": q("0", "bar"),
            "/sensors/0/upper_range_value": q("10", "bar"),
            f"{LEFT}/feedback_at_upper_signal": q("10", "bar")}  # fmt: skip
    document = changed(verified(("4.40", "12.40", "20.40", "20.00", "20.00")), bars)
    document = applied(document, "0", "5", "10", unit="bar")
    assert "sensor.error-as-found" in told(document)


@pytest.mark.parametrize(
    ("signal", "expected"),
    [
        # 0.08 mA are the tolerance, half of 0.01 mA is granted, and of "33" psi what the reference
        # of 0.075 psi may be off: 0.006 mA; half of 1 psi would be 0.04 mA. 33 psi are 6.64 mA.
        ("6.72", []),
        ("6.73", []),
        ("6.74", ["sensor.error-as-found", "sensor.error-as-left"]),
    ],
)
def test_readings_of_the_reference_are_granted_no_more_than_it_is_off(signal, expected):
    document = applied(verified(("4.00", signal, "12.00", "16.00", "20.00")), "0", "33", "100")
    assert told(document) == expected


def test_what_only_digits_hide_is_not_judged():
    """0.11 mA of 16 mA are 0.69 %; half of "33" psi, 0.25 %, may explain it, or may not."""
    document = applied(verified(("4.00", "6.75", "12.00", "16.00", "20.00")), "0", "33", "100")
    document = without(document, f"{AT}/instrument")
    assert told(document) == []
    for rule in ("sensor.error-as-found", "sensor.error-as-left"):
        (missing,) = lacking(judged(document), rule)
        assert missing.needs == (f"{AT}/instrument",)


def test_what_only_the_digits_of_the_reading_hide_is_not_judged():
    """8.1 mA at 50 psi are 0.63 %; half of 0.1 mA is 0.31 %."""
    document = verified(("4.0", "8.1", "12.0", "16.0", "20.0"))
    assert told(document) == []
    (missing,) = lacking(judged(document), "sensor.error-as-left")
    assert missing.needs == (f"{AT}/as_found/1/signal",)
    assert "digits" in missing.because


def test_a_low_error_stops_only_where_the_drive_regulates_on_it():
    low = verification("PT-100", 15, ("4.01", "7.90", "11.70", "15.60", "19.50"))
    document = changed(booster(), {"/event/sensor_verifications/1": low})
    assert verdicts(document, "sensor.error-as-left") == [("review", "outside")]


def test_without_a_known_reference_nothing_stops():
    low = verification("PT-101", 50, ("4.01", "7.90", "11.70", "15.60", "19.50"))
    document = changed(booster(), {AT: without(low, "/instrument")})
    assert verdicts(document, "sensor.error-as-left") == [("review", "outside")]


def test_what_counts_is_how_it_was_left():
    bad = ("4.01", "7.90", "11.70", "15.60", "19.50")
    good = verification("PT-101", 50, GOOD)["as_found"]
    document = verified(bad, adjusted="span", as_left=good)
    assert verdicts(document, "sensor.error-as-left") == []
    assert verdicts(document, "sensor.error-as-found") == [("note", "outside")]


def test_adjusted_without_readings_as_left_is_not_a_pass():
    document = verified(GOOD, adjusted="span")
    (missing,) = lacking(judged(document), "sensor.error-as-left")
    assert missing.needs == (f"{AT}/as_left",)


def test_adjusted_or_not_has_to_be_known():
    document = without(booster(), f"{AT}/adjusted")
    (missing,) = lacking(judged(document), "sensor.error-as-left")
    assert missing.needs == (f"{AT}/adjusted",)


def test_the_sensor_has_to_be_known():
    document = changed(booster(), {f"{AT}/sensor": "PT-999"})
    (missing,) = lacking(judged(document), "sensor.error-as-left")
    assert missing.needs == ("/sensors",)


def test_a_reference_above_the_sensor_adds_its_column():
    """11.55 ft of water at 60 degF are 5.00 psi: the sensor is right when it reads 5 psi more."""
    shifted = ("4.40", "8.40", "12.40", "16.40", "20.40")
    assert verdicts(verified(shifted), "sensor.offset") == [("review", "water")]
    high = verified(shifted, applied_head_difference=q("11.55", "ft"))
    assert verdicts(high, "sensor.offset") == []
    assert verdicts(high, "sensor.error-as-left") == []


# -- sensor.offset --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shift", "expected", "height"),
    [
        (0.05, [], None),
        (0.16, [("review", "water")], "4.62 ft"),  # 2 psi x 2.309 ft/psi
        (-0.16, [("review", "water")], "4.62 ft"),
        (-0.40, [("stop", "water")], "11.5 ft"),  # 2.5 % low
        (-1.18, [("stop", "atmosphere")], ""),  # 14.75 psi, one atmosphere is 14.70 psi
        (1.18, [("review", "atmosphere")], ""),
    ],
)
def test_offset(shift, expected, height):
    document = exact(tuple(f"{float(signal) + shift:.3f}" for signal in GOOD))
    assert verdicts(document, "sensor.offset") == expected
    for finding in of_rule(judged(document), "sensor.offset"):
        assert finding.parameters["height"] == height
    assert verdicts(document, "sensor.error-as-left") == []


@pytest.mark.parametrize(
    ("spread", "expected"),
    [
        # 0.16 mA are 1 %; errors that differ by half of the tolerance of 0.5 %, 0.04 mA, or by
        # 0.3 of their mean are one shift. No source.
        (0.040, ["sensor.offset"]),
        (0.050, ["sensor.error-as-left"]),
    ],
)
def test_a_shift_is_the_same_everywhere(spread, expected):
    signals = ["4.130", "8.130", "12.130", "16.130", f"{20.13 + spread:.3f}"]
    found = judged(exact(tuple(signals)))
    rules = ("sensor.offset", "sensor.error-as-left")
    assert [each for each in rules if of_rule(found, each)] == expected


@pytest.mark.parametrize(
    ("top", "expected"),
    [("20.112", ["sensor.offset"]), ("20.125", ["sensor.error-as-left"])],
)
def test_a_small_shift_may_differ_by_half_of_the_tolerance(top, expected):
    """0.5 % and 0.7 % of span, 0.54 % in the mean, are 0.2 % apart; 0.78 % is 0.28 % apart."""
    found = judged(exact(("4.080", "8.080", "12.080", "16.080", top)))
    rules = ("sensor.offset", "sensor.error-as-left")
    assert [each for each in rules if of_rule(found, each)] == expected


@pytest.mark.parametrize(
    ("shift", "variant"),
    [
        # 14.70 psi and a tenth of it: 16.16 psi are 1.293 mA of 16 mA for 200 psi.
        (1.290, "atmosphere"),
        (1.300, "water"),
        (1.060, "atmosphere"),
        (1.055, "water"),
    ],
)
def test_a_shift_of_about_an_atmosphere(shift, variant):
    document = exact(tuple(f"{float(each) + shift:.3f}" for each in GOOD))
    at_the_sea = changed(document, {"/site/elevation": q("0", "m")})
    (found,) = of_rule(judged(at_the_sea), "sensor.offset")
    assert found.variant == variant


@pytest.mark.parametrize(
    ("elevation", "lower", "upper"), [("0", "-14.70", "185.30"), ("1500", "-12.26", "187.74")]
)
def test_an_absolute_cell_reads_low_where_absolute_pressures_were_entered(elevation, lower, upper):
    """14.70 psi at the sea, 12.26 psi at 1,500 m (ISO 2533: 845.6 hPa): no stop."""
    values = {"/sensors/0/reference": "absolute", "/site/elevation": q(elevation, "m"),
              f"{LEFT}/feedback_at_lower_signal": q(lower, "psi"),
              f"{LEFT}/feedback_at_upper_signal": q(upper, "psi")}  # fmt: skip
    document = changed(exact(GOOD), values)
    assert verdicts(document, "sensor.offset") == [("review", "absolute")]


def test_two_readings_make_no_shift():
    document = exact(tuple(f"{float(each) + 0.16:.3f}" for each in GOOD))
    check = document["event"]["sensor_verifications"][0]
    for count, rule in ((2, "sensor.error-as-left"), (3, "sensor.offset")):
        few = changed(document, {f"{AT}/as_found": check["as_found"][:count]})
        found = judged(few)
        rules = ("sensor.error-as-left", "sensor.offset")
        assert [each for each in rules if of_rule(found, each)] == [rule]


def test_a_sensor_without_a_tag_is_named_by_its_serial_number():
    check = verification("S-3301", 50, (*GOOD[:4], "20.40"))
    document = changed(booster(), {
        AT: check, "/sensors/0/tag": None, "/pump_set/regulating_sensor": "S-3301",
    })  # fmt: skip
    (found,) = of_rule(judged(document), "sensor.error-as-left")
    assert found.parameters["sensor"] == "S-3301"


def test_numbers_of_an_error():
    """20.400 mA are 2.5 % of 16 mA, 205 psi of 200 psi."""
    document = exact((*GOOD[:4], "20.400"))
    for rule in ("sensor.error-as-left", "sensor.error-as-found"):
        (found,) = of_rule(judged(document), rule)
        told = {"error": "+2.5 %", "tolerance": "0.5 %", "sensor": "PT-101",
                "indicated": "205 psi", "applied": "200.000 psi"}  # fmt: skip
        assert told.items() <= found.parameters.items()
        assert (found.subject, found.limit) == (AT, "0.5 % of span")


def test_offset_is_said_in_the_reader_s_units():
    document = exact(tuple(f"{float(signal) + 0.16:.3f}" for signal in GOOD))
    (finding,) = of_rule(judged(in_metric(document)), "sensor.offset")
    assert finding.parameters["shift"].endswith(" bar")
    assert finding.parameters["height"].endswith(" m")


def test_a_shift_of_level_is_not_said_in_water_twice():
    """0.12 m of 5 m at every point, of a tolerance of 0.5 %; reading high."""
    document = lift_station()
    for point in document["event"]["sensor_verifications"][0]["as_found"]:
        point["signal"] = q(f"{float(point['signal']['value']) + 0.384:.2f}", "mA")
        point["indicated"] = q(f"{float(point['indicated']['value']) + 0.12:.2f}", "m")
    assert verdicts(document, "sensor.offset") == [("review", "plain")]


def test_a_suction_loop_reading_low_runs_no_pressure_up():
    """The pump slows when its suction reads low: a review, not a stop."""
    document = changed(
        verified(("4.01", "7.90", "11.70", "15.60", "19.50")),
        left(regulated_quantity="suction_pressure", action="rising_feedback_speeds_up"),
    )
    assert verdicts(document, "sensor.error-as-left") == [("review", "outside")]


SCALED_WRONG = {"/event/settings/as_left/feedback_at_upper_signal": q("250", "psi")}


@pytest.mark.parametrize(
    ("signals", "expected"),
    [
        (("4.224", "8.224", "12.224", "16.224", "20.224"), {"sensor.offset"}),  # 1.4 % high
        (("4.00", "8.05", "12.11", "16.17", "20.224"), {"sensor.error-as-left"}),
        (GOOD, set()),
    ],
)
def test_signals_tell_of_the_transmitter_whatever_the_drive_makes_of_them(signals, expected):
    document = changed(verified(signals), SCALED_WRONG)
    for point in document["event"]["sensor_verifications"][0]["as_found"]:
        del point["indicated"]
    found = {each.rule for each in judged(document).findings if each.severity != "note"}
    assert found == {"loop.scaling"} | expected


def test_values_shown_at_the_drive_wait_for_its_scaling():
    document = changed(verified(("4.00", "8.05", "12.11", "16.17", "20.224")), SCALED_WRONG)
    for point in document["event"]["sensor_verifications"][0]["as_found"]:
        del point["signal"]
    [waiting] = lacking(judged(document), "sensor.error-as-left")
    assert waiting.waits_for == "loop.scaling"


def test_errors_of_span_wait_for_a_scaling_that_contradicts_the_range():
    """Range entered 300 psi for 200 psi: every reading looks a third too high."""
    document = changed(booster(), {"/sensors/0/upper_range_value": q("300", "psi")})
    waiting = lacking(judged(document), "sensor.error-as-left")
    assert [each.waits_for for each in waiting] == ["loop.scaling"]
    assert verdicts(document, "sensor.error-as-left") == []


@pytest.mark.parametrize(
    ("top", "expected"), [("19.67", [("review", "outside")]), ("19.66", [("stop", "low")])]
)
def test_only_what_no_rounding_explains_makes_a_stop(top, expected):
    """Half of 0.01 mA is 0.031 %, the reference 0.038 %: 2.063 % low are 1.99 %, 2.125 % 2.06 %."""
    assert verdicts(verified((*GOOD[:4], top)), "sensor.error-as-left") == expected


def test_ends_and_middle_grant_half_a_digit_each():
    """The ends at -0.05 and -0.04 mA, the middle at +0.05: 0.095 mA, less 0.01, are over 0.08."""
    document = verified(("3.95", "7.95", "12.05", "15.95", "19.96"))
    assert verdicts(document, "sensor.linearity") == [("review", "bent")]
