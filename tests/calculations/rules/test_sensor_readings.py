"""Slips of reading and failing loops among the readings of a verification; NE 43 for the band."""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
)
from tests.calculations.building_event import verification
from tests.calculations.building_plates import Document, q
from tests.calculations.rules.test_sensor_errors import AT, GOOD, exact

# -- sensor.outlier -----------------------------------------------------------------------------


def with_reading(index: int, signal: str) -> Document:
    found = verification("PT-101", 50, ("4.01", "8.02", "12.02", "16.01", "20.00"))
    found["as_found"][index]["signal"] = q(signal, "mA")
    return changed(booster(), {AT: found})


@pytest.mark.parametrize(
    ("index", "signal", "expected", "read"),
    [
        (1, "8.20", [("review", "digits")], "8.02 mA"),
        (2, "1.202", [("review", "digits")], "12.02 mA"),
        (3, "16.60", [("review", "digits")], "16.06 mA"),
        (2, "12.77", [("review", "plain")], ""),
        (1, "8.12", [], None),  # inside twice the tolerance of the others
    ],
)
def test_outlier(index, signal, expected, read):
    document = with_reading(index, signal)
    assert verdicts(document, "sensor.outlier") == expected
    for finding in of_rule(judged(document), "sensor.outlier"):
        assert finding.parameters["read"] == read
        assert finding.subject == f"{AT}/as_found/{index}"


def test_two_odd_readings_are_no_slip():
    found = verification("PT-101", 50, ("4.00", "8.20", "12.02", "16.01", "20.00"))
    assert verdicts(changed(booster(), {AT: found}), "sensor.outlier") == []


@pytest.mark.parametrize(
    ("points", "index", "signal", "expected"),
    [
        # Upwards only: a bare jump may be the sensor's, other digits are a slip all the same.
        (slice(0, 5), 2, "12.77", []),
        (slice(0, 5), 2, "1.202", [("review", "digits")]),
        (slice(0, 4), 2, "1.202", [("review", "digits")]),
        (slice(0, 3), 2, "1.202", []),  # two others are not all others
    ],
)
def test_an_outlier_among_few_readings(points, index, signal, expected):
    document = with_reading(index, signal)
    check = document["event"]["sensor_verifications"][0]
    check["as_found"] = check["as_found"][points]
    assert verdicts(document, "sensor.outlier") == expected


@pytest.mark.parametrize(
    ("applied", "signal", "expected"),
    [("103.8", "12.32", [("review", "plain")]), ("104.2", "12.35", [])],
)
def test_a_second_reading_at_the_same_input_convicts_the_first(applied, signal, expected):
    """100 psi upwards read 12.77 mA; 2 % of 200 psi are 4 psi. 103.8 psi are 12.304 mA."""
    document = with_reading(2, "12.77")
    second = document["event"]["sensor_verifications"][0]["as_found"][7]
    second |= {"applied": q(applied, "psi"), "signal": q(signal, "mA")}
    assert verdicts(document, "sensor.outlier") == expected


@pytest.mark.parametrize(
    ("index", "applied", "points", "expected"),
    [
        # 108 for 100 psi at 12.02 mA, as at 100 psi downwards: off by 4 % of 200 psi at this point.
        (2, "108", slice(0, 10), [("review", "plain")]),
        (1, "60", slice(0, 10), [("review", "plain")]),
        # Upwards only, no second reading: it may be the sensor.
        (2, "108", slice(0, 5), []),
        # At its ends a sensor may stand still.
        (4, "212", slice(0, 6), []),
        (0, "12", slice(0, 10), []),
    ],
)
def test_the_same_reading_at_another_input_convicts_what_was_applied(
    index, applied, points, expected
):
    document = with_reading(2, "12.02")
    check = document["event"]["sensor_verifications"][0]
    check["as_found"][index]["applied"] = q(applied, "psi")
    check["as_found"] = check["as_found"][points]
    assert verdicts(document, "sensor.outlier") == expected
    if expected:
        assert verdicts(document, "sensor.error-as-left") == []


def read_by_display(index: int, indicated: str) -> Document:
    """Nothing but the transmitter's display was read; one value of it is another."""
    found = verification("PT-101", 50, GOOD)
    for point in found["as_found"]:
        del point["signal"]
        point |= {"indicated": point["applied"], "indicated_at": "transmitter"}
    found["as_found"][index]["indicated"] = q(indicated, "psi")
    return changed(booster(), {AT: found})


