"""The catalogue over the API: each rule with what it says of its example."""

import pytest

from calculations.catalogue import RULES
from tests.calculations.building_plates import q
from tests.records.visits import limit


def test_each_rule_comes_with_its_example(teo):
    items = teo.get("/rules").json["items"]
    assert [each["id"] for each in items] == [rule.id for rule in RULES]
    for each in items:
        assert each["example"]["severity"] in each["severities"]
        assert any(line["mistaken"] for line in each["example"]["entered"])
        assert "not a safety approval" in each["example"]["deference"]
        assert "come before anything" in each["example"]["deference"]


@pytest.mark.parametrize("path", ["/rules", "/rules/motor.power-balance"])
def test_an_example_is_data(cleo, path):
    told = cleo.get(path).json
    (rule,) = (each for each in told.get("items", [told]) if each["id"] == "motor.power-balance")
    current, power, *_ = rule["example"]["entered"]
    assert current == {
        "name": "Motor, rating 2, current", "place": "/motor/ratings/1/current",
        "value": q("86.7", "A"), "mistaken": True, "agrees": q("68.7", "A"),
    }  # fmt: skip
    assert (power["value"], power["mistaken"], power["agrees"]) == (q("60", "hp"), False, None)
    assert rule["example"]["sentence"].startswith("Probably 68.7 A instead of 86.7 A.")
    assert rule["example"]["compared"][2] == {"name": "current"} | q("86.7", "A")
    assert (rule["example"]["limit"], rule["example"]["severity"]) == (
        "6 % note, 12 % review", "review",
    )  # fmt: skip


def test_a_clients_own_limit_leaves_the_example_as_it_is(orla, cast):
    """It explains the catalogue; what applies to the client stands in the limits."""
    own = limit(cast.client, "motor.power-balance", "review", "30", "%", reason="old plates")
    before = orla.get("/rules/motor.power-balance").json["example"]
    assert orla.post("/rule-settings", own).status == 201
    changed = orla.get(f"/rules/motor.power-balance?client={cast.client}").json
    assert "30" in {each["effective"]["value"] for each in changed["limits"]}
    assert changed["example"] == before
