"""A case looks values up by place, and makes what is asked of it once."""

import pytest

from calculations.case import Case, Missing, once
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import case_of
from calculations.rules.scope import has_drive

from .building import booster, changed
from .building_plates import q

POINTS = "/event/duty_points"


def case(changes: dict[str, object] | None = None) -> Case:
    return case_of(read(Subject, changed(booster(), changes or {})))


# -- values by place ------------------------------------------------------------------------------


def test_a_value_stands_at_its_place_and_at_the_shorter_one():
    found = case()
    assert found.find("/motor/ratings/1/current").value == "68.7"
    assert found.find("/rating/current") == found.find("/motor/ratings/1/current")
    assert found.place("/rating/current") == "/motor/ratings/1/current"


@pytest.mark.parametrize(
    "place",
    [f"{POINTS}/3", f"{POINTS}/3/flow", "/site/pipeline/inside_diameter"],
)
def test_nothing_stands_beyond_a_list_or_in_what_is_not_known(place: str):
    assert case().find(place) is None


def test_a_sensor_that_is_named_for_nothing_is_known_by_its_place():
    found = case({"/pump_set/suction_sensor": None, "/pump_set/regulating_sensor": None})
    assert found.find("/suction_sensor/tag") == "PT-100"
    assert found.find("/regulating_sensor/tag") == "PT-101"


@pytest.mark.parametrize(("index", "volts"), [(0, "230"), (1, "460"), (2, None), (None, None)])
def test_the_rating_in_use_is_one_of_the_plate(index, volts):
    found = case({"/motor/rating_in_use": index})
    voltage = found.find("/rating/voltage")
    assert (voltage and voltage.value) == volts
    if volts is None:
        assert found.place("/rating").startswith("/motor/rating_in_use")


def test_the_only_rating_of_a_plate_is_in_use():
    alone = booster()["motor"]["ratings"][1]
    found = case({"/motor/ratings": [alone], "/motor/rating_in_use": None})
    assert found.place("/rating/current") == "/motor/ratings/0/current"


@pytest.mark.parametrize(
    ("left", "found_", "place", "hertz"),
    [("60", "50", "as_left", "60"), (None, "50", "as_found", "50"), ("60", None, "as_left", "60")],
)
def test_settings_as_left_count_and_else_as_found(left, found_, place, hertz):
    pair = {
        name: {"maximum_frequency": q(value, "Hz")}
        for name, value in (("as_left", left), ("as_found", found_)) if value
    }  # fmt: skip
    found = case({"/event/settings": pair})
    assert found.find("/settings/maximum_frequency").value == hertz
    at = f"/event/settings/{place}/maximum_frequency"
    assert found.place("/settings/maximum_frequency") == at


def test_the_answer_unknown_is_not_known():
    assert case({"/site/supply_earthing": "unknown"}).find("/site/supply_earthing") is None


@pytest.mark.parametrize("place", ["/site/elevatoin", "/siet/elevation"])
def test_a_misspelt_place_is_a_slip_in_code(place: str):
    with pytest.raises(AttributeError, match=r"elevatoin|siet"):
        case().find(place)


def test_a_misspelt_word_is_a_slip_in_code_that_every_test_sees():
    with pytest.raises(pytest.fail.Exception, match="/site/kind never holds one of"):
        case().is_("/site/kind", "boster")


def test_what_is_asked_for_and_not_known_is_missing_with_its_full_place():
    found = case({"/motor/ratings/1/power_factor": None})
    with pytest.raises(Missing) as raised:
        found.si("/rating/power_factor")
    assert raised.value.places == ("/motor/ratings/1/power_factor",)
    with pytest.raises(Missing) as raised:
        found.require("/rating/power_factor", "/site/elevation", f"{POINTS}/9")
    assert raised.value.places == ("/motor/ratings/1/power_factor", f"{POINTS}/9")


# -- what the parts are to each other -------------------------------------------------------------

PRESSURE, LEVEL, FLOW = (
    {"tag": quantity, "quantity": quantity} for quantity in ("pressure", "level", "flow")
)
SUCTION = {"tag": "suction", "quantity": "pressure", "location": "suction"}


