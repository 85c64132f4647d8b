"""What a document is refused with: its place, a code for programs, words for people.

Formats are those of RFC 3339 and RFC 9562; the limits are common practice, without a source.
"""

import pytest

from calculations.inputs.drive import Drive
from calculations.inputs.entered import NumberText
from calculations.inputs.event import Event, Parties
from calculations.inputs.motor import Motor
from calculations.inputs.pump import Pump
from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.sensor import Sensor
from calculations.inputs.settings import Settings
from calculations.inputs.site import Site
from tests.calculations.building_plates import q

UUID = "expected a UUID such as 01890a5d-ac96-774b-bcce-b302099a8057"
TIME = "expected an RFC 3339 time with offset: 2026-03-14T09:30:00+01:00"
DAY = "expected a date such as 2026-03-14"
DEGREES = "expected decimal degrees such as 51.5072"
RISING = "expected flows that rise from point to point"
WALL = "expected a wall thinner than half of the bore"
SIZE = 'expected a size such as "6 AWG", "250 kcmil" or {"value": "10", "unit": "mm2"}'


def row(flow: str | None, head: str | None = "20") -> dict:
    """A point of a curve in m3/h and m."""
    given = {"flow": (flow, "m3/h"), "head": (head, "m")}
    return {name: q(value, unit) for name, (value, unit) in given.items() if value is not None}


def refused(model: type, document: object) -> list[tuple[str, str, str]]:
    with pytest.raises(InvalidDocument) as raised:
        read(model, document)
    return [(each.pointer, each.code, each.detail) for each in raised.value.problems]


@pytest.mark.parametrize(
    ("model", "document", "pointer", "code", "words"),
    [
        (Site, {"latitude": "90.01"}, "/latitude", "out_of_range",
         "expected degrees between -90 and 90"),
        (Site, {"longitude": "-180.5"}, "/longitude", "out_of_range",
         "expected degrees between -180 and 180"),
        (Site, {"latitude": "51°30'"}, "/latitude", "degrees", DEGREES),
        (Site, {"latitude": [51]}, "/latitude", "degrees", DEGREES),
        (Site, {"system_curve_points": [row("0")]}, "/system_curve_points", "too_short",
         "expected at least 2 points"),
        (Site, {"system_curve_points": [row("0"), row("9"), row("9")]}, "/system_curve_points",
         "order", RISING),
        (Site, {"pipeline": {"wall_thickness": q("50", "mm"), "inside_diameter": q("100", "mm")}},
         "/pipeline/wall_thickness", "out_of_range", WALL),
        (Pump, {"curve_points": [row("0"), row("9")]}, "/curve_points", "too_short",
         "expected at least 3 points"),
        (Pump, {"curve_points": [row("0"), row("9", None), row("18")]}, "/curve_points",
         "incomplete", "expected flow and head in every point"),
        (Pump, {"curve_points": [row("0"), row(None), row("18")]}, "/curve_points",
         "incomplete", "expected flow and head in every point"),
        (Sensor, {"lower_range_value": q("1", "bar"), "upper_range_value": q("1", "bar")},
         "/upper_range_value", "zero_span", "expected a value other than the lower"),
        (Sensor, {"lower_range_value": q("0", "bar"), "upper_range_value": q("1", "m")},
         "/upper_range_value/unit", "wrong_unit",
         "expected a unit of pressure as of the lower range value"),
        (Motor, {"poles": 3}, "/poles", "poles", "expected an even number of poles"),
        (Motor, {"poles": "4.5"}, "/poles", "count", "expected a whole number"),
        (Motor, {"poles": True}, "/poles", "count", "expected a whole number"),
        (Motor, {"poles": 0}, "/poles", "out_of_range", "expected at least 2"),
        (Motor, {"poles": 26}, "/poles", "out_of_range", "expected at most 24"),
        (Motor, {"ratings": [{"power": q("1", "psi")}]}, "/ratings/0/power/unit", "wrong_unit",
         None),
        (Motor, {"ratings": [{"power": {"value": "1,5", "unit": "kW"}}]},
         "/ratings/0/power/value", "not_a_number",
         "expected a decimal number such as 7.50, got '1,5'"),
        (Motor, {"ratings": [{"power": {"value": "1.5", "unit": 7}}]},
         "/ratings/0/power/unit", "wrong_unit", "expected the unit as text"),
        (Motor, {"id": "7"}, "/id", "id", UUID),
        (Motor, {"id": "00000000-0000-0000-0000-000000000000"}, "/id", "id", UUID),
        (Motor, {"id": 7}, "/id", "id", "expected a UUID as text"),
        (Motor, {"in_service_from": "2026-02-30"}, "/in_service_from", "date", DAY),
        (Motor, {"in_service_from": "14.03.2026"}, "/in_service_from", "date", DAY),
        (Motor, {"in_service_from": 2026}, "/in_service_from", "date", DAY),
        (Motor, {"tag": NumberText("101")}, "/tag", "text",
         "expected text in quotation marks, got a number"),
        (Motor, {"tag": "x" * 2001}, "/tag", "too_long", "expected at most 2,000 characters"),
        (Motor, {"immersed": "yes"}, "/immersed", "boolean", "expected true or false"),
        (Motor, {"ratings": {}}, "/ratings", "list", "expected a list"),
        (Motor, {"ratings": [1]}, "/ratings/0", "object", "expected an object"),
        (Motor, {"colour": "red"}, "/colour", "unknown_field", "there is no such field here"),
        (Motor, {"a/b~c": 1}, "/a~1b~0c", "unknown_field", "there is no such field here"),
        (Site, {"supply_phases": 2}, "/supply_phases", "choice", "expected one of 1, 3"),
        (Parties, {"client_present": 1}, "/client_present", "text", "expected text"),
        (Event, {"performed_at": "2026-03-14T09:30:00"}, "/performed_at", "time", TIME),
        (Event, {"performed_at": "2026-13-14T09:30:00Z"}, "/performed_at", "time", TIME),
        (Event, {"performed_at": 1}, "/performed_at", "time", TIME),
        (Event, {"level_tests": [{}]}, "/level_tests/0/name", "required",
         "this field is required"),
        (Settings, {"skip_bands": [{}] * 21}, "/skip_bands", "too_long",
         "expected at most 20 elements, got 21"),
        (Drive, {"motor_cable_conductor": "4/1 AWG"}, "/motor_cable_conductor", "conductor", SIZE),
        (Drive, {"motor_cable_conductor": "41 AWG"}, "/motor_cable_conductor", "conductor",
         "American wire gauge runs from 4/0 to 40"),
    ],
)  # fmt: skip
def test_a_refusal_names_the_place_and_what_was_expected(model, document, pointer, code, words):
    ((place, given, said),) = refused(model, document)
    assert (place, given) == (pointer, code)
    assert words is None or said == words


