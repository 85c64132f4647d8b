"""Power balance, pairs of ratings, the code's table."""

import pytest

from tests.calculations.building import (
    changed,
    in_metric,
    judged,
    lacking,
    nameplate,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document

BALANCE = "motor.power-balance"
AGREE = "motor.ratings-agree"
TABLE = "motor.full-load-current-table"


def plate(**rating: Document) -> Document:
    """30 kW, 400 V, 54.0 A, eta 0.936, cos phi 0.86: 0.805, and 0.802 implied."""
    usual = {
        "voltage": q("400", "V"), "frequency": q("50", "Hz"), "power": q("30", "kW"),
        "current": q("54.0", "A"), "speed": q("1475", "rpm"), "efficiency": q("93.6", "%"),
        "power_factor": q("0.86", "1"),
    }  # fmt: skip
    return {"motor": {"kind": "induction", "phases": 3, "poles": 4, "ratings": [usual | rating]}}


def us_plate(**changes: object) -> Document:
    """The booster's plate at a site in the United States."""
    document = {"motor": nameplate(), "site": {"electrical_practice": "us_nec"}}
    return changed(
        document, {f"/motor/{name.replace('__', '/')}": v for name, v in changes.items()}
    )


# -- power balance ------------------------------------------------------------------------------


def test_clean_plates_are_silent() -> None:
    assert verdicts(plate(), BALANCE) == []
    assert verdicts(us_plate(), BALANCE) == []
    assert verdicts(in_metric(us_plate()), BALANCE) == []


@pytest.mark.parametrize(
    ("current", "severity"),
    [
        # implied over stated: 54.0 A gives 0.996; it falls with the current
        ("57.0", []),  # -5.6 %
        ("57.6", []),  # -6.6 %, less 0.95 % of rounding (30 kW counts at most 1 %)
        ("60.0", ["note"]),  # -10.4 %
        ("64.5", ["review"]),  # -16.6 %
        ("46.0", ["review"]),  # +16.9 %
    ],
)
def test_boundaries_of_the_balance(current: str, severity: list[str]) -> None:
    found = verdicts(plate(current=q(current, "A")), BALANCE)
    assert [each for each, _ in found] == severity


@pytest.mark.parametrize(
    ("changes", "variant", "read"),
    [
        ({"power": q("30", "hp")}, "unit", "30 kW"),
        ({"power": q("40.2", "kW")}, "unit", "40.2 hp"),
        ({"current": q("93.5", "A")}, "delta", ""),
        ({"voltage": q("230", "V")}, "star", ""),
        ({"voltage": q("200", "V")}, "low_tap", ""),
        ({"current": q("108", "A")}, "high_tap", ""),
        ({"current": q("45.0", "A")}, "digits", "54.0 A instead of 45.0 A"),
        ({"current": q("540", "A")}, "digits", ""),
        ({"power_factor": q("0.68", "1")}, "digits", "0.86 instead of 0.68"),
    ],
)
def test_the_likeliest_slip_is_named(changes: Document, variant: str, read: str) -> None:
    (found,) = of_rule(judged(plate(**changes)), BALANCE)
    assert (found.severity, found.variant) == ("review", variant)
    assert read in found.parameters["read"]


def test_230_v_with_the_current_of_460_v_is_impossible() -> None:
    # 50 hp, 230 V, 57.6 A: 37285 / (1.7321 x 230 x 57.6) = 1.625.
    document = plate(power=q("50", "hp"), voltage=q("230", "V"), current=q("57.6", "A"))
    (found,) = of_rule(judged(document), BALANCE)
    assert found.severity == "review"
    assert found.parameters["implied"] == "1.62"


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, []),  # 0.802 lies in 0.68 to 0.90
        ({"current": q("63.5", "A")}, []),  # 0.682
        ({"current": q("65.5", "A")}, ["note"]),  # 0.661, 2.8 % below 0.68
        ({"current": q("70.0", "A")}, ["review"]),  # 0.619, 9.0 % below
        ({"power": q("30", "hp"), "current": q("54.0", "A")}, ["review"]),  # 0.598
        ({"current": q("43.0", "A")}, ["review"]),  # 1.007: impossible
    ],
)
def test_the_usual_band_where_the_plate_says_less(changes: Document, expected: list[str]) -> None:
    document = without(plate(**changes), "/motor/ratings/0/power_factor")
    assert [severity for severity, _ in verdicts(document, BALANCE)] == expected