@pytest.mark.parametrize(
    ("indicated", "expected", "read"),
    [("15", [("review", "digits")], "150 psi"), ("120", [("review", "plain")], "")],
)
def test_an_outlier_of_a_display(indicated, expected, read):
    """150 psi were applied."""
    document = read_by_display(3, indicated)
    assert verdicts(document, "sensor.outlier") == expected
    (finding,) = of_rule(judged(document), "sensor.outlier")
    assert finding.parameters["read"] == read


# -- sensor.signal-band -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("signal", "expected"),
    [
        # NE 43, secondary text: 3.8 to 20.5 mA are valid.
        ("3.50", [("review", "low")]),
        ("3.79", [("review", "low")]),
        ("20.60", [("review", "high")]),
        ("20.50", []),
    ],
)
def test_a_failing_loop_in_the_middle_of_the_range(signal, expected):
    found = verification("PT-101", 50, GOOD)
    for index in (2, 7):
        found["as_found"][index]["signal"] = q(signal, "mA")
    assert verdicts(changed(booster(), {AT: found}), "sensor.signal-band") == expected


def test_a_point_without_a_signal_hides_no_failure():
    found = verification("PT-101", 50, GOOD)
    del found["as_found"][1]["signal"]
    for index in (2, 7):
        found["as_found"][index]["signal"] = q("3.50", "mA")
    (told,) = of_rule(judged(changed(booster(), {AT: found})), "sensor.signal-band")
    assert (told.subject, told.limit) == (f"{AT}/as_found/2", "3.8 to 20.5 mA")
    words = {"signal": "3.50 mA", "applied": "100 psi", "sensor": "PT-101"}
    assert words.items() <= told.parameters.items()


def test_a_shift_at_the_ends_is_an_error_not_a_failure():
    document = exact(tuple(f"{float(signal) - 0.4:.3f}" for signal in GOOD))
    assert verdicts(document, "sensor.signal-band") == []
    assert verdicts(document, "sensor.offset") == [("stop", "water")]


@pytest.mark.parametrize(
    ("applied", "signal", "expected"),
    [
        # Beyond the tolerance only in the middle nine tenths: 10 to 190 psi of 200 psi.
        ("9.9", "3.70", []),
        ("10.1", "3.70", [("review", "low")]),
        ("189.9", "20.60", [("review", "high")]),
        ("190.1", "20.60", []),
    ],
)
def test_at_the_ends_of_the_range_an_error_may_leave_the_band(applied, signal, expected):
    found = verification("PT-101", 50, GOOD)
    for index in (2, 7):
        found["as_found"][index] |= {"applied": q(applied, "psi"), "signal": q(signal, "mA")}
    assert verdicts(changed(booster(), {AT: found}), "sensor.signal-band") == expected


def test_over_range_applied_on_purpose_is_no_failure():
    found = verification("PT-101", 50, GOOD)
    found["as_found"][4] = {
        "direction": "up",
        "applied": q("210", "psi"),
        "signal": q("20.8", "mA"),
    }
    assert verdicts(changed(booster(), {AT: found}), "sensor.signal-band") == []


# -- a range, a share of span as the signal, one slip of what was applied --------------------------


def of_suction(signals: tuple[str, ...], applied: tuple[str, ...] = (), unit: str = "psi"):
    """PT-100, 0 to 60 psi, verified at 0, 15, 30, 45, 60 psi; nothing was read of a display."""
    values = applied or ("0", "15", "30", "45", "60")
    points = [
        {"direction": "up", "applied": q(value, unit), "signal": q(signal, "mA")}
        for value, signal in zip(values, signals, strict=True)
    ]
    found = {"sensor": "PT-100", "instrument": "I-1", "adjusted": "none", "as_found": points}
    return changed(booster(), {"/event/sensor_verifications/0": found})


def told_of(document) -> list[tuple[str, str]]:
    rules = ("sensor.entry", "sensor.outlier", "sensor.error-as-left", "sensor.offset")
    return [(each.rule, each.variant) for each in judged(document).findings if each.rule in rules]