@pytest.mark.parametrize(
    ("model", "document"),
    [
        (Site, {"latitude": "-90"}),
        (Site, {"longitude": "180.000"}),
        (Site, {"system_curve_points": [row("0"), row("9")]}),
        (Site, {"system_curve_points": [row(None), row("9")]}),
        (Site, {"pipeline": {"wall_thickness": q("49.9", "mm"),
                             "inside_diameter": q("100", "mm")}}),
        (Site, {"pipeline": {"wall_thickness": q("50", "mm")}}),
        (Pump, {"curve_points": [row("0"), row("9"), row("18")]}),
        (Sensor, {"lower_range_value": q("1", "bar")}),
        (Sensor, {"lower_range_value": q("4", "bar"), "upper_range_value": q("1", "bar")}),
        (Motor, {"poles": "4.0"}),
        (Motor, {"poles": {"value": "4", "unit": "1"}}),
        (Motor, {"poles": 24}),
        (Motor, {"tag": "x" * 2000}),
        (Event, {"performed_at": "2026-03-14t09:30:00.123456z"}),
        (Settings, {"skip_bands": [{}] * 20}),
        (Drive, {"motor_cable_conductor": "4/0 AWG"}),
        (Drive, {"motor_cable_conductor": "250 kcmil"}),
    ],
)  # fmt: skip
def test_what_lies_at_the_limit_is_taken(model, document):
    assert read(model, document).model_dump(exclude_none=True).keys() == document.keys()


def test_every_error_of_a_document_is_told_at_once():
    document = {"poles": 3, "tag": 7, "ratings": [{"power": "15 kW"}]}
    places = {place for place, _, _ in refused(Motor, document)}
    assert places == {"/poles", "/tag", "/ratings/0/power"}


@pytest.mark.parametrize(
    ("size", "area"),
    [("4/0 AWG", 107.22), ("40 AWG", 0.00501), ("250 kcmil", 126.68)],  # mm2, ASTM B258
)
def test_a_conductor_is_its_area_and_stays_as_it_was_written(size, area):
    found = read(Drive, {"motor_cable_conductor": size}).motor_cable_conductor
    assert found.si * 1e6 == pytest.approx(area, rel=1e-3)
    assert f"{found.value} {found.unit}" == size


@pytest.mark.parametrize("given", [3, "3"])
def test_a_number_of_phases_may_stand_as_text(given):
    """As every other number may: digits are read, words and other numbers are not."""
    assert read(Site, {"supply_phases": given}).supply_phases == 3
    assert type(read(Motor, {"phases": given}).phases) is int
