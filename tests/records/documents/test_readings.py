"""What is told of each value of a record: its digits, its unit in SI, its piece, its place."""

import math

import pytest

from records.documents.contents.source import Source
from records.documents.readings import leaves, quantities
from tests.calculations.building_plates import q
from tests.records.documents import demo, full, sample
from tests.records.documents.reading_back import leaves as every_value

# What one of each unit is in SI: NIST SP 811 (2008), appendix B.8, but where it says otherwise.
IN_SI = {
    "psi": (6894.757, "Pa"),
    "bar": (1e5, "Pa"),
    "ft": (0.3048, "m"),
    "in": (0.0254, "m"),
    "mm": (1e-3, "m"),
    "gpm": (6.309020e-5, "m3/s"),
    "m3/h": (1 / 3600, "m3/s"),
    "L/s": (1e-3, "m3/s"),
    "hp": (745.6999, "W"),
    "kW": (1e3, "W"),
    "rpm": (1 / 60, "1/s"),
    "min": (60, "s"),
    "ms": (1e-3, "s"),
    "kHz": (1e3, "Hz"),
    "mA": (1e-3, "A"),
    "Mohm": (1e6, "ohm"),
    "%": (0.01, "1"),
    "lbf.ft": (1.355818, "N.m"),
    "V": (1, "V"),
    "A": (1, "A"),
    "Hz": (1, "Hz"),
    "kWh": (3.6e6, "J"),
}
TEMPERATURES = {"degC": lambda t: t + 273.15, "degF": lambda t: (t + 459.67) * 5 / 9}
SPANS = ("uncertainty", "resolution")


@pytest.mark.parametrize("name", demo.names())
def test_si_values_are_those_of_published_factors(name):
    checked = 0
    for leaf in quantities(demo.record_of(name)):
        found, step = leaf.quantity, leaf.place.rsplit("/", 1)[-1]
        if found.unit in IN_SI:
            factor, unit = IN_SI[found.unit]
            wanted = float(found.digits) * factor
        elif found.unit in TEMPERATURES and step not in SPANS:
            wanted, unit = TEMPERATURES[found.unit](float(found.digits)), "K"
        else:
            continue
        assert (pytest.approx(found.si, rel=1e-6), found.si_unit) == (wanted, unit), leaf
        checked += 1
    assert checked > 100


def test_an_uncertainty_of_half_a_degree_is_not_one_of_273_kelvin():
    record = sample.record()
    record["snapshot"]["instruments"] = [
        {"serial": "A", "uncertainty": q("0.5", "degC"), "range_high": q("50", "degC")},
        {"serial": "B", "resolution": q("1", "degF")},
    ]
    found = {f"{leaf.serial} {leaf.name}": leaf.quantity.si for leaf in quantities(record)
             if leaf.place.startswith("/snapshot/instruments/")}  # fmt: skip
    assert found["A uncertainty"] == 0.5
    assert found["A range_high"] == pytest.approx(323.15)
    assert found["B resolution"] == pytest.approx(5 / 9)


def test_wire_sizes_counts_and_positions_are_numbers_too():
    """ASTM B258: 4/0 AWG is 107.2 mm2, 6 AWG 13.30 mm2."""
    record = sample.record()
    record["snapshot"]["drive"]["motor_cable_conductor"] = "4/0 AWG"
    record["snapshot"]["site"] |= {"latitude": "-47.3120"}
    record["snapshot"]["motor"]["rating_in_use"] = 0
    found = {leaf.place: leaf.quantity for leaf in quantities(record)}
    wire = found["/snapshot/drive/motor_cable_conductor"]
    assert (wire.digits, wire.unit, wire.si_unit) == ("4/0", "AWG", "m2")
    assert math.isclose(wire.si, 107.2e-6, rel_tol=1e-3)
    assert found["/snapshot/site/latitude"].digits == "-47.3120"
    assert found["/snapshot/motor/poles"].unit == "1"
    assert "/snapshot/motor/rating_in_use" not in found


def test_every_value_of_the_fullest_record_is_told_once_with_its_place():
    record = full.record()
    told = [leaf.place for leaf in leaves(record)]
    assert len(told) == len(set(told))
    missing = [
        at for at, value in every_value(record)
        if value is not None and at not in told
        and not at.startswith(("/judgement/derived", "/judgement/findings", "/judgement/limits"))
    ]  # fmt: skip
    assert missing == []


@pytest.mark.parametrize("name", [*demo.names(), ""])
def test_places_are_called_as_in_the_other_documents(name):
    record = demo.record_of(name) if name else full.record()
    source = Source.of(record, {})
    for leaf in leaves(record):
        if not leaf.place.startswith("/judgement/"):
            assert leaf.words == source.place(leaf.place)


def test_the_order_does_not_depend_on_that_of_the_text():
    record = sample.record()
    turned = {name: record[name] for name in reversed(record)}
    turned["event"] = {name: record["event"][name] for name in reversed(record["event"])}
    assert list(leaves(record)) == list(leaves(turned))


def at(record, place):
    return next(leaf for leaf in leaves(record) if leaf.place == place)


def test_each_value_says_where_it_was_measured_and_in_which_state():
    record = sample.record()
    point = record["event"]["duty_points"][0]
    point["currents_drive_output"] = [q("28.5", "A"), q("28.3", "A"), q("28.0", "A")]
    record["event"]["supply"] = {"measured_at": "incoming_terminals", "frequency": q("60", "Hz")}
    leaf = at(record, "/event/duty_points/0/currents_drive_output/2")
    assert (leaf.measured_at, leaf.state) == ("drive_output", "")
    assert leaf.words.endswith("current 3")
    assert at(record, "/event/supply/frequency").measured_at == "incoming_terminals"
    assert at(record, "/event/settings/as_found/motor_current").state == "as_found"
    assert at(record, "/event/settings/as_left/motor_current").state == "as_left"


def test_each_value_says_of_which_piece_it_is():
    record = sample.record()
    snapshot, event = record["snapshot"], record["event"]
    for kind in ("pump_set", "pump", "motor", "drive"):
        snapshot[kind] |= {"tag": kind.upper(), "serial": f"{kind} 1"}
    snapshot["sensors"] = [{"tag": "PT-1", "serial": "S 1"}, {"tag": "PT-2", "serial": "S 2"}]
    event["sensor_verifications"] = [{"sensor": "S 2", "as_found": [{"applied": q("10", "psi")}]}]
    snapshot["neighbours"] = [{"pump_set": {"tag": "PS-9"}, "drive": {"tag": "D-9"},
                               "settings": {"motor_current": q("1", "A")}}]  # fmt: skip
    record["judgement"]["derived"] = [
        {"id": "motor.slip", "subject": "/motor/ratings/0", "value": "1", "unit": "%",
         "formula": "f", "source": "s"},
    ]  # fmt: skip
    tags = {leaf.place: (leaf.tag, leaf.serial) for leaf in leaves(record)}
    assert tags["/event/settings/as_left/motor_current"] == ("DRIVE", "drive 1")
    assert tags["/event/sensor_verifications/0/as_found/0/applied"] == ("PT-2", "S 2")
    assert tags["/event/duty_points/0/flow"] == ("PUMP_SET", "pump_set 1")
    assert tags["/snapshot/neighbours/0/settings/motor_current"] == ("D-9", "")
    assert tags["/judgement/derived/0"] == ("MOTOR", "motor 1")
    assert tags["/snapshot/site/name"] == ("", "")
