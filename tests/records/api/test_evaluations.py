"""Judging without keeping: as little as a nameplate, as much as a whole station."""

import pytest

from tests.calculations import test_machines_by_hand as machines
from tests.calculations import test_stations_by_hand as stations
from tests.calculations.building import booster, judged
from tests.calculations.building_plates import q
from tests.records.counting import counts


def plate(speed="1770", frequency="60"):
    rating = {"speed": q(speed, "rpm"), "frequency": q(frequency, "Hz"), "power": q("50", "hp")}
    return {"motor": {"kind": "induction", "ratings": [rating]}}


def value(answer, identity):
    return next(v for v in answer.json["derived"] if v["id"] == identity)


def test_a_nameplate_alone_is_judged(teo):
    answer = teo.post("/evaluations", plate())
    # 120 * 60 / 4 = 1800 rpm; (1800 - 1770) / 1800 = 1.6667 %: definition
    assert value(answer, "motor.poles")["value"] == "4"
    assert value(answer, "motor.slip") | {"value": "1.67", "unit": "%"} == value(
        answer, "motor.slip"
    )
    assert answer.json["findings"] == []


def test_the_other_mains_frequency_is_named(teo):
    answer = teo.post("/evaluations", plate(speed="1450"))
    [finding] = [f for f in answer.json["findings"] if f["severity"] != "note"]
    # (1500 - 1450) / 1500 = 3.33 %: a 4-pole motor at 50 Hz
    assert finding["rule"] == "motor.slip"
    assert "50 Hz" in finding["sentence"]
    assert "3.33 %" in finding["sentence"]
    assert finding["subject"] == "/motor/ratings/0"


def test_cautions_come_with_the_values(teo):
    """Those that hold everywhere, and those of what was judged: the values may be set."""
    magnets = {"motor": {"kind": "permanent_magnet"}, "site": {"hazardous_area": "zone_1"}}
    told = teo.post("/evaluations", magnets).json
    titles = [each["title"] for each in told["cautions"]]
    assert titles[0] == "Hazardous voltage, stored energy"
    assert {"Lock-out", "Explosive atmosphere", "Permanent magnets"} <= set(titles)
    assert "Permanent magnets" not in str(teo.post("/evaluations", plate()).json["cautions"])
    assert "not a safety approval" in told["deference"]


def test_what_could_not_be_judged_says_what_it_needs(teo):
    lacking = {
        each["rule"]: each for each in teo.post("/evaluations", plate()).json["not_evaluated"]
    }
    assert "/motor/ratings/0/voltage" in lacking["motor.power-balance"]["needs"]


def test_nothing_is_kept(teo, station):
    before = counts()
    assert teo.post("/evaluations", booster()).status == 200
    assert counts() == before


def test_every_bad_value_is_named_at_once(teo):
    bad = {
        "motor": {"poles": 3, "ratings": [{"voltage": q("460", "A")}]},
        "pump": {"rated_flow": q("-1", "gpm")},
        "unknown": {},
    }
    answer = teo.post("/evaluations", bad)
    assert answer.status == 400
    assert sorted(answer.pointers) == [
        "/motor/poles", "/motor/ratings/0/voltage/unit", "/pump/rated_flow", "/unknown",
    ]  # fmt: skip


def test_nothing_known_is_nothing_said(teo):
    answer = teo.post("/evaluations", {})
    assert (answer.status, answer.json["findings"], answer.json["derived"]) == (200, [], [])


@pytest.mark.parametrize(
    "worked_by_hand",
    [
        stations.deep_well, stations.taking_turns, stations.three_on_one_header,
        stations.high_lift, stations.on_a_mountain, machines.out_of_a_pond, machines.in_horsepower,
        machines.to_87_hertz, machines.below_the_header, machines.on_a_vessel, machines.rewound,
    ],
)  # fmt: skip
def test_what_was_worked_by_hand_comes_out_here_too(teo, worked_by_hand):
    """Their figures stand in those tests; here, that nothing is lost or turned on the way out."""
    document = worked_by_hand()
    told, found = teo.post("/evaluations", document).json, judged(document)
    values = {(v["id"], v["subject"]): (v["value"], v["unit"]) for v in told["derived"]}
    assert values == {(v.id, v.subject): (v.shown.value, v.shown.unit) for v in found.derived}
    said = [(f["rule"], f["subject"], f["severity"]) for f in told["findings"]]
    assert said == [(f.rule, f.subject, f.severity) for f in found.findings]
    lacking = {(each["rule"], each["subject"]) for each in told["not_evaluated"]}
    assert lacking == {(each.rule, each.subject) for each in found.not_evaluated}