@pytest.mark.parametrize(
    ("rating", "motor"),
    [
        # 0.37 kW, 1.05 A, 6 poles: 0.37 / (1.732 x 0.4 x 1.05) = 0.509, in 0.45 to 0.86
        ({"power": q("0.37", "kW"), "current": q("1.05", "A"), "speed": q("920", "rpm")}, 6),
        # 45 kW, 90.0 A, 8 poles: 0.722
        ({"power": q("45", "kW"), "current": q("90.0", "A"), "speed": q("735", "rpm")}, 8),
    ],
)
def test_small_and_slow_motors_are_ordinary(rating: Document, motor: int) -> None:
    document = without(plate(**rating), "/motor/ratings/0/power_factor")
    assert verdicts(changed(document, {"/motor/poles": motor}), BALANCE) == []


def test_one_phase_has_no_root_of_three() -> None:
    # 2.2 kW / (230 V x 14.0 A) = 0.683 = 0.80 x 0.854
    rating = {
        "voltage": q("230", "V"), "power": q("2.2", "kW"), "current": q("14.0", "A"),
        "efficiency": q("80.0", "%"), "power_factor": q("0.86", "1"),
    }  # fmt: skip
    document = changed(plate(**rating), {"/motor/phases": 1})
    assert verdicts(document, BALANCE) == []


def test_rounding_of_a_small_current_is_no_contradiction() -> None:
    # 2.1 A printed for 2.15 A: 2.4 % of rounding on both sides.
    rating = {
        "power": q("1.1", "kW"), "current": q("2.1", "A"), "efficiency": q("84.1", "%"),
        "power_factor": q("0.84", "1"),
    }  # fmt: skip
    assert verdicts(plate(**rating), BALANCE) == []


def test_missing_current_is_named() -> None:
    document = without(plate(), "/motor/ratings/0/current")
    (missing,) = lacking(judged(document), BALANCE)
    assert missing.needs == ("/motor/ratings/0/current",)


@pytest.mark.parametrize(
    ("plate_current", "chosen", "expected"),
    [
        # 49.4 kW at 89 A: 0.995 of what is stated; 98 A give 0.904, a note by itself.
        ("98", None, [("note", "digits")]),
        ("98", "98", [("note", "digits")]),
        # Half a percent either way of 89 A: 88.555 A and 89.445 A.
        ("98", "89", [("review", "digits")]),
        ("98", "89.44", [("review", "digits")]),
        ("98", "89.45", [("note", "digits")]),
        ("98", "88.56", [("review", "digits")]),
        ("98", "88.55", [("note", "digits")]),
        ("89", "98", []),
    ],
)
def test_a_drive_set_to_the_exchanged_digits_confirms_them(plate_current, chosen, expected) -> None:
    document = plate(power=q("49.4", "kW"), current=q(plate_current, "A"))
    left = {"motor_current": q(chosen, "A")} if chosen else {}
    document |= {"event": {"settings": {"as_left": left}}}
    assert verdicts(document, BALANCE) == expected


# -- pairs of ratings ---------------------------------------------------------------------------


def two(low: tuple[str, str], high: tuple[str, str], frequencies: tuple[str, str]) -> Document:
    """A plate with two ratings, without power."""
    ratings = [
        {"voltage": q(v, "V"), "current": q(i, "A"), "frequency": q(f, "Hz")}
        for (v, i), f in zip((low, high), frequencies, strict=True)
    ]
    return {"motor": {"kind": "induction", "ratings": ratings, "rating_in_use": 0}}


