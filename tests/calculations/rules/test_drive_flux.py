"""Volts per hertz, frequency and voltage as set; flux goes with V / f (law of induction)."""

import pytest

from calculations.judging import finding_document
from calculations.rules.drive_voltage import MOTOR_VOLTAGE
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document
from tests.calculations.stations import LEFT, eighty_seven_hertz, settings

FLUX = "drive.volts-per-hertz"
FREQUENCY = "drive.motor-frequency"
VOLTAGE = "drive.motor-voltage"


def left(**values: Document | str) -> Document:
    """The booster with other settings."""
    return changed(booster(), settings(values))


# -- volts per hertz ----------------------------------------------------------------------------


def rated(voltage: str, frequency: str, **chosen: Document) -> Document:
    """A motor of one rating, and the drive set for another voltage or frequency."""
    rating = {"voltage": q(voltage, "V"), "frequency": q(frequency, "Hz")}
    document: Document = {
        "motor": {"kind": "induction", "poles": 4, "ratings": [rating]},
        "drive": {},
        "event": {"settings": {"as_left": {}}},
    }
    base = {"motor_voltage": q(voltage, "V"), "motor_frequency": q(frequency, "Hz")}
    return changed(document, settings(base | chosen))


@pytest.mark.parametrize(
    ("voltage", "frequency", "set_frequency", "deviation"),
    [
        ("460", "60", "50", "+20 %"),  # M16a: flux 120 %
        ("400", "50", "60", "-16.7 %"),  # M16b: flux 83.33 %
        ("230", "60", "50", "+20 %"),  # M16c
        ("380", "50", "60", "-16.7 %"),  # M16d
    ],
)
def test_the_other_mains_frequency(
    voltage: str, frequency: str, set_frequency: str, deviation: str
) -> None:
    document = rated(voltage, frequency, motor_frequency=q(set_frequency, "Hz"))
    (found,) = of_rule(judged(document), FLUX)
    assert (found.severity, found.variant) == ("stop", "mains")
    assert found.parameters["deviation"] == deviation


@pytest.mark.parametrize(
    ("volts", "effect"), [("440", "saturates the motor"), ("360", "takes torque from the motor")]
)
def test_what_too_much_and_too_little_flux_do(volts: str, effect: str) -> None:
    """The flux goes with V / f, the torque with the flux: law of induction."""
    (found,) = of_rule(judged(rated("400", "50", motor_voltage=q(volts, "V"))), FLUX)
    assert found.parameters["effect"] == effect


@pytest.mark.parametrize(
    ("chosen", "severity"),
    [
        ("400", []),
        ("421", []),  # +5.25 %, less 0.25 % of rounding: 0.5 V on 400 V and on 421 V
        ("422", ["review"]),  # +5.5 %
        ("380", []),  # -5.0 %
        ("378", ["review"]),  # -5.5 %
        ("440", ["review"]),  # +10.0 %
        ("442", ["stop"]),  # +10.5 %
        ("358", ["stop"]),  # -10.5 %
    ],
)
def test_boundaries_of_volts_per_hertz(chosen: str, severity: list[str]) -> None:
    document = rated("400", "50", motor_voltage=q(chosen, "V"))
    assert [each for each, _ in verdicts(document, FLUX)] == severity


def test_the_other_column_of_the_plate_is_named() -> None:
    (found,) = of_rule(judged(left(motor_voltage=q("230", "V"))), FLUX)
    assert (found.severity, found.variant) == ("stop", "column")
    assert found.parameters["column"] == "230 V 60 Hz"


def test_without_a_frequency_current_power_and_speed_are_judged_all_the_same() -> None:
    judgement = judged(without(booster(), f"{LEFT}/motor_frequency"))
    assert lacking(judgement, FLUX)
    for name in ("power", "current", "speed", "power-factor"):
        assert lacking(judgement, f"drive.motor-{name}") == []


def on_a_supply_of(volts: str, **values: Document | str) -> Document:
    """The booster's motor, linked for 460 V, on another supply."""
    lines = [q(volts, "V")] * 3
    changes = {"/site/supply_nominal_voltage": q(volts, "V"), "/event/supply/line_voltages": lines}
    return changed(left(**values), changes)


def test_a_rating_beyond_the_supply_is_put_right_at_the_links() -> None:
    """A drive gives no more than it gets (derived): on 240 V nobody can set 460 V."""
    (found,) = of_rule(judged(on_a_supply_of("240", motor_voltage=q("230", "V"))), FLUX)
    assert (found.severity, found.variant) == ("stop", "links")
    remedy = finding_document(found, "1")["remedy"]
    assert "link the winding in parallel star for 230 V 60 Hz" in remedy
    assert "460 V" not in remedy


