"""What no pump set becomes by itself."""

import pytest

from calculations.beside import Beside, Sealed
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from tests.calculations.building import booster, changed, judged, lacking, of_rule, without
from tests.calculations.building_event import A_YEAR_LATER
from tests.calculations.building_plates import q

POINTS = "/event/duty_points"
LATER = A_YEAR_LATER | {"/event/kind": "re_verification"}


def pressed(*psi):
    """Discharge pressures of the three points."""
    return {f"{POINTS}/{at}/discharge_pressure": q(value, "psi") for at, value in enumerate(psi)}


def powered(*kilowatts):
    return {f"{POINTS}/{at}/power_drive_input": q(value, "kW")
            for at, value in enumerate(kilowatts)}  # fmt: skip


def unpowered(*points):
    return {f"{POINTS}/{at}/power_drive_input": None for at in points}


def visited(changes, before, **more):
    """A visit beside the last record, which is the first one as well."""
    last = changed(booster(), before)
    visit = changed(booster(), LATER | changes)
    # Without a curve nothing but the last record can tell.
    last, visit = (without(each, "/pump/curve_points") for each in (last, visit))
    beside = Beside(last=Sealed(read(Subject, last), 3))
    return judged(visit, earlier=last, beside=beside, **more)


def verdicts(of, changes, before):
    judgement = visited(changes, before)
    assert lacking(judgement, of) == []
    return [(each.severity, each.variant) for each in of_rule(judgement, of)]


# -- risen ----------------------------------------------------------------------------------------
#
# 10 ft (4.33 psi) of 125.6, 123.8, 122.7 ft are 8 %: beyond 5 % and what meter and gauges explain,
# as at the fall of the same in `test_changes`.


@pytest.mark.parametrize(
    ("changes", "before", "expected"),
    [
        ({}, {}, []),
        (pressed("85.0", "85.0", "85.0"), pressed("80.67", "80.67", "85.0"), ["head"]),
        (pressed("85.0", "85.0", "85.0"), pressed("80.67", "85.0", "85.0"), []),
        (pressed("85.0", "85.0", "85.0"), pressed("83.3", "83.3", "83.3"), []),
        (powered("31.9", "22.3", "15.1"), powered("35.7", "25.0", "16.9"), ["efficiency"]),
        (powered("35.7", "25.0", "16.9"), powered("31.9", "22.3", "15.1"), []),
    ],
)
def test_a_pump_that_mended_itself(changes, before, expected):
    assert verdicts("trend.risen", changes, before) == [("review", each) for each in expected]


def test_efficiency_needs_two_powers_of_both_visits():
    """Head that stayed says nothing of the power that is taken for it."""
    (missing,) = lacking(visited(powered("31.9", "22.3", "15.1"), unpowered(1, 2)), "trend.risen")
    assert missing.because == "fewer than two points whose power was read both times"
    assert verdicts("trend.risen", {}, unpowered(2)) == []
    risen = pressed("85.0", "85.0", "85.0"), pressed("80.67", "80.67", "85.0") | unpowered(1, 2)
    assert verdicts("trend.risen", *risen) == [("review", "head")]


DIAMETER = {"/pump/impeller_diameter": q("10.40", "in")}


@pytest.mark.parametrize(
    ("mended", "expected"),
    [
        ({}, ["head"]),
        ({"/event/kind": "after_repair"}, []),
        ({"/event/replaced": [{"resource": "pump", "tag": "P-101"}]}, []),
        ({"/pump/serial": "K71-0099"}, []),
        ({"/pump/impeller_diameter": q("10.99", "in")}, []),
    ],
)
def test_where_something_was_repaired_better_is_no_wonder(mended, expected):
    worn = pressed("80.67", "80.67", "80.67") | DIAMETER
    found = of_rule(visited(DIAMETER | mended, worn), "trend.risen")
    assert [each.variant for each in found] == expected


@pytest.mark.parametrize(
    ("psi", "points", "whose"),
    [
        ("85.0", 3, "These may be readings of PS-102. "),
        ("85.0", 2, "These may be readings of PS-102. "),
        ("85.0", 1, ""),
        ("77.0", 3, ""),
    ],
)
def test_a_like_pump_whose_readings_they_may_be_is_named(psi, points, whose):
    """This pump had fallen to 80.67 psi and stands at 85.0 psi, as the other of the pair may."""
    station = booster()
    beside = {
        "pump_set": {"tag": "PS-102", "discharge_header": "H-1"},
        "pump": station["pump"], "motor": station["motor"], "drive": station["drive"],
        "duty_points": [
            {name: value for name, value in point.items() if name != "instruments"}
            | {"discharge_pressure": q(psi, "psi")}
            for point in station["event"]["duty_points"][:points]
        ],
    }  # fmt: skip
    judgement = visited({"/neighbours": [beside]}, pressed("80.67", "80.67", "80.67"))
    (found,) = of_rule(judgement, "trend.risen")
    assert found.parameters["whose"] == whose


