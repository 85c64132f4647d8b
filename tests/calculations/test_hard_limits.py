"""Hard limits of the inputs: impossible values and certain slips are refused by name.

The limits are common practice; none of them has a source.
"""

import importlib
import inspect
import pkgutil

import pytest
from pydantic import BaseModel

from calculations import inputs
from calculations.inputs.base import Of, element, json_schema
from calculations.inputs.event import Event
from calculations.inputs.motor import Motor
from calculations.inputs.pump import Pump
from calculations.inputs.pump_set import PumpSet
from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.sensor import Instrument, Sensor
from calculations.inputs.settings import Settings
from calculations.inputs.site import Site
from tests.calculations.building_plates import q


def fields():
    """Every field that holds a quantity, by model and name."""
    for found in pkgutil.iter_modules(inputs.__path__):
        module = importlib.import_module(f"calculations.inputs.{found.name}")
        for model in vars(module).values():
            own = inspect.isclass(model) and issubclass(model, BaseModel)
            if own and model.__module__ == module.__name__:
                for name, field in model.model_fields.items():
                    yield from ((model, name, m) for m in field.metadata if isinstance(m, Of))


def test_a_field_of_one_kind_has_a_limit_at_both_ends():
    """Where a field takes several kinds no one number limits it; a conductor is no number line."""
    open_ended = [
        f"{model.__name__}.{name}"
        for model, name, of in fields()
        if len(of.kinds) == 1 and of.kinds != ("conductor",) and not (of.low and of.high)
    ]
    assert open_ended == []


HEIGHTS = ("suction_level_low", "suction_level_high", "wet_well_floor", "inlet_invert",
           "overflow_level")  # fmt: skip
LIMITS = [
    *((Site, name, q("10000", "m"), q("10001", "m")) for name in HEIGHTS),
    *((Site, name, q("-10000", "m"), q("-10001", "m")) for name in HEIGHTS),
    (Sensor, "tapping_elevation", q("32808", "ft"), q("32809", "ft")),  # 10,000 m are 32,808.4 ft
    (Sensor, "volume_per_pulse", q("1000", "m3"), q("1001", "m3")),
    (Motor, "duty_minutes", q("24", "h"), q("1441", "min")),
    (Motor, "stator_resistance", q("10", "kohm"), q("10.1", "kohm")),
    (Instrument, "percent_of_range", q("100", "%"), q("101", "%")),
    (Instrument, "percent_of_reading", q("100", "%"), q("101", "%")),
    (Instrument, "digits", q("1000", "1"), q("1001", "1")),
]


@pytest.mark.parametrize(("model", "name", "taken", "refused"), LIMITS)
def test_the_limit_is_taken_and_what_lies_beyond_is_refused(model, name, taken, refused):
    assert getattr(read(model, {name: taken}), name).value == taken["value"]
    with pytest.raises(InvalidDocument) as raised:
        read(model, {name: refused})
    (problem,) = raised.value.problems
    assert (problem.pointer, problem.code) == (f"/{name}", "out_of_range")


@pytest.mark.parametrize(
    ("model", "name", "lowest", "highest"),
    [
        (Motor, "poles", 2, 24),
        (Motor, "thermal_sensor_count", 0, 50),
        (Motor, "year_built", 1900, 2200),
        (Motor, "maximum_starts_per_hour", 1, 60),
        (Pump, "maximum_starts_per_hour", 1, 60),
        (Pump, "stages", 1, 400),
        (PumpSet, "position_in_group", 1, 12),
        (Settings, "pumps_in_group", 1, 12),
        (Settings, "pumps_maximum_running", 1, 12),
    ],
)
def test_the_ends_of_a_count(model, name, lowest, highest):
    for taken in (lowest, highest):
        assert getattr(read(model, {name: taken}), name) == taken
    for refused in (lowest - 1, highest + 1):
        with pytest.raises(InvalidDocument) as raised:
            read(model, {name: refused})
        assert f"/{name}" in {each.pointer for each in raised.value.problems}


