"""What a verification rests on: display, reference, calibration, range."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_event import verification
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import (
    LEFT,
    booster_in_percent,
    left,
    lift_station,
    shifted_booster,
)

AT = "/event/sensor_verifications/0"
SIGNALS = ("4.00", "8.00", "12.00", "16.00", "20.00")


def shown(factor: float, shift: float = 0.0, at: str = "drive"):
    """The booster whose display shows each value times `factor`, plus `shift` psi."""
    found = verification("PT-101", 50, SIGNALS)
    for point in found["as_found"]:
        value = float(point["applied"]["value"]) * factor + shift
        point["indicated"] = q(f"{value:.2f}", "psi")
        point["indicated_at"] = at
    return changed(booster(), {AT: found})


# -- sensor.chain -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("factor", "shift", "expected"),
    [
        (1.0, 0.0, []),
        (1.0099, 0.0, []),  # 1 % of span at the top
        (1.011, 0.0, [("review", "scaling")]),
        (0.9, 0.0, [("review", "scaling")]),
        (1.0, 2.3, [("review", "shifted")]),
        (0.06895, 0.0, [("review", "unit")]),  # bar shown as psi
        (6.895, 0.0, [("review", "unit")]),  # kPa
        (2.307, 0.0, [("review", "unit")]),  # feet of water
    ],
)
def test_display_against_signal(factor, shift, expected):
    document = shown(factor, shift)
    assert verdicts(document, "sensor.chain") == expected
    assert verdicts(document, "sensor.error-as-left") == []  # the transmitter itself is right


# Signals of 0, 25 ... 100 % of a live zero are 4, 8 ... 20 mA: 20, 40 ... 100 % of a dead one.
# IEC 60381-1.
@pytest.mark.parametrize(
    ("output", "shares", "variant"),
    [
        ("4-20 mA", (0.2, 0.4, 0.6, 0.8, 1.0), "dead_zero"),
        ("4-20 mA", (0.2, 0.4, 0.65, 0.8, 1.0), "scaling"),
        ("4-20 mA", (0.2, 0.45, 0.7, 0.95, 1.2), "shifted"),
        # 0, 5 ... 20 mA of a dead zero: -25, 6.25 ... 100 % of a live one
        ("0-20 mA", (-0.25, 0.0625, 0.375, 0.6875, 1.0), "live_zero"),
    ],
)
def test_the_zero_that_was_taken_for_another_is_named(output, shares, variant):
    low, high = (float(each) for each in output.removesuffix(" mA").split("-"))
    rows = [
        {"direction": "up", "applied": q(str(50 * step), "psi"), "indicated_at": "drive",
         "signal": q(f"{low + (high - low) * step / 4:.2f}", "mA"),
         "indicated": q(f"{200 * share:.1f}", "psi")}
        for step, share in enumerate(shares)
    ]  # fmt: skip
    document = changed(booster(), {
        f"{AT}/as_found": rows, "/sensors/0/output": output,
        "/event/settings/as_left/feedback_signal": output,
        "/event/settings/as_left/signal_loss_threshold": None,
    })  # fmt: skip
    assert verdicts(document, "sensor.chain") == [("review", variant)]


def test_numbers_of_the_display():
    """0.9 times: the display is farthest off at 20 mA, which mean 200 psi."""
    (found,) = of_rule(judged(shown(0.9)), "sensor.chain")
    told = {"meant": "200 psi", "indicated": "180.00 psi", "signal": "20.00 mA", "gap": "-10 %",
            "sensor": "PT-101", "where": "The drive"}  # fmt: skip
    assert told.items() <= found.parameters.items()
    assert found.limit == "1 % of span"


def test_a_sensor_s_own_tolerance_may_be_wider_than_the_display_s():
    wide = changed(shown(1.015), {"/sensors/0/tolerance_percent_of_span": q("2", "%")})
    assert verdicts(wide, "sensor.chain") == []
    assert verdicts(shown(1.015), "sensor.chain") == [("review", "scaling")]


@pytest.mark.parametrize(
    ("reference", "shift", "expected"),
    [
        # 0 to 200 psi absolute: the same signals mean 14.696 psi less, as gauge (ISO 2533).
        ("absolute", 0.0, [("note", "absolute")]),
        ("absolute", -14.7, []),
        ("absolute", 2.5, [("review", "shifted")]),  # 10 % is granted: common practice
        ("gauge", 14.7, [("review", "shifted")]),
    ],
)
def test_an_absolute_cell_may_be_shown_as_what_it_measures(reference, shift, expected):
    scaled = {"/site/elevation": q("0", "m"), "/sensors/0/reference": reference}
    if reference == "absolute":
        scaled |= {f"{LEFT}/feedback_at_lower_signal": q("-14.70", "psi"),
                   f"{LEFT}/feedback_at_upper_signal": q("185.30", "psi")}  # fmt: skip
    assert verdicts(changed(shown(1.0, shift), scaled), "sensor.chain") == expected


@pytest.mark.parametrize(("shift", "expected"), [(3.2, []), (3.3, [("review", "shifted")])])
def test_twice_half_a_digit_of_the_signal_is_granted(shift, expected):
    """0.05 mA of 16 mA are 0.3125 % of span: 1 % and twice that of 200 psi are 3.25 psi."""
    document = shown(1.0, shift)
    for point in document["event"]["sensor_verifications"][0]["as_found"]:
        point["signal"] = q(f"{float(point['signal']['value']):.1f}", "mA")
    assert verdicts(document, "sensor.chain") == expected


def test_what_a_level_transmitter_means_is_told_in_metres():
    """16.8 mA are 80 % of 5 m."""
    off = {f"{AT}/as_found/4/indicated": q("4.60", "m")}
    (found,) = of_rule(judged(changed(lift_station(), off)), "sensor.chain")
    assert found.parameters["meant"] == "4 m"


def test_what_was_applied_in_percent_is_told_in_the_unit_of_the_range():
    document = shown(0.9)
    for point in document["event"]["sensor_verifications"][0]["as_found"]:
        point["applied"] = q(f"{float(point['applied']['value']) / 2:g}", "%")
    (found,) = of_rule(judged(document), "sensor.chain")
    assert found.parameters["meant"] == "200 psi"


@pytest.mark.parametrize(("at", "where"), [
    ("transmitter", "The transmitter's display"), ("remote_display", "The remote display"),
    ("drive", "The drive"),
])  # fmt: skip
def test_which_display_is_off_is_told(at, where):
    (found,) = of_rule(judged(shown(0.9, at=at)), "sensor.chain")
    assert found.parameters["where"] == where


def test_the_unit_is_named():
    (finding,) = of_rule(judged(shown(0.06895)), "sensor.chain")
    assert finding.parameters["unit"] == "bar"


def test_the_unit_is_named_where_it_was_noticed_on_the_way():
    """The last reading but that at nothing was written down in the unit that is really shown."""
    document = changed(shown(0.06895), {f"{AT}/as_found/8/indicated": q("3.45", "bar")})
    (finding,) = of_rule(judged(document), "sensor.chain")
    assert (finding.variant, finding.parameters["unit"]) == ("unit", "bar")


def test_a_wrong_scaling_on_record_is_one_finding():
    document = changed(shown(0.75), left(feedback_at_upper_signal=q("150", "psi")))
    (waiting,) = [each for each in lacking(judged(document), "sensor.chain") if each.waits_for]
    assert waiting.waits_for == "loop.scaling"


def test_a_display_at_another_datum_is_taken_back_to_the_transmitter():
    assert verdicts(shifted_booster(), "sensor.chain") == []


def test_where_no_datum_is_recorded_the_scaling_tells_it():
    unknown = without(shifted_booster(), f"{LEFT}/set_point_datum")
    assert verdicts(unknown, "sensor.chain") == lacking(judged(unknown), "sensor.chain") == []
    percent = without(booster_in_percent(), f"{LEFT}/set_point_datum")
    assert verdicts(percent, "sensor.chain") == []


def test_the_transmitter_s_own_display_knows_no_datum():
    """5.2 psi more on the transmitter itself is its own business, and wrong."""
    document = changed(
        shown(1.0, 5.2, at="transmitter"),
        {"/sensors/0/tapping_elevation": q("12", "ft")}
        | left(set_point_datum="pump_datum", feedback_at_lower_signal=q("5.2", "psi"),
               feedback_at_upper_signal=q("205.2", "psi")),
    )  # fmt: skip
    assert verdicts(document, "sensor.chain") == [("review", "shifted")]


ONE = "/event/sensor_verifications/0/as_found/2/indicated"


@pytest.mark.parametrize(
    ("value", "unit", "expected", "read"),
    [
        # 12.02 mA of 0 to 200 psi are 100.25 psi; all others are shown to a tenth of a psi.
        ("100.2", "psi", [], None),
        ("6.91", "bar", [], None),  # 100.2 psi
        ("6.91", "psi", [("review", "one_point")], ", probably of 6.91 bar"),
        ("691", "psi", [("review", "one_point")], ", probably of 691 kPa"),
        ("110.2", "psi", [("review", "one_point")], ""),
        # 4.25 psi and less, 2.1 % of span: twice the limit of 1 % of span.
        ("104.4", "psi", [("review", "one_point")], ""),
        ("103.9", "psi", [("review", "scaling")], None),
    ],
)
def test_one_value_shown_apart_is_a_slip_and_no_scaling(value, unit, expected, read):
    document = changed(booster(), {ONE: q(value, unit)})
    assert verdicts(document, "sensor.chain") == expected
    for found in of_rule(judged(document), "sensor.chain"):
        if read is not None:
            assert found.parameters["read"] == read
            assert found.subject == ONE.removesuffix("/indicated")


def test_a_scaling_that_shows_most_at_the_top_is_no_slip():
    """1.5 % too much of everything, upwards only: 3.0, 2.25, 1.5, 0.75 psi over 200 psi of span."""
    document = booster()
    points = document["event"]["sensor_verifications"][0]["as_found"][:5]
    for point in points:
        point["indicated"] = q(f"{float(point['indicated']['value']) * 1.015:.1f}", "psi")
    document["event"]["sensor_verifications"][0]["as_found"] = points
    assert verdicts(document, "sensor.chain") == [("review", "scaling")]


# -- sensor.reference-uncertainty -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("share", "expected"),
    [
        # Tolerance 1 psi, calibrator of 300 psi: ratio = 1 / (3 share).
        ("0.08", []),  # 4.17
        ("0.085", ["note"]),  # 3.92
        ("0.33", ["note"]),  # 1.01
        ("0.34", ["review"]),  # 0.98
    ],
)
def test_ratio_of_tolerance_and_uncertainty(share, expected):
    document = changed(booster(), {"/instruments/0/percent_of_range": q(share, "%")})
    document = without(document, "/event/sensor_verifications/1")
    found = verdicts(document, "sensor.reference-uncertainty")
    assert [severity for severity, _ in found] == expected


def test_the_trap_of_a_tenth_percent_gauge():
    """A 200 psi, 0.1 % gauge against 0.25 % of 100 psi: 0.25 / 0.2 = 1.25 (ANSI/NCSL Z540.3)."""
    gauge = {"range_high": q("200", "psi"), "percent_of_range": q("0.1", "%")}
    small = {"upper_range_value": q("100", "psi"), "tolerance_percent_of_span": q("0.25", "%")}
    changes = {f"/instruments/0/{name}": value for name, value in gauge.items()}
    changes |= {f"/sensors/0/{name}": value for name, value in small.items()}
    changes |= {AT: verification("PT-101", 25, SIGNALS)}
    document = changed(booster(), changes | left(feedback_at_upper_signal=q("100", "psi")))
    (finding, _) = of_rule(judged(document), "sensor.reference-uncertainty")
    assert (finding.severity, finding.parameters["ratio"]) == ("note", "1.25")


def test_an_error_in_the_guard_band_cannot_be_decided():
    """Ratio 1 / 0.5 = 2: limit 1 - 0.5 x 0.2817 = 0.859 psi (method 6, M(2) = 0.2817)."""
    half = {"/instruments/0/percent_of_range": q("0.16667", "%")}
    inside = changed(booster(), half | {AT: verification("PT-101", 50, (*SIGNALS[:4], "20.068"))})
    outside = changed(booster(), half | {AT: verification("PT-101", 50, (*SIGNALS[:4], "20.070"))})
    rule = "sensor.reference-uncertainty"
    assert verdicts(without(inside, "/event/sensor_verifications/1"), rule) == [("note", "coarse")]
    assert verdicts(without(outside, "/event/sensor_verifications/1"), rule) == [
        ("review", "guard_band")
    ]


def test_certificates_count_before_accuracy():
    """0.1 psi at k = 2 where the data sheet would say 3 psi."""
    document = changed(
        booster(),
        {"/instruments/0/percent_of_range": q("1", "%"),
         "/instruments/0/uncertainty": q("0.1", "psi"),
         "/instruments/0/coverage_factor": q("2", "1")},
    )  # fmt: skip
    found = verdicts(document, "sensor.reference-uncertainty")
    assert found == [("note", "coarse")]  # PT-100: 0.3 psi / 0.1 psi = 3


def test_an_unknown_reference_is_missing():
    document = without(booster(), f"{AT}/instrument")
    (missing,) = lacking(judged(document), "sensor.reference-uncertainty")
    assert missing.needs == (f"{AT}/instrument",)


# -- sensor.reference-calibration -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"/instruments/0/due_on": "2026-03-14"}, []),  # on the day itself
        ({"/instruments/0/due_on": "2026-03-13"}, [("review", "overdue")]),
        ({"/instruments/0/calibrated_on": "2026-03-14"}, []),
        ({"/instruments/0/calibrated_on": "2026-03-15"}, [("review", "later")]),
        ({"/instruments/0/due_on": "2026-03-01", "/instruments/0/kind": "tape"}, []),
    ],
)
def test_calibration_on_the_day(changes, expected):
    assert verdicts(changed(booster(), changes), "sensor.reference-calibration") == expected


CALIBRATED, DUE = "/instruments/0/calibrated_on", "/instruments/0/due_on"


@pytest.mark.parametrize(
    ("calibrated", "due", "expected"),
    [
        ("2027-01-12", "2026-01-12", "reversed"),  # each in the other's place
        ("2026-02-12", "2026-01-12", "reversed"),  # both before the visit of 14 March 2026
        ("2026-01-12", "2031-01-31", None),  # a certificate that ends with the month
        ("2026-01-12", "2031-02-01", "long"),
        ("2024-01-01", "2029-01-01", None),  # 1827 days, for two of the years are leap years
        ("2026-03-14", "2026-03-14", None),  # both the day of the visit
        ("2015-01-12", "2026-03-13", "overdue"),  # due before the visit goes before the interval
        ("2026-03-15", "2036-03-15", "later"),
    ],
)
def test_days_of_a_certificate_in_order(calibrated, due, expected):
    document = changed(booster(), {CALIBRATED: calibrated, DUE: due})
    found = verdicts(document, "sensor.reference-calibration")
    assert found == ([("review", expected)] if expected else [])


def test_how_long_a_calibration_is_said_to_hold():
    """2026-01-12 to 2036-01-12: ten years of 12 months."""
    document = changed(booster(), {DUE: "2036-01-12"})
    (found,) = of_rule(judged(document), "sensor.reference-calibration")
    assert (found.limit, found.parameters["lasts"]) == ("at most 60 mo", "120 mo")
    (found,) = of_rule(judged(changed(document, {DUE: "2025-01-12"})), found.rule)
    assert found.limit == ""


def test_an_instrument_that_stayed_in_the_van_is_not_judged():
    spare = {"serial": "I-9", "kind": "multimeter_true_rms", "due_on": "2020-01-01",
             "calibrated_on": "2019-01-01"}  # fmt: skip
    document = changed(booster(), {"/instruments/-": spare})
    assert verdicts(document, "sensor.reference-calibration") == []


def test_the_days_of_the_certificate_are_told():
    changes = {"/instruments/0/due_on": "2026-03-01"}
    (found,) = of_rule(judged(changed(booster(), changes)), "sensor.reference-calibration")
    told = {"day": "2026-03-14", "calibrated": "2026-01-12", "due": "2026-03-01", "serial": "I-1"}
    assert told.items() <= found.parameters.items()
    assert found.subject == "/instruments/0"


@pytest.mark.parametrize("where", ["/event/duty_points/1/instruments", f"{AT}/instrument"])
def test_an_instrument_of_one_reading_counts_as_used(where):
    spare = {"serial": "I-9", "kind": "multimeter_true_rms", "due_on": "2020-01-01",
             "calibrated_on": "2019-01-01"}  # fmt: skip
    named = "I-9" if where.endswith("instrument") else ["I-1", "I-9"]
    document = changed(booster(), {"/instruments/-": spare, where: named})
    assert verdicts(document, "sensor.reference-calibration") == [("review", "overdue")]


def test_calibration_names_what_it_lacks():
    document = without(booster(), "/instruments/0/due_on")
    (missing,) = lacking(judged(document), "sensor.reference-calibration")
    assert missing.needs == ("/instruments/0/due_on",)


# -- sensor.range -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("upper", "expected"),
    [("340", []), ("341", [("note", "wide")])],  # 4 x 85 psi
)
def test_range_against_service(upper, expected):
    document = changed(
        booster(),
        {"/sensors/0/upper_range_value": q(upper, "psi"), "/event/sensor_verifications": None}
        | left(feedback_at_upper_signal=q(upper, "psi")),
    )  # fmt: skip
    assert verdicts(document, "sensor.range") == expected


def test_numbers_of_a_wide_range():
    """600 psi over 85 psi."""
    document = changed(
        booster(),
        {"/sensors/0/upper_range_value": q("600", "psi"), "/event/sensor_verifications": None}
        | left(feedback_at_upper_signal=q("600", "psi")),
    )  # fmt: skip
    (found,) = of_rule(judged(document), "sensor.range")
    told = {"times": "7.06", "ordinary": "85 psi", "upper": "600 psi", "sensor": "PT-101"}
    assert told.items() <= found.parameters.items()
    assert (found.limit, found.subject) == ("4 times", "/sensors/0")


@pytest.mark.parametrize(("upper", "expected"), [("132", []), ("133", [("note", "wide")])])
def test_range_of_a_suction_sensor(upper, expected):
    """A suction pressure on record counts at its sensor: four times 33 psi."""
    document = changed(booster(), {
        "/sensors/1/upper_range_value": q(upper, "psi"),
        "/event/sensor_verifications": None,
    })  # fmt: skip
    assert verdicts(document, "sensor.range") == expected


@pytest.mark.parametrize(
    "elsewhere", [{"/sensors/1/location": "header"}, {"/site/suction_kind": None}]
)
def test_a_range_is_not_held_against_a_suction_that_it_does_not_see(elsewhere):
    """Nobody says what is ordinary at a spare sensor of the header, or on a suction unknown."""
    wide = {"/sensors/1/upper_range_value": q("500", "psi"), "/event/sensor_verifications": None}
    judgement = judged(changed(booster(), wide | elsewhere))
    told = [*of_rule(judgement, "sensor.range"), *lacking(judgement, "sensor.range")]
    assert [each.subject for each in told] == []


def test_a_compound_range_is_not_wide():
    """-15 to 140 psi: what it can do below nothing is meant for other days than 33 psi."""
    document = changed(booster(), {
        "/sensors/1/lower_range_value": q("-15", "psi"),
        "/sensors/1/upper_range_value": q("140", "psi"), "/event/sensor_verifications": None,
    })  # fmt: skip
    assert verdicts(document, "sensor.range") == []
    (told,) = lacking(judged(document), "sensor.range")
    assert told.needs == ("/sensors/1/lower_range_value",)
    plain = changed(document, {"/sensors/1/lower_range_value": q("0", "psi")})
    assert verdicts(plain, "sensor.range") == [("note", "wide")]


def test_a_range_over_a_suction_of_nothing_is_not_judged():
    none = {f"/site/suction_pressure_{end}": q("0", "psi") for end in ("low", "high")}
    document = changed(booster(), none | {"/event/sensor_verifications": None})
    judgement = judged(document)
    assert [each.subject for each in of_rule(judgement, "sensor.range")] == []


def test_an_absolute_range_is_not_compared_with_what_is_over_the_air():
    document = changed(booster(), {
        "/sensors/1/upper_range_value": q("133", "psi"), "/sensors/1/reference": "absolute",
        "/event/sensor_verifications": None,
    })  # fmt: skip
    found = judged(document)
    assert [each.subject for each in of_rule(found, "sensor.range")] == []
    assert [each.subject for each in lacking(found, "sensor.range")] == []