@pytest.mark.parametrize(
    ("applied", "expected"),
    [
        (("0", "30", "60", "90", "120"), [("sensor.entry", "range")]),  # 0 to 120 psi are set
        # 75.1 psi of 60 are 1.252 times as much; 74.9 are a span that is badly adjusted.
        (("0", "18.775", "37.55", "56.325", "75.1"), [("sensor.entry", "range")]),
        (("0", "18.725", "37.45", "56.175", "74.9"), [("sensor.error-as-left", "outside")]),
        (("0", "30", "60", "80", "120"), [("sensor.error-as-left", "outside")]),  # no line
    ],
)
def test_another_range_is_named(applied, expected):
    signals = ("4.000", "8.000", "12.000", "16.000", "20.000")
    assert told_of(of_suction(signals, applied)) == expected


def test_another_range_is_told_with_both():
    applied = ("0", "30", "60", "90", "120")
    document = of_suction(("4.000", "8.000", "12.000", "16.000", "20.000"), applied)
    (found,) = of_rule(judged(document), "sensor.entry")
    assert found.parameters["range"] == "0 psi to 120 psi"
    assert found.parameters["recorded"] == "0 psi to 60 psi"


def test_a_share_of_span_as_the_signal_is_named():
    document = of_suction(("0", "25.0", "50.0", "75.0", "100.0"))
    assert told_of(document) == [("sensor.entry", "signal_percent")]
    (found,) = of_rule(judged(document), "sensor.entry")
    assert found.parameters["meant"] == "100.0 %"


@pytest.mark.parametrize(
    ("third", "unit", "meant"),
    [
        ("3.0", "psi", "30 psi"),  # the point slipped
        ("206.8", "psi", "206.8 kPa"),  # 29.99 psi
        ("33", "psi", None),  # neither digits nor a unit give 30 psi
    ],
)
def test_one_slip_of_what_was_applied_is_named(third, unit, meant):
    signals = ("4.000", "8.000", "12.000", "16.000", "20.000")
    document = of_suction(signals, ("0", "15", third, "45", "60"), unit)
    found = told_of(document)
    if meant is None:
        assert found == [("sensor.error-as-left", "outside")]
        return
    assert found == [("sensor.outlier", "applied")]
    (finding,) = of_rule(judged(document), "sensor.outlier")
    assert finding.parameters["meant"] == meant


def test_one_slip_is_told_once():
    """100 kPa are 14.50 psi, where 12.02 mA of 200 psi are 100.2 psi: 42.9 % of span too much."""
    document = changed(booster(), {f"{AT}/as_found/2/applied": q("100", "kPa")})
    judgement = judged(document)
    told = [each.rule for each in judgement.findings if each.rule.startswith("sensor.")]
    assert told == ["sensor.outlier"]
    (waiting,) = [
        each for each in lacking(judgement, "sensor.error-as-found") if each.subject == AT
    ]
    assert waiting.waits_for == "sensor.outlier"
    accepted = [("sensor.outlier", f"{AT}/as_found/2")]
    found = of_rule(judged(document, accepted=accepted), "sensor.error-as-found")
    assert [each.severity for each in found] == ["note"]


def test_a_slip_as_found_is_named_beside_a_good_check_as_left():
    """The sensor was adjusted since: nobody can take the point again."""
    document = changed(booster(), {f"{AT}/as_found/2/applied": q("100", "kPa")})
    good = booster()["event"]["sensor_verifications"][0]["as_found"]
    document = changed(document, {f"{AT}/as_left": good, f"{AT}/adjusted": "zero"})
    (found,) = of_rule(judged(document), "sensor.outlier")
    assert (found.subject, found.parameters["meant"]) == (f"{AT}/as_found/2", "100 psi")
    assert "cannot be read as it was found any more" in finding_document(found, "")["remedy"]
    assert of_rule(judged(document), "sensor.error-as-found") == []


@pytest.mark.parametrize(
    ("applied", "signal", "expected"),
    [
        # 100 bar are 1450 psi, 120 mA, which no transmitter gives: the unit was another.
        (q("100", "bar"), "12.02", "applied"),
        # A tenth beyond the range of 200 psi are 220 psi, 21.6 mA.
        (q("219.0", "psi"), "12.52", "digits"),  # 21.52 mA
        (q("221.5", "psi"), "12.72", None),  # 21.72 mA
    ],
)
def test_no_signal_is_read_otherwise_for_a_value_that_nobody_applies(applied, signal, expected):
    at = f"{AT}/as_found/2"
    document = changed(booster(), {f"{at}/applied": applied, f"{at}/signal": q(signal, "mA")})
    found = of_rule(judged(document), "sensor.outlier")
    assert [each.variant for each in found] == ([expected] if expected else [])