@pytest.mark.parametrize(
    ("low", "high", "frequencies", "fires"),
    [
        (("230", "58.0"), ("460", "29.0"), ("60", "60"), False),
        (("230", "93.5"), ("400", "54.0"), ("50", "50"), False),  # 1.73
        (("230", "1.3"), ("400", "0.7"), ("50", "50"), False),  # 1.86 by rounding
        (("400", "54.0"), ("460", "54.0"), ("50", "60"), False),  # other frequency
        (("230", "58.0"), ("460", "30.0"), ("60", "60"), False),  # 3.45 %, rounding 0.58 %
        (("230", "58.0"), ("460", "58.0"), ("60", "60"), True),
        # Half a hertz apart they are two frequencies.
        (("230", "58.0"), ("460", "58.0"), ("60", "59.6"), True),
        (("230", "58.0"), ("460", "58.0"), ("60", "59.5"), False),
        (("230", "58.0"), ("460", "58.0"), ("60", "60.4"), True),
        (("230", "58.0"), ("460", "58.0"), ("60", "60.5"), False),
    ],
)  # fmt: skip
def test_pairs_of_one_frequency(
    low: tuple[str, str], high: tuple[str, str], frequencies: tuple[str, str], fires: bool
) -> None:
    assert bool(verdicts(two(low, high, frequencies), AGREE)) is fires


@pytest.mark.parametrize(
    ("current", "fires"),
    # 230 x 580 = 133400 VA; 460 x 298.5 is 2.93 % above, 460 x 302.0 is 4.14 % above;
    # rounding is 0.22 + 0.09 + 0.11 + 0.02 = 0.43 %.
    [("298.5", False), ("302.0", True)],
)
def test_boundary_of_the_pairs(current: str, fires: bool) -> None:
    document = two(("230", "580"), ("460", current), ("60", "60"))
    assert bool(verdicts(document, AGREE)) is fires


@pytest.mark.parametrize("silent", ["voltage", "current", "frequency"])
def test_a_rating_that_is_not_whole_is_no_pair(silent: str) -> None:
    document = two(("230", "58.0"), ("460", "58.0"), ("60", "60"))
    for rating in (0, 1):
        judgement = judged(without(document, f"/motor/ratings/{rating}/{silent}"))
        assert of_rule(judgement, AGREE) == []


def test_the_wrong_column_and_digits_are_named() -> None:
    assert verdicts(two(("230", "58.0"), ("460", "92.0"), ("60", "60")), AGREE) == [
        ("review", "digits")  # 29.0 with its digits swapped
    ]
    assert verdicts(two(("230", "58.0"), ("460", "50.2"), ("60", "60")), AGREE) == [
        ("review", "factor")  # 1.73 times 29.0
    ]


def test_two_powers_at_one_frequency_are_ordinary() -> None:
    # 11 kW 21.0 A and 15 kW 28.6 A at 400 V: amperes in proportion to power.
    document = two(("400", "21.0"), ("400", "28.6"), ("50", "50"))
    powers = {"/motor/ratings/0/power": q("11", "kW"), "/motor/ratings/1/power": q("15", "kW")}
    assert verdicts(changed(document, powers), AGREE) == []


def test_pairs_wait_for_the_balance() -> None:
    document = us_plate(ratings__1__current=q("86.7", "A"))
    (waiting,) = lacking(judged(document), AGREE)
    assert waiting.waits_for == BALANCE


def test_a_motor_that_may_be_immersed_has_the_band_of_both_kinds() -> None:
    """0.619 is too little of a dry motor, and ordinary in the liquid (0.50 to 0.82)."""
    low = without(plate(current=q("70.0", "A")), "/motor/ratings/0/power_factor")
    assert verdicts(changed(low, {"/motor/immersed": False}), BALANCE) != []
    assert verdicts(changed(low, {"/motor/enclosure": "submersible"}), BALANCE) == []