def test_a_rating_beyond_the_supply_without_another_on_the_plate() -> None:
    document = on_a_supply_of("240", motor_voltage=q("208", "V"))
    (found,) = of_rule(judged(document), FLUX)
    assert (found.severity, found.variant) == ("stop", "supply")
    assert "460 V" not in finding_document(found, "1")["remedy"]


def test_before_a_transformer_no_current_of_the_plate_is_asked_of_the_drive() -> None:
    """460 V and 68.7 A of the plate behind 1 : 2 are 230 V and 137 A at the drive, by hand.

    To set the plate's 68.7 A there would halve what the motor may draw.
    """
    document = on_a_supply_of("240", motor_voltage=q("208", "V"), motor_current=q("137", "A"))
    judgement = judged(document)
    assert of_rule(judgement, "drive.motor-current") == []
    (waiting,) = lacking(judgement, "drive.motor-current")
    assert waiting.waits_for == FLUX
    remedy = finding_document(of_rule(judgement, FLUX)[0], "1")["remedy"]
    assert "Where a transformer steps the voltage up behind the drive" in remedy


@pytest.mark.parametrize(
    ("volts", "variant"), [("413", "links"), ("414", "column"), ("480", "column")]
)
def test_a_rating_that_the_supply_can_feed_is_to_be_set(volts: str, variant: str) -> None:
    """0.9 x 460 V = 414 V: a motor runs at 10 % less than its own, NEMA MG 1-2011 12.44.1."""
    document = on_a_supply_of(volts, motor_voltage=q("230", "V"))
    assert verdicts(document, FLUX) == [("stop", variant)]


def test_a_drive_on_one_phase_may_give_more_than_it_gets() -> None:
    """With a doubler, whose link was read at 1.35 x 2 x 240 V: common practice, no source."""
    document = changed(
        on_a_supply_of("240", motor_voltage=q("230", "V")),
        {"/site/supply_phases": 1, "/event/supply/line_voltages": [q("240", "V")],
         "/event/supply/dc_bus_voltage": q("648", "V")},
    )  # fmt: skip
    assert verdicts(document, FLUX) == [("stop", "column")]
    # 2 x 207 V are 0.9 x 460 V of the motor: with less no doubler gives that.
    for volts, variant in (("207", "column"), ("206", "links")):
        less = changed(document, {"/site/supply_nominal_voltage": q(volts, "V"),
                                  "/event/supply/line_voltages": [q(volts, "V")]})  # fmt: skip
        assert verdicts(less, FLUX) == [("stop", variant)]


@pytest.mark.parametrize(
    ("volts", "phases", "expected"),
    [
        ("240", 3, [("review", "links")]),  # 230 V of the plate
        ("208", 3, [("review", "links")]),  # 10 % less than the 230 V are 207 V
        ("206", 3, [("note", "above_supply")]),
        ("418", 3, [("note", "above_supply")]),  # no other rating fits
        ("240", 1, [("note", "doubled")]),  # its output was read at 447 V
        ("480", 3, []),
    ],
)
def test_linked_set_and_recorded_for_more_than_the_supply(
    volts: str, phases: int, expected: list[tuple[str, str]]
) -> None:
    """230/460 V linked for 460 V: everything agrees, and the drive has 240 V to give (derived)."""
    document = changed(on_a_supply_of(volts), {"/site/supply_phases": phases})
    assert verdicts(document, VOLTAGE) == expected


@pytest.mark.parametrize(
    ("volts", "expected"),
    [
        ("240", [("note", "doubled")]),
        ("219", [("note", "doubled")]),  # 460 V are 5.0 % above twice as much
        ("218", [("note", "above_supply")]),  # 5.5 %
    ],
)
def test_a_motor_for_one_voltage_on_one_phase_has_a_drive_that_doubles(volts, expected) -> None:
    """Nothing else could feed it (derived)."""
    document = changed(on_a_supply_of(volts), {"/site/supply_phases": 1})
    alone = [document["motor"]["ratings"][1]]
    alone_on_it = {"/motor/ratings": alone, "/motor/rating_in_use": 0}
    assert verdicts(changed(document, alone_on_it), VOLTAGE) == expected