@pytest.mark.parametrize(
    ("regulated", "sensors", "tag"),
    [
        ("discharge_pressure", [LEVEL, PRESSURE], "pressure"),
        ("discharge_pressure", [SUCTION, PRESSURE], "pressure"),
        ("discharge_pressure", [PRESSURE, PRESSURE | {"tag": "other"}], None),
        ("discharge_pressure", [PRESSURE, {"tag": "nothing known"}], None),
        ("suction_pressure", [SUCTION, PRESSURE], "suction"),
        ("suction_pressure", [PRESSURE], None),
        ("level_emptying", [PRESSURE, LEVEL], "level"),
        ("flow", [PRESSURE, FLOW], "flow"),
        ("unknown", [LEVEL], "level"),
        ("unknown", [LEVEL, PRESSURE], None),
        (None, [PRESSURE], "pressure"),
    ],
)
def test_a_loop_is_regulated_on_the_only_sensor_that_fits(regulated, sensors, tag):
    settings = {"as_left": {"regulated_quantity": regulated} if regulated else {}}
    document = {"sensors": sensors, "event": {"settings": settings}}
    found = case_of(read(Subject, document)).regulating_sensor
    assert (found.tag if found else None) == tag


def test_a_sensor_that_the_set_names_goes_first():
    named = {"pump_set": {"regulating_sensor": "other", "suction_sensor": "pressure"}}
    both = {"sensors": [PRESSURE, PRESSURE | {"tag": "other"}]}
    assert case_of(read(Subject, named | both)).regulating_sensor.tag == "other"
    # The pressure at suction is none that a discharge is regulated on.
    alone = {"pump_set": {"suction_sensor": "pressure"}, "event": {"settings": {
        "as_left": {"regulated_quantity": "discharge_pressure"}}}}  # fmt: skip
    assert case_of(read(Subject, alone | both)).regulating_sensor.tag == "other"


def test_another_subject_is_read_with_the_same_limits_and_formulas():
    found = case_of(read(Subject, booster()), {"motor.slip.large": 0.05})
    other = found.of(read(Subject, booster()))
    assert other.limit("motor.slip.large") == 0.05
    assert other.value("motor.poles") == 4


def test_what_another_subject_was_refused_is_let_go_with_the_case_that_read_it():
    found = case()
    other = found.of(read(Subject, {}))
    assert found.known("motor.poles") == 4
    assert other.known("motor.poles") is None
    assert other.refused
    found.let_go()
    assert not other.refused


@pytest.mark.parametrize(
    ("document", "driven"),
    [
        ({"pump_set": {"tag": "PS-1"}}, True),
        ({"event": {"settings": {"as_left": {"motor_voltage": q("400", "V")}}}}, True),
        ({"drive": {"tag": "D-1"}}, True),
        ({"pump_set": {"tag": "PS-1", "drive": None}}, False),
        ({"motor": {"tag": "M-1"}}, False),
    ],
)
def test_a_set_has_a_drive_unless_it_is_said_to_have_none(document, driven):
    assert has_drive(case_of(read(Subject, document))) is driven


# -- once -----------------------------------------------------------------------------------------


def test_a_value_is_made_once_for_each_case_and_place():
    made: list[str] = []

    @once
    def squared(case: Case, place: str) -> float:
        made.append(place)
        return case.si(place) ** 2

    one, other = case(), case({"/site/elevation": {"value": "3", "unit": "m"}})
    assert squared(one, "/site/elevation") == squared(one, "/site/elevation")
    assert squared(other, "/site/elevation") == 9.0
    squared(one, "/rating/current")
    assert made == ["/site/elevation", "/site/elevation", "/rating/current"]


def test_what_is_made_of_a_case_alone_is_made_once_for_each_case_and_refused_alike():
    made: list[Case] = []

    @once
    def rated(case: Case) -> float:
        """The rated current."""
        made.append(case)
        return case.si("/rating/current")

    one, other = case(), case({"/motor/ratings/1/current": None})
    assert rated(one) == rated(one) == 68.7
    for _ in range(2):
        with pytest.raises(Missing, match="/motor/ratings/1/current"):
            rated(other)
    assert made == [one, other]
    assert rated.__doc__ == "The rated current."


def test_nothing_and_a_named_argument_are_kept_as_well():
    made: list[bool] = []

    @once
    def nothing(case: Case, *, deep: bool) -> None:
        made.append(deep)

    found = case()
    for deep in (True, False, True, False):
        assert nothing(found, deep=deep) is None
    assert made == [True, False]


def test_a_refusal_is_kept_without_the_steps_that_led_to_it():
    asked: list[str] = []

    @once
    def refused(case: Case, place: str) -> float:
        asked.append(place)
        raise Missing(place, because="no such thing")

    found, lengths = case(), []
    for _ in range(3):
        with pytest.raises(Missing, match="/here") as raised:
            refused(found, "/here")
        lengths.append(len(raised.traceback))
    assert asked == ["/here"]
    assert lengths[1] == lengths[2]


def test_a_case_holds_what_it_has_in_slots():
    """Rules ask it thousands of times: a dictionary of attributes makes a tenth of judging more."""
    assert not hasattr(case(), "__dict__")
