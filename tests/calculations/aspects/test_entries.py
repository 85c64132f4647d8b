"""One slip of writing that explains all readings of a verification.

PT-101: 0 to 200 psi, 4-20 mA, tolerance 0.5 % of span. 1 psi = 0.06894757 bar = 2.30666 ftH2O
(NIST SP 811:2008, appendix B.8); the signals stand for 0, 50, 100, 150 and 200 psi, 0.125 % high
at most.
"""

import pytest

from calculations.aspects import entries
from calculations.catalogue import rule
from tests.calculations.building import booster, case, changed, judged, of_rule, serious, verdicts
from tests.calculations.building_event import verification
from tests.calculations.building_plates import Document, q

RULE = "sensor.entry"
AT = "/event/sensor_verifications/0"
PSI = ("0", "50", "100", "150", "200")
SIGNALS = ("4.010", "8.015", "12.020", "16.010", "20.010")


def points(ways=("up", "down"), **columns: list[Document]) -> list[Document]:
    """Rising and falling, the columns read from the lowest input up."""
    rows = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
    order = {"up": rows, "down": rows[::-1]}
    return [{"direction": way} | row for way in ways for row in order[way]]


def of(values, unit):
    return [q(value, unit) for value in values]


def verified(found: list[Document], **more: object) -> Document:
    given = verification("PT-101", 50, SIGNALS) | {"as_found": found} | more
    return changed(booster(), {AT: given})


SENT = {"signal": of(SIGNALS, "mA")}
AS_SHOWN = {"applied": of(PSI, "psi")}


def shown(values, unit="psi"):
    display = ["transmitter"] * len(values)
    return points(**AS_SHOWN, indicated=of(values, unit), indicated_at=display)


SLIPS = {
    # 100 psi = 6.89 bar = 230.7 ftH2O, entered as psi.
    "unit_applied bar": points(applied=of(("0", "3.447", "6.895", "10.342", "13.790"), "psi"),
                               **SENT),
    "unit_applied ftH2O": points(applied=of(("0", "115.3", "230.7", "346.0", "461.3"), "psi"),
                                 **SENT),
    "applied_signal mA": points(applied=of(("4", "8", "12", "16", "20"), "psi"), **SENT),
    "applied_percent %": points(applied=of(("0", "25", "50", "75", "100"), "psi"), **SENT),
    "unit_indicated bar": shown(("0", "3.447", "6.895", "10.342", "13.790")),
    "signal mA": shown(SIGNALS),
    "percent %": shown(("0.0", "25.0", "50.0", "75.0", "100.0")),
}  # fmt: skip


@pytest.mark.parametrize("name", SLIPS)
def test_one_slip_is_named_alone_and_the_sensor_left_in_peace(name):
    variant, unit = name.split()
    judgement = judged(verified(SLIPS[name]))
    assert serious(judgement) == [(RULE, "review")]
    [found] = of_rule(judgement, RULE)
    assert (found.variant, found.parameters["unit"]) == (variant, unit)
    assert "adjust nothing" in rule(RULE).remedy(found)
    waiting = {each.rule for each in judgement.not_evaluated if each.waits_for == RULE}
    assert waiting >= {"sensor.error-as-found", "sensor.error-as-left", "sensor.offset"}


@pytest.mark.parametrize(("way", "variant"), [("down", "falling"), ("up", "rising")])
def test_a_column_written_down_from_its_other_end(way, variant):
    right = points(("down",) if way == "up" else ("up",), **AS_SHOWN, **SENT)
    turned = points((way,), **AS_SHOWN, signal=of(SIGNALS[::-1], "mA"))
    judgement = judged(verified([*right, *turned]))
    assert serious(judgement) == [(RULE, "review")]
    [found] = of_rule(judgement, RULE)
    assert found.variant == variant
    assert "inverted" not in rule(RULE).sentence(found)
    assert "direction" not in rule(RULE).remedy(found)


@pytest.mark.parametrize("way", ["down", "up"])
def test_in_one_direction_alone_an_inverted_output_reads_the_same(way):
    """20 mA at 0 psi and 4 mA at 200 psi: a column turned round, or a sensor that is."""
    turned = points((way,), **AS_SHOWN, signal=of(SIGNALS[::-1], "mA"))
    [found] = of_rule(judged(verified(turned)), RULE)
    assert rule(RULE).sentence(found).endswith(", or the output of the sensor is inverted.")
    assert rule(RULE).remedy(found).endswith("set the direction of the sensor's output.")