@pytest.mark.parametrize(
    ("current", "severity"),
    # 30.0 kW, 93.6 %, 0.86: 0.805 stated, 43.30 A / I implied; rounding is 1.0 % of that.
    [
        ("57.4", []),  # -6.3 %
        ("58.5", ["note"]),  # -8.1 %
        ("61.5", ["note"]),  # -12.5 %
        ("62.2", ["review"]),  # -13.5 %
    ],
)
def test_boundaries_of_a_power_with_more_digits(current: str, severity: list[str]) -> None:
    document = plate(power=q("30.0", "kW"), current=q(current, "A"))
    assert [each for each, _ in verdicts(document, BALANCE)] == severity


@pytest.mark.parametrize(
    ("current", "severity"),
    # 43.30 A / I: 0.68 to 0.90 of a dry motor; 6 % less than 0.68 is 0.639, and 0.4 % of rounding.
    [("67.5", ["note"]), ("68.2", ["review"])],  # 0.6415 and 0.6349: -5.7 % and -6.6 %
)
def test_boundary_of_the_usual_band(current: str, severity: list[str]) -> None:
    document = plate(power=q("30.0", "kW"), current=q(current, "A"))
    document = without(document, "/motor/ratings/0/power_factor")
    assert [each for each, _ in verdicts(document, BALANCE)] == severity


@pytest.mark.parametrize(
    ("current", "severity"),
    [
        ("108.0", ["review"]),  # 0.401, 11 % below 0.45
        ("98.0", ["note"]),  # 0.442
        ("94.0", []),  # 0.461
        ("44.3", []),  # 0.977
        ("43.7", ["note"]),  # 0.991, 1.1 % above 0.98
    ],
)
def test_the_widest_band_where_the_kind_of_motor_is_not_known(
    current: str, severity: list[str]
) -> None:
    """0.45 to 0.98: common practice, no source."""
    document = plate(power=q("30.0", "kW"), current=q(current, "A"))
    document = without(document, "/motor/ratings/0/power_factor", "/motor/kind")
    assert [each for each, _ in verdicts(document, BALANCE)] == severity


@pytest.mark.parametrize(
    ("current", "severity"),
    # 45.0 kW at 400 V: 64.95 A / I implied, 0.97 x 0.98 = 0.951 stated, rounding 0.9 %.
    [
        ("65.0", []),  # 0.999: 5.1 % above
        ("64.5", []),  # 1.007 may be 0.998; 5.9 % above
        ("64.2", ["review"]),  # 1.012 is 1.003 at least: impossible, though no more than 6.4 %
    ],
)
def test_more_than_a_motor_can_have_is_asked_about(current: str, severity: list[str]) -> None:
    document = plate(
        power=q("45.0", "kW"), current=q(current, "A"), efficiency=q("97.0", "%"),
        power_factor=q("0.98", "1"),
    )  # fmt: skip
    assert [each for each, _ in verdicts(document, BALANCE)] == severity


@pytest.mark.parametrize(
    ("power_factor", "current", "variant"),
    [
        # 43.30 A / 272 A = 0.159 are 0.17 x 0.936, / 243.5 A 0.19 x 0.936, / 201.1 A 0.23 x 0.936.
        ("0.71", "272", "plain"),
        ("0.91", "243.5", "plain"),
        ("0.32", "201.1", "digits"),
    ],
)
def test_exchanged_digits_give_no_power_factor_that_motors_lack(
    power_factor: str, current: str, variant: str
) -> None:
    """None has one of 0.2 or less."""
    document = plate(power_factor=q(power_factor, "1"), current=q(current, "A"))
    assert verdicts(document, BALANCE) == [("review", variant)]