def test_two_points_are_enough():
    two = {f"{POINTS}/2/flow": None}
    worn = pressed("80.67", "80.67", "80.67")
    assert verdicts("trend.risen", two, worn | two) == [("review", "head")]


def test_other_flows_are_not_compared():
    few = {f"{POINTS}/{at}/flow": q("1250", "gpm") for at in range(2)}
    (missing,) = lacking(visited(few, {}), "trend.risen")
    assert missing.because == "fewer than two points near those of the last record"


# -- winding --------------------------------------------------------------------------------------

WINDING = "/event/motor_tests/winding_resistance"


def wound(ohms, celsius="20", **more):
    """Three alike, to a milliohm."""
    return {f"{WINDING}/values": [q(ohms, "ohm")] * 3,
            f"{WINDING}/winding_temperature": q(celsius, "degC"),
            f"{WINDING}/resolution": q("0.001", "ohm"),
            **{f"{WINDING}/{name}": value for name, value in more.items()}}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        (wound("0.200"), []),
        (wound("0.213"), []),  # 6.5 %: 5 %, half a milliohm or the digit twice, 0.8 % for 2 K
        (wound("0.2145"), ["changed"]),  # 7.25 %
        (wound("0.216"), ["changed"]),
        (wound("0.258"), ["changed"]),  # 29 %: rewound
        (wound("0.168"), ["changed"]),
        (wound("0.224", "50"), []),  # copper, IEC 60034-1: 284.5 / 254.5 = 1.118
        (wound("0.600"), ["links"]),  # delta read as star
        (wound("0.0667"), ["links"]),  # star read as delta
        (wound("0.050"), ["links"]),  # parallel for series
        (wound("0.800"), ["links"]),  # series for parallel
        (wound("0.258", resolution=None), ["changed"]),
    ],
)
def test_the_winding(changes, expected):
    found = verdicts("trend.winding-resistance", changes, wound("0.200"))
    assert found == [("review", each) for each in expected]


@pytest.mark.parametrize("between", [0, 1, 2])
@pytest.mark.parametrize(("coarse", "expected"), [("0.220", ["changed"]), ("0.22", [])])
def test_the_coarsest_of_three_readings_is_granted(between, coarse, expected):
    """8.3 % in the mean: half a hundredth of an ohm is 2.3 % more than the 6.8 % of milliohms."""
    readings = [q("0.215", "ohm")] * 3
    readings[between] = q(coarse, "ohm")
    changes = wound("0.200") | {f"{WINDING}/values": readings}
    found = verdicts("trend.winding-resistance", changes, wound("0.200"))
    assert found == [("review", each) for each in expected]


def test_a_winding_without_resistance_is_not_compared():
    nothing = wound("0.200") | {f"{WINDING}/values": [q("0", "ohm")] * 3}
    (missing,) = lacking(visited(nothing, wound("0.200")), "trend.winding-resistance")
    assert (missing.needs, missing.because) == ((f"{WINDING}/values",), "expected more than 0")


@pytest.mark.parametrize("rule", ["trend.winding-resistance", "trend.vibration"])
def test_what_was_not_measured_now_is_not_asked_for(rule):
    none = {WINDING: None, f"{POINTS}/0/vibration": None}
    measured = wound("0.200") | shaken("1.8")
    assert lacking(visited(none, measured), rule) == []
    # Nor is a first visit held against any.
    assert lacking(judged(changed(booster(), measured)), rule) == []


def test_both_resistances_are_told_at_20_degrees():
    """0.258 x 254.5 / 284.5 and 0.200 x 254.5 / 264.5 ohm."""
    judgement = visited(wound("0.258", "50"), wound("0.200", "30"))
    (found,) = of_rule(judgement, "trend.winding-resistance")
    told = [float(each.shown.value) for each in found.compared]
    assert told == pytest.approx([0.2308, 0.1924], abs=1e-4)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({f"{WINDING}/method": "two_wire"}, "not measured as at the first visit"),
        ({f"{WINDING}/winding_temperature": None}, ""),
        ({"/motor/serial": "W60-9999"},
         "the motor is another one since the first visit: the comparison begins anew"),
    ],
)  # fmt: skip
def test_what_cannot_be_compared(changes, told):
    judgement = visited(wound("0.258") | changes, wound("0.200"))
    (missing,) = lacking(judgement, "trend.winding-resistance")
    assert missing.because == told