def test_readings_of_another_sensor_of_the_set():
    """PT-100 has 0 to 60 psi; its readings, 0 to 60 psi over 4 to 20 mA, under PT-101."""
    low, high = (booster()["sensors"][1][f"{end}_range_value"] for end in ("lower", "upper"))
    assert (low["value"], high["value"], high["unit"]) == ("0", "60", "psi")
    applied = of(("0", "15", "30", "45", "60"), "psi")
    judgement = judged(verified(points(applied=applied, **SENT)))
    assert serious(judgement) == [(RULE, "review")]
    [found] = of_rule(judgement, RULE)
    assert (found.variant, found.parameters["meant"]) == ("other", "PT-100")
    assert found.parameters["range"] == "0 psi to 60 psi"


def test_readings_of_another_sensor_whose_span_is_wider():
    """0.25 % of 200 psi are 0.8 % of the 60 psi of PT-100: a tolerance belongs to its sensor."""
    signals = of(("4.040", "8.040", "12.040", "16.040", "20.040"), "mA")
    given = verification("PT-100", 50, SIGNALS)
    given |= {"as_found": points(**AS_SHOWN, signal=signals)}
    judgement = judged(changed(booster(), {"/event/sensor_verifications/1": given}))
    assert serious(judgement) == [(RULE, "review")]
    assert of_rule(judgement, RULE)[0].parameters["meant"] == "PT-101"


@pytest.mark.parametrize(
    "signals",
    [
        ("4.000", "8.160", "12.320", "16.480", "20.640"),  # the span 4 % wide: no unit
        ("4.400", "8.400", "12.400", "16.400", "20.400"),  # the zero 2.5 % high
        ("4.000", "8.000", "12.000", "16.000", "20.200"),  # the top alone
        ("4.000",) * 5,  # dead: 200 Pa are as good as nothing
        ("12.000",) * 5,
        SIGNALS,
    ],
)
def test_what_no_slip_explains_is_the_sensors_own(signals):
    found = points(**AS_SHOWN, signal=of(signals, "mA"))
    assert verdicts(verified(found), RULE) == []


def test_a_transmitter_that_reads_low_still_stops():
    """3 % of span low at the top of what the drive is regulated on."""
    found = points(**AS_SHOWN, signal=of(("4.000", "7.880", "11.760", "15.640", "19.520"), "mA"))
    assert verdicts(verified(found), "sensor.error-as-left") == [("stop", "low")]


def test_the_lowest_reading_is_told_of_what_reads_low():
    """+4 % at 0 and -3 % at the top: what the drive makes up for is at the top."""
    found = points(**AS_SHOWN, signal=of(("4.640", "8.300", "12.000", "15.750", "19.520"), "mA"))
    [told] = of_rule(judged(verified(found)), "sensor.error-as-left")
    assert (told.variant, told.parameters["error"]) == ("low", "-3 %")


@pytest.mark.parametrize(("times", "expected"), [("1.000", []), ("0.9807", ["unit_applied"])])
def test_a_unit_two_percent_off_has_to_fit_closely(times, expected):
    """1 kgf/cm2 = 0.980665 bar: a span 2 % wide could be the sensor's, and is asked first."""
    document = changed(booster(), {
        "/sensors/0/lower_range_value": q("0", "bar"),
        "/sensors/0/upper_range_value": q("14", "bar"),
    })  # fmt: skip
    bar = [0, 3.5, 7, 10.5, 14]
    applied = of([f"{each / float(times):.3f}" for each in bar], "bar")
    signals = of([f"{4 + 16 * each / 14:.3f}" for each in bar], "mA")
    given = verification("PT-101", 50, SIGNALS)
    given |= {"as_found": points(applied=applied, signal=signals)}
    found = of_rule(judged(changed(document, {AT: given})), RULE)
    assert [each.variant for each in found] == expected
    assert all(each.parameters["unit"] == "kgf/cm2" for each in found)