@pytest.mark.parametrize(
    ("reading", "expected"),
    [
        # A link of 1.35 x 240 V; with a rectifier that feeds back up to 2.1 x 240 V = 504 V.
        ({"/event/supply/dc_bus_voltage": q("324", "V")}, [("review", "links")]),
        ({"/event/supply/dc_bus_voltage": q("504", "V")}, [("review", "links")]),
        ({"/event/supply/dc_bus_voltage": q("505", "V")}, [("note", "doubled")]),
        # A meter may read 130 % of 240 V = 312 V off pulses.
        ({"/event/duty_points/0/voltages_drive_output": [q("312", "V")]}, [("review", "links")]),
        ({"/event/duty_points/0/voltages_drive_output": [q("313", "V")]}, [("note", "doubled")]),
        ({"/event/duty_points/0/voltages_drive_display": [q("400", "V")]}, [("note", "doubled")]),
    ],
)
def test_what_was_read_shows_a_drive_that_doubles(reading, expected) -> None:
    bare = {f"/event/duty_points/{index}/voltages_drive_{where}": None
            for index in range(3) for where in ("output", "display")}  # fmt: skip
    document = changed(on_a_supply_of("240"), {"/site/supply_phases": 1} | bare)
    assert verdicts(changed(document, reading), VOLTAGE) == expected


def test_230_v_in_delta_and_400_v_in_star_on_one_phase_of_230_v() -> None:
    """Linked in star it has (230 / 400)^2 = 33.1 % of its pull-out torque at 50 Hz.

    77 A at 460 V are 88.6 A at 400 V, and 154 A at 230 V, for the same power.
    """
    plate = booster()["motor"]["ratings"][1] | {
        "frequency": q("50", "Hz"),
        "speed": q("1475", "rpm"),
    }
    delta, star = (
        plate | {"voltage": q(volts, "V"), "connection": link, "current": q(amperes, "A")}
        for volts, link, amperes in (("230", "delta", "154"), ("400", "star", "88.6"))
    )
    unread = {f"/event/duty_points/{index}/voltages_drive_output": None for index in range(3)}
    document = changed(
        on_a_supply_of("230", motor_voltage=q("400", "V"), motor_frequency=q("50", "Hz")),
        {"/motor/ratings": [delta, star], "/motor/rating_in_use": 1, "/site/supply_phases": 1,
         "/event/supply/line_voltages": [q("230", "V")]} | unread,
    )  # fmt: skip
    (found,) = of_rule(judged(document), VOLTAGE)
    assert (found.severity, found.variant, found.parameters["torque"]) == (
        "review",
        "links",
        "33.1 %",
    )


def test_how_to_link_it_is_told() -> None:
    (found,) = of_rule(judged(on_a_supply_of("240")), VOLTAGE)
    assert "in parallel star for 230 V 60 Hz" in str(finding_document(found, "")["remedy"])


def test_swapped_digits_are_named() -> None:
    # 640 V for 460 V: +39 %
    (found,) = of_rule(judged(left(motor_voltage=q("640", "V"))), FLUX)
    assert (found.variant, found.parameters["column"]) == ("digits", "460 V")


def test_a_plate_with_a_range_of_voltages() -> None:
    document = changed(rated("380", "50"), {"/motor/ratings/0/voltage_upper": q("420", "V")})
    for voltage in ("380", "400", "420", "436"):  # 436 V is 3.8 % above the upper end
        chosen = changed(document, {f"{LEFT}/motor_voltage": q(voltage, "V")})
        assert verdicts(chosen, FLUX) == []
    chosen = changed(document, {f"{LEFT}/motor_voltage": q("444", "V")})  # 5.7 % above it
    assert verdicts(chosen, FLUX) == [("review", "plain")]


def test_480_v_60_hz_is_the_flux_of_400_v_50_hz() -> None:
    # Both are 8.0 V/Hz: the flux is right, and the frequency is told instead.
    document = rated("400", "50", motor_voltage=q("480", "V"), motor_frequency=q("60", "Hz"))
    assert verdicts(document, FLUX) == []
    (found,) = of_rule(judged(document), FREQUENCY)
    assert (found.severity, found.variant) == ("review", "stretched")
    # 480 V at 50 Hz would be 9.6 V/Hz: both have to be set.
    assert "50 Hz with motor voltage 400 V" in finding_document(found, "")["remedy"]
    (waiting,) = lacking(judged(document), VOLTAGE)
    assert waiting.waits_for == FREQUENCY