@pytest.mark.parametrize(("value", "unit", "taken"), [
    ("0.05", "ohm", True), ("100", "Mohm", True), ("101", "Mohm", False), ("-0.1", "ohm", False),
])  # fmt: skip
def test_an_earth_connection(value, unit, taken):
    """An open one may read as much as the meter shows."""
    document = {"earth_tests": [{"from": "a", "to": "b", "resistance": q(value, unit)}]}
    if taken:
        assert read(Event, document).earth_tests
        return
    with pytest.raises(InvalidDocument) as raised:
        read(Event, document)
    assert [each.pointer for each in raised.value.problems] == ["/earth_tests/0/resistance"]


@pytest.mark.parametrize(("value", "taken"), [("0", True), ("-0.0000000000000001", False)])
def test_less_than_nothing_is_not_taken_for_nothing(value, taken):
    """A conversion may miss a limit by the last bit, but none makes less of nothing."""
    document = {"suction_loss": q(value, "m")}
    if taken:
        assert read(Site, document).suction_loss
        return
    with pytest.raises(InvalidDocument):
        read(Site, document)


def test_only_a_field_may_be_null_and_no_element_of_a_list():
    null = {"type": "null"}
    assert null in json_schema(Of(("length",)))["anyOf"]
    assert null not in json_schema(element("length")).get("anyOf", [])


@pytest.mark.parametrize(
    ("kinds", "alone"), [(("conductor",), True), (("length",), False), (("ratio",), False)]
)
def test_only_a_conductor_may_be_a_gauge_without_a_unit(kinds, alone):
    choices = json_schema(Of(kinds))["anyOf"]
    assert any("6 AWG" in each.get("examples", ()) for each in choices) is alone


def falling(count):
    """A curve of so many points, 1 m less at every m3/h."""
    return {"curve_points": [{"flow": q(str(at), "m3/h"), "head": q(str(300 - at), "m")}
                             for at in range(count)]}  # fmt: skip


def at_points(**values):
    return {"duty_points": [{"purpose": "design", **values}]}


@pytest.mark.parametrize(
    ("model", "good", "bad"),
    [
        (Motor, {"rating_in_use": 0}, {"rating_in_use": -1}),
        (Motor, {"rating_in_use": 5}, {"rating_in_use": 6}),
        (Settings, {"restart_attempts": 0}, {"restart_attempts": -1}),
        (Settings, {"restart_attempts": 20}, {"restart_attempts": 21}),
        (Event, {"remarks": 2000 * "x"}, {"remarks": 2001 * "x"}),
        (Event, {"earth_tests": 200 * [{}]}, {"earth_tests": 201 * [{}]}),
        (Pump, falling(200), falling(201)),
        (
            Event,
            at_points(bearing_temperatures=20 * [q("60", "degC")]),
            at_points(bearing_temperatures=21 * [q("60", "degC")]),
        ),
    ],
)
def test_counts_and_texts_have_ends(model, good, bad):
    read(model, good)
    with pytest.raises(InvalidDocument):
        read(model, bad)


@pytest.mark.parametrize(
    ("stated", "place", "whose"),
    [
        ({"range_high": q("10", "bar"), "range_low": q("0", "V")}, "range_low", "the range"),
        ({"range_high": q("10", "bar"), "uncertainty": q("1", "V")}, "uncertainty", "the range"),
        ({"range_low": q("10", "bar"), "resolution": q("1", "V")}, "resolution", "the range"),
        (
            {"resolution": q("1", "bar"), "uncertainty": q("1", "V")},
            "uncertainty",
            "the resolution",
        ),
    ],
)
def test_an_instrument_is_of_one_kind(stated, place, whose):
    with pytest.raises(InvalidDocument) as raised:
        read(Instrument, stated)
    told = {each.pointer: each.detail for each in raised.value.problems}
    assert told == {f"/{place}/unit": f"expected a unit of pressure as of {whose}"}


@pytest.mark.parametrize(("share", "taken"), [("0.2", False), ("0.201", True), ("0.999", True),
                                              ("1", False)])  # fmt: skip
def test_an_end_that_no_value_has_is_not_taken(share, taken):
    document = {"ratings": [{"efficiency": q(share, "1")}]}
    if taken:
        read(Motor, document)
    else:
        with pytest.raises(InvalidDocument):
            read(Motor, document)