def test_a_range_that_the_drive_contradicts_is_told_first():
    """PT-101 registered with 0 to 200 bar, scaled 0 to 200 psi: its readings in psi fit those."""
    wrong = {"/sensors/0/lower_range_value": q("0", "bar"),
             "/sensors/0/upper_range_value": q("200", "bar")}  # fmt: skip
    document = changed(verified(points(**AS_SHOWN, **SENT)), wrong)
    judgement = judged(document)
    assert of_rule(judgement, RULE) == []
    assert of_rule(judgement, "loop.scaling")
    [waits] = [e for e in judgement.not_evaluated if e.rule == RULE and e.subject == AT]
    assert waits.waits_for == "loop.scaling"


def test_columns_in_two_units_are_no_one_slip():
    written = SLIPS["unit_applied bar"]
    for index in (0, -1):  # nothing is nothing in any unit, and yet it was written in another
        mixed = [*written]
        mixed[index] = mixed[index] | {"applied": q("0", "bar")}
        assert verdicts(verified(mixed), RULE) == []


def test_one_reading_alone_fits_too_much():
    alone = [each for each in SLIPS["unit_applied bar"] if each["applied"]["value"] == "13.790"]
    assert slip(alone) is None


@pytest.mark.parametrize(("low", "expected"), [("13.110", None), ("13.099", "unit_applied")])
def test_two_inputs_have_to_lie_apart(low, expected):
    """In bar under psi: 13.110 bar are 190.15 psi, 13.099 bar 189.99 psi; 5 % of span is 10 psi."""
    near = points(applied=of((low, "13.790"), "psi"), signal=of(("19.205", "20.005"), "mA"))
    assert slip(near) == expected


# -- how closely a slip has to fit ----------------------------------------------------------------


def slip(found: list[Document], also: Document | None = None) -> str | None:
    """The kind of the one slip that explains these readings."""
    document = changed(verified(found), also or {})
    told = entries.slip(case(document), AT, "as_found")
    return told and told.kind


def sent(percent: float) -> list[Document]:
    """The signals of five points, off by so much of span."""
    return of([f"{4 + 4 * index + 0.16 * percent:.4f}" for index in range(5)], "mA")


CLOSELY = {
    "unit_applied": ("0", "3.4474", "6.8948", "10.3421", "13.7895"),  # bar
    "applied_signal": ("4.0000", "8.0000", "12.0000", "16.0000", "20.0000"),
    "applied_percent": ("0.0000", "25.0000", "50.0000", "75.0000", "100.0000"),
}


@pytest.mark.parametrize("kind", CLOSELY)
@pytest.mark.parametrize(("percent", "fits"), [(0.48, True), (-0.48, True), (0.52, False)])
def test_a_slip_has_to_leave_readings_inside_the_tolerance(kind, percent, fits):
    """Half a percent of span is the tolerance; the last digits are granted 0.001 % of span.

    Beyond it all that they fit is a range of its own, from a zero that is as far off.
    """
    found = points(applied=of(CLOSELY[kind], "psi"), signal=sent(percent))
    assert slip(found) == (kind if fits else "range")


@pytest.mark.parametrize(("percent", "fits"), [(0.48, True), (0.52, False)])
def test_a_column_turned_round_has_to_fit_as_well(percent, fits):
    turned = points(("down",), applied=of(PSI, "psi"), signal=sent(percent)[::-1])
    assert slip(turned) == ("falling" if fits else None)


def in_bar(times: float) -> Document:
    """PT-101 with a range of 0 to 14 bar, and what is applied as `times` what it reads."""
    ends = {"/sensors/0/lower_range_value": q("0", "bar"),
            "/sensors/0/upper_range_value": q("14", "bar")}  # fmt: skip
    return ends | {
        f"{AT}/as_found/{index}/applied": q(f"{3.5 * index / times:.5f}", "bar")
        for index in range(5)
    }


@pytest.mark.parametrize(
    ("times", "percent", "expected"),
    [
        (0.980665, 0.24, "unit_applied"),  # kgf/cm2, within half the tolerance
        (0.980665, 0.26, None),
        (0.06894757, 0.48, "unit_applied"),  # psi, within all of it
    ],
)
def test_a_unit_that_is_nearly_the_one_entered_has_to_fit_twice_as_well(times, percent, expected):
    found = points(("up",), applied=of(PSI, "bar"), signal=sent(percent))
    assert slip(found, in_bar(times)) == expected