def test_a_winding_that_was_never_measured_before():
    bare = wound("0.200") | {f"{WINDING}/values": None}
    (missing,) = lacking(visited(wound("0.258"), bare), "trend.winding-resistance")
    assert missing.because == "not measured at the first visit of 2026-03-14"


# -- vibration ------------------------------------------------------------------------------------


def shaken(mm_per_s, **more):
    read_ = {"location": "drive-end bearing", "velocity_rms": q(mm_per_s, "mm/s")} | more
    return {f"{POINTS}/0/vibration": [read_]}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # 25 % of 5.1 mm/s (zones B and C to 200 kW) are 1.275 mm/s; half a digit is granted.
        (shaken("3.07"), []),
        (shaken("3.1"), []),
        (shaken("3.13"), ["more"]),
        # Alike to within 0.5 Hz and a fifth of the flow: common practice, no source.
        (shaken("3.2") | {f"{POINTS}/0/frequency": q("55.3", "Hz")}, ["more"]),
        (shaken("3.2") | {f"{POINTS}/0/flow": q("1240", "gpm")}, ["more"]),
        (shaken("4.9"), ["more"]),
        (shaken("0.5"), []),
    ],
)
def test_vibration(changes, expected):
    found = verdicts("trend.vibration", changes, shaken("1.8"))
    assert found == [("review", each) for each in expected]


@pytest.mark.parametrize(
    ("kilowatts", "velocity", "expected"),
    [
        ("200", "3.2", ["more"]),  # 1.4 mm/s more, of 1.275
        ("250", "3.2", []),  # 25 % of the 6.1 mm/s above 200 kW are 1.525
        ("250", "3.5", ["more"]),
        (None, "3.2", ["more"]),
    ],
)
def test_a_large_machine_may_shake_more(kilowatts, velocity, expected):
    power = {"/motor/ratings/1/power": kilowatts and q(kilowatts, "kW")}
    found = verdicts("trend.vibration", shaken(velocity) | power, shaken("1.8") | power)
    assert found == [("review", each) for each in expected]


def test_against_a_closed_valve_a_pump_may_shake():
    closed = {f"{POINTS}/0/purpose": "shut_off"}
    judgement = visited(shaken("4.9") | closed, shaken("1.8") | closed)
    assert of_rule(judgement, "trend.vibration") == []


@pytest.mark.parametrize(
    "changes",
    [
        shaken("4.9", location="pump bearing"),
        shaken("4.9", direction="axial"),
        shaken("4.9") | {f"{POINTS}/0/frequency": q("55.5", "Hz")},
        shaken("4.9") | {f"{POINTS}/0/flow": q("1260", "gpm")},
        # A purpose is no speed, and no flow: at a design point nobody read either.
        shaken("4.9") | {f"{POINTS}/0/frequency": None, f"{POINTS}/0/speed": None},
        shaken("4.9") | {f"{POINTS}/0/flow": None},
    ],
)
def test_vibration_elsewhere_or_at_another_speed_is_not_compared(changes):
    (missing,) = lacking(visited(changes, shaken("1.8")), "trend.vibration")
    assert missing.because == "no vibration read at the same place, speed and flow"


def test_a_measured_speed_tells_as_well_as_a_frequency():
    """ISO 20816-1: under the same operating conditions; what the point is called is none."""
    changes = {f"{POINTS}/0/frequency": None, f"{POINTS}/0/purpose": "maximum"}
    assert verdicts("trend.vibration", shaken("4.9") | changes, shaken("1.8")) == [
        ("review", "more")
    ]


def test_the_place_that_shakes_most_beyond_before_is_told():
    places = [{"location": name, "velocity_rms": q("1.8", "mm/s")} for name in ("pump", "motor")]
    now = [place | {"velocity_rms": q(value, "mm/s")}
           for place, value in zip(places, ("3.9", "4.6"), strict=True)]  # fmt: skip
    at = f"{POINTS}/0/vibration"
    (found,) = of_rule(visited({at: now}, {at: places}), "trend.vibration")
    assert (found.parameters["where"], found.subject) == (" at motor", f"{POINTS}/0")
    assert [str(each.shown) for each in found.compared] == ["4.6 mm/s", "1.8 mm/s"]


def test_what_shakes_too_much_is_told_as_that():
    (waiting,) = lacking(visited(shaken("9.0"), shaken("1.8")), "trend.vibration")
    assert waiting.waits_for == "machine.vibration"