def test_87_hz_on_purpose_is_silent_and_without_purpose_is_asked() -> None:
    clean = eighty_seven_hertz()
    for rule in (FLUX, FREQUENCY, VOLTAGE):
        assert verdicts(clean, rule) == []
    unsaid = changed(clean, {"/motor/extended_constant_torque": False})
    assert verdicts(unsaid, FLUX) == []
    assert verdicts(unsaid, FREQUENCY) == [("review", "stretched")]


def test_87_hz_with_the_voltage_of_50_hz_is_told() -> None:
    # 230 V at 87 Hz: 2.64 V/Hz instead of 4.60
    document = changed(eighty_seven_hertz(), {f"{LEFT}/motor_voltage": q("230", "V")})
    assert [each for each, _ in verdicts(document, FLUX)] == ["stop"]


def test_an_extended_motor_may_still_be_set_as_rated() -> None:
    chosen = {
        "motor_voltage": q("230", "V"), "motor_frequency": q("50", "Hz"),
        "motor_power": q("22", "kW"), "motor_speed": q("1470", "rpm"),
    }  # fmt: skip
    document = changed(eighty_seven_hertz(), settings(chosen))
    judgement = judged(document)
    for rule in (FLUX, FREQUENCY, VOLTAGE, "drive.motor-power", "drive.motor-speed"):
        assert of_rule(judgement, rule) == []
        assert lacking(judgement, rule) == []


def test_volts_per_hertz_wait_for_the_plate() -> None:
    document = changed(booster(), {"/motor/ratings/1/frequency": q("50", "Hz")})
    (waiting,) = lacking(judged(document), FLUX)
    assert waiting.waits_for == "motor.slip"


def test_missing_settings_are_named() -> None:
    document = without(booster(), f"{LEFT}/motor_voltage", f"{LEFT}/motor_frequency")
    (missing,) = lacking(judged(document), FLUX)
    assert missing.needs == (f"{LEFT}/motor_voltage", f"{LEFT}/motor_frequency")


def test_a_fixed_speed_set_has_no_drive_to_judge() -> None:
    document = changed(without(booster(), "/drive", "/event/settings"), {"/pump_set/drive": None})
    judgement = judged(document)
    for rule in ("drive.motor-kind", FLUX, FREQUENCY, VOLTAGE, "drive.rated-current"):
        assert of_rule(judgement, rule) == []
        assert lacking(judgement, rule) == []


# -- frequency and voltage ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("voltage", "frequency", "fires"),
    [
        ("420", "52.5", False),  # 8.0 V/Hz, +5.0 %
        ("424", "53", True),  # 8.0 V/Hz, +6.0 %
        ("376", "47", True),  # 8.0 V/Hz, -6.0 %
    ],
)
def test_boundary_of_the_frequency(voltage: str, frequency: str, fires: bool) -> None:
    document = rated("400", "50", motor_voltage=q(voltage, "V"), motor_frequency=q(frequency, "Hz"))
    assert bool(verdicts(document, FREQUENCY)) is fires


def test_the_column_of_the_other_mains_is_named() -> None:
    plate = changed(
        rated("400", "50"),
        {
            "/motor/ratings/-": {"voltage": q("480", "V"), "frequency": q("60", "Hz")},
            "/motor/rating_in_use": 0,
            f"{LEFT}/motor_voltage": q("480", "V"),
            f"{LEFT}/motor_frequency": q("60", "Hz"),
        },
    )
    (found,) = of_rule(judged(plate), FREQUENCY)
    assert (found.variant, found.parameters["column"]) == ("column", "480 V 60 Hz")


@pytest.mark.parametrize(
    ("voltage", "fires"),
    # At 52 Hz, within 5 % of 50: 416 V is 8.0 V/Hz and +4.0 %, 424 V is 8.15 V/Hz and +6.0 %.
    [("416", False), ("424", True)],
)
def test_boundary_of_the_voltage(voltage: str, fires: bool) -> None:
    document = rated("400", "50", motor_voltage=q(voltage, "V"), motor_frequency=q("52", "Hz"))
    assert verdicts(document, FLUX) == []
    assert bool(verdicts(document, VOLTAGE)) is fires


def test_a_voltage_of_no_other_rating_names_none() -> None:
    document = rated("400", "50", motor_voltage=q("424", "V"), motor_frequency=q("52", "Hz"))
    assert verdicts(document, VOLTAGE) == [("review", "plain")]