@pytest.mark.parametrize(("signal", "expected"), [("12.1", "unit_applied"), ("12.3", None)])
def test_digits_that_were_not_read_are_granted(signal, expected):
    """12.1 mA are 101.25 psi of 100 psi: 1 psi is the tolerance, 0.05 mA are 0.625 psi."""
    rough = of(("4.0", "8.0", signal, "16.0", "20.0"), "mA")
    assert slip(points(applied=of(CLOSELY["unit_applied"], "psi"), signal=rough)) == expected


@pytest.mark.parametrize(("inputs", "expected"), [(2, None), (3, "falling")])
def test_a_direction_of_two_inputs_is_not_turned_round(inputs, expected):
    """What rises is right; what falls is turned, at 0 and 200 psi or at 100 psi besides."""
    kept = [0, 4] if inputs == 2 else [0, 2, 4]
    falling = points(("down",), applied=of([PSI[each] for each in kept], "psi"),
                     signal=of([SIGNALS[each] for each in kept[::-1]], "mA"))  # fmt: skip
    assert slip([*points(("up",), **AS_SHOWN, **SENT), *falling]) == expected


# -- readings of another sensor -------------------------------------------------------------------

OF_SUCTION = of(("0", "15", "30", "45", "60"), "psi")
"""What PT-100 reads over its span."""


def as_suction(percent: float, also: Document) -> str | None:
    return slip(points(applied=OF_SUCTION, signal=sent(percent)), also)


@pytest.mark.parametrize(
    ("changes", "percent", "expected"),
    [
        ({}, 0.48, "other"),
        ({}, 0.52, "range"),
        ({"/sensors/1/tolerance_percent_of_span": q("0.25", "%")}, 0.26, "range"),
        ({"/sensors/1/tolerance_percent_of_span": None}, 0.0, "other"),
        ({"/sensors/1/tolerance_percent_of_span": None}, 0.02, "range"),
        ({"/sensors/1/output": "0-20 mA"}, 0.0, "range"),
        ({"/sensors/1/upper_range_value": None}, 0.0, "range"),
    ],
)
def test_another_sensor_has_to_fit_as_well_as_it_may_be_off(changes, percent, expected):
    assert as_suction(percent, changes) == expected


@pytest.mark.parametrize(("upper", "expected"), [("200", None), ("201", None), ("201.1", "other")])
def test_a_range_alike_explains_nothing(upper, expected):
    """Only its tolerance of 2 % would: 0.7 % are beyond the 0.5 % of PT-101, 1 psi of 200 psi."""
    alike = {"/sensors/1/upper_range_value": q(upper, "psi"),
             "/sensors/1/tolerance_percent_of_span": q("2", "%")}  # fmt: skip
    assert slip(points(**AS_SHOWN, signal=sent(0.7)), alike) == expected


@pytest.mark.parametrize(
    "first",
    [{"quantity": "differential_pressure"}, {"output": "0-20 mA"}, {"upper_range_value": None}],
)
def test_sensors_that_cannot_be_meant_hide_no_other(first):
    """PT-100 comes last, behind PT-101 and one of another kind or of an unknown range."""
    sensors = booster()["sensors"]
    between = sensors[1] | {"tag": "PT-99", "serial": "S-99"} | first
    also = {"/sensors": [sensors[0], between, sensors[1]]}
    assert as_suction(0.0, also) == "other"


def test_found_in_another_unit_and_left_right():
    """The slip stands in what was found alone: as left it is judged."""
    left = points(**AS_SHOWN, **SENT)
    document = verified(SLIPS["unit_applied bar"], adjusted="zero", as_left=left)
    judgement = judged(document)
    [found] = of_rule(judgement, RULE)
    assert found.subject == f"{AT}/as_found"
    waits = {each.rule: each.waits_for for each in judgement.not_evaluated}
    assert waits.get("sensor.error-as-found") == RULE
    assert waits.get("sensor.error-as-left") != RULE


def test_who_says_that_the_readings_are_right_has_the_sensor_judged():
    document = verified(SLIPS["unit_applied bar"])
    accepted = judged(document, accepted={(RULE, f"{AT}/as_found")})
    assert serious(accepted) == [(RULE, "review"), ("sensor.error-as-left", "review")]


@pytest.mark.parametrize(("signal", "kind"), [("12.08", "unit_applied"), ("12.09", None)])
def test_the_digits_of_a_reading_are_granted_once(signal, kind):
    """12.08 mA are 101.0 psi, 12.09 mA 101.125; where 100 psi were applied 0.5 % of 200 psi and
    half of 0.01 mA, 0.0625 psi, are allowed: 1.063 psi."""
    bars = of(("0", "3.447", "6.895", "10.342", "13.790"), "psi")
    sent = of(("4.00", "8.00", signal, "16.00", "20.00"), "mA")
    found = entries.slip(case(verified(points(applied=bars, signal=sent))), AT, "as_found")
    assert (found and found.kind) == kind


def test_a_narrow_range_far_from_zero_is_told_by_digits_that_tell_its_ends_apart():
    """0.1 psi make 2.667 mA of 16 where the range is 0.6 psi wide, not 0.4 as recorded."""
    applied = of(("10000.0", "10000.1", "10000.2", "10000.3", "10000.4"), "psi")
    signals = of(("4.0000", "6.6667", "9.3333", "12.0000", "14.6667"), "mA")
    ends = {
        "/sensors/0/lower_range_value": q("10000.0", "psi"),
        "/sensors/0/upper_range_value": q("10000.4", "psi"),
    }
    judgement = judged(changed(verified(points(applied=applied, signal=signals)), ends))
    [found] = of_rule(judgement, RULE)
    assert (found.variant, found.parameters["range"]) == ("range", "10000 psi to 10000.6 psi")


WIDE = of(("0", "75", "150", "225", "300"), "psi")
"""0 to 300 psi are set, and 0 to 200 psi recorded: at 150 psi the drive shows 100."""


def wide(at: str | None, readings: tuple[str, ...] = PSI, **more: object) -> Document:
    display = of(readings, "psi")
    found = points(applied=WIDE, **SENT, indicated=display, indicated_at=[at] * 5)
    return verified(found, **more)


@pytest.mark.parametrize(
    ("document", "expected"),
    [
        # The drive itself shows a third less than the pressure that stands there.
        (wide("drive"), [("stop", "range_low")]),
        # What another display shows need not be what the drive regulates on.
        (wide("transmitter"), [("review", "range")]),
        (wide(None), [("review", "range")]),
        # The drive is scaled by the range that is set: the record of the sensor alone is wrong.
        (wide("drive", ("0", "75", "150", "225", "300")), [("review", "range")]),
        # 2 % of 200 psi, and what the calibrator leaves open, are allowed to a sensor as left.
        (wide("drive", ("0", "75", "150", "225", "296")), [("review", "range")]),
        (wide("drive", ("0", "75", "150", "225", "293")), [("stop", "range_low")]),
        # What was put right since is not what is handed over.
        (
            wide("drive", adjusted="span", as_left=points(**AS_SHOWN, **SENT)),
            [("review", "range")],
        ),
    ],
)
def test_a_drive_that_shows_less_than_there_is(document, expected):
    """Stop only where the display of the drive proves it; limits as of what is left reading low."""
    assert verdicts(document, RULE) == expected


def test_where_another_regulates_the_display_moves_nothing():
    outside = {"/event/settings/as_left/regulation": "speed_from_external_controller"}
    assert verdicts(changed(wide("drive"), outside), RULE) == [("review", "range")]


@pytest.mark.parametrize("adjusted", ["span", "unknown", None])
def test_how_it_was_left_is_not_known_after_an_adjustment(adjusted):
    assert verdicts(wide("drive", adjusted=adjusted), RULE) == [("review", "range")]


def test_a_drive_that_shows_more_than_there_is_raises_no_pressure():
    narrow = of(("0", "30", "60", "90", "120"), "psi")
    display = {"indicated": of(PSI, "psi"), "indicated_at": ["drive"] * 5}
    document = verified(points(applied=narrow, **SENT, **display))
    assert verdicts(document, RULE) == [("review", "range")]


def test_what_the_drive_shows_is_told():
    [found] = of_rule(judged(wide("drive")), RULE)
    assert "the drive, which is regulated on it, shows -50" in rule(RULE).sentence(found)