@pytest.mark.parametrize(
    ("supply", "notes"),
    # 460 V is 4.5, 5.0, 5.5 and 7.0 % above; 0.5 V of 460 V and of the supply's are 0.2 %.
    [("480", False), ("440", False), ("438", False), ("436", True), ("430", True)],
)
def test_a_voltage_that_the_supply_cannot_give(supply: str, notes: bool) -> None:
    document = changed(booster(), {"/site/supply_nominal_voltage": q(supply, "V")})
    expected = [("note", "above_supply")] if notes else []
    assert verdicts(document, VOLTAGE) == expected


def test_a_stretched_motor_without_a_supply_is_not_guessed() -> None:
    """230 V at 50 Hz stretched to 87 Hz, as far as the supply's voltage carries it."""
    document = without(eighty_seven_hertz(), "/site/supply_nominal_voltage")
    assert verdicts(document, FLUX) == []  # the drive's own voltage carries it
    (missing,) = lacking(judged(without(document, f"{LEFT}/motor_voltage")), VOLTAGE)
    assert missing.needs == (f"{LEFT}/motor_voltage",)
    judgement = judged(without(document, f"{LEFT}/motor_voltage"))
    for rule in ("drive.motor-power", "load.current-expected"):
        assert "/site/supply_nominal_voltage" in lacking(judgement, rule)[0].needs
    assert "drive.volts-per-hertz" not in {each.id for each in judgement.derived}


def test_a_motor_run_at_its_rating_needs_no_supply() -> None:
    """Stretching is allowed, but the drive is set to the plate's 50 Hz."""
    document = changed(eighty_seven_hertz(), {f"{LEFT}/motor_frequency": q("50", "Hz")})
    document = without(document, "/site/supply_nominal_voltage", f"{LEFT}/motor_voltage")
    values = {each.id for each in judged(document).derived}
    assert "drive.volts-per-hertz" in values


@pytest.mark.parametrize(
    ("voltage", "frequency", "variant"),
    # 8.0 V/Hz throughout: nobody stretches a motor to twice its frequency or more.
    [("792", "99", "stretched"), ("800", "100", "plain"), ("1000", "125", "plain")],
)
def test_no_motor_is_stretched_to_twice_its_frequency(
    voltage: str, frequency: str, variant: str
) -> None:
    document = rated("400", "50", motor_voltage=q(voltage, "V"), motor_frequency=q(frequency, "Hz"))
    assert verdicts(document, FREQUENCY) == [("review", variant)]


@pytest.mark.parametrize(
    ("other", "waits"),
    [
        ({"voltage": q("690", "V"), "frequency": q("50", "Hz")}, False),
        ({"voltage": q("690", "V")}, True),
        ({"frequency": q("60", "Hz")}, True),
        ({}, True),
    ],
)
def test_a_rating_that_is_not_told_may_be_the_one_in_use(other: Document, waits: bool) -> None:
    """440 V at 50 Hz is neither 400 V nor 690 V: power is judged by the plate's 400 V all right."""
    power = {"/motor/ratings/0/power": q("30", "kW"), f"{LEFT}/motor_power": q("30", "kW")}
    more = {"/motor/ratings/-": other, "/motor/rating_in_use": 0}
    document = changed(rated("400", "50", motor_voltage=q("440", "V")), power | more)
    found = [each.waits_for for each in lacking(judged(document), "drive.motor-power")]
    assert found == ([FLUX] if waits else [])


@pytest.mark.parametrize(
    ("volts", "said"),
    [
        ("460", "no reading shows that this one does"),
        # A motor runs at 10 % less than its own voltage: 2 x 230 V / 0.90 = 511.1 V.
        ("511", "no reading shows that this one does"),
        ("512", "not even a drive that doubles a single phase gives it"),
    ],
)
def test_no_doubling_is_asked_after_that_would_not_do(volts: str, said: str) -> None:
    rating = booster()["motor"]["ratings"][1]
    ratings = [
        rating | {"voltage": q("230", "V")},
        rating | {"voltage": q(volts, "V"), "current": q(f"{68.7 * 460 / float(volts):.1f}", "A")},
    ]
    document = changed(
        on_a_supply_of("230", motor_voltage=q(volts, "V"), motor_frequency=q("60", "Hz")),
        {"/motor/ratings": ratings, "/motor/rating_in_use": 1, "/site/supply_phases": 1,
         "/event/supply/line_voltages": [q("230", "V")]}
        | {f"/event/duty_points/{index}/voltages_drive_{where}": None
           for index in range(3) for where in ("output", "display")},
    )  # fmt: skip
    told = [MOTOR_VOLTAGE.sentence(each) for each in of_rule(judged(document), VOLTAGE)]
    assert [said in each for each in told] == [True]
