"""Figures in a record's PDF: near their tables, with words, to the standards, or a line instead."""

from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from pypdf.generic import IndirectObject

from calculations.errors import CalculationError
from calculations.recordings import Column, Recording
from records.documents.charts.beside import NOTHING, Beside
from records.documents.charts.visits import visit_of
from records.documents.contents import duty_points, figures, site_tests, verifications
from records.documents.contents.source import Source
from records.documents.record_pdf import Style, render
from tests.calculations.building_event import TRACE
from tests.calculations.rules.test_loop_traces import STEP, stepped
from tests.records.documents import demo, sample
from tests.records.documents.reading_back import reader, squeezed, text
from tests.records.documents.test_conformance import STANDARDS, faults

Document = dict[str, Any]


def stepped_record() -> Document:
    """The ordinary record with a step of the set point."""
    record = sample.record()
    record["event"]["step_tests"] = [dict(STEP)]
    return record


@cache
def beside() -> Beside:
    """Its rows, and a visit of a year before."""
    before = sample.record() | {"number": 3}
    before["event"]["performed_at"] = "2025-03-14T09:30:00-05:00"
    return Beside(stepped(0.5), (visit_of(before),))


def printed(record: Document, style: Style | None = None, extra: Beside | None = None) -> bytes:
    seal, data = sample.sealed(record)
    return render(record, seal, data, style or Style(), extra or beside())


@cache
def whole() -> bytes:
    return printed(stepped_record())


def alternatives(pdf: bytes) -> list[str]:
    """What a screen reader says of each figure."""
    tree = reader(pdf).trailer["/Root"]["/StructTreeRoot"]
    return [str(each["/Alt"]) for each in _elements(tree) if each.get("/S") == "/Figure"]


def _elements(element: Any) -> Iterator[Any]:
    element = element.get_object() if isinstance(element, IndirectObject) else element
    if isinstance(element, list):
        for inner in element:
            yield from _elements(inner)
    elif isinstance(element, dict):
        yield element
        yield from _elements(element.get("/K"))


def said(record: Document, extra: Beside = NOTHING) -> str:
    return squeezed(text(printed(record, extra=extra)))


# -- on paper -------------------------------------------------------------------------------------


def test_every_kind_of_figure_has_its_words():
    pump, first, second, step, visits = alternatives(whole())
    # By hand in `plots/test_pumping`: 260 ft (1076.5 / 1770)^2.
    assert pump.startswith(
        "Head over flow. Minimum speed (36\u00a0Hz, 1076\u00a0rpm at no flow): 96.2 ft at no flow"
    )
    # 0.125 % at 25 and 50 % of span, by hand in `test_record_words`.
    assert "errors from 0 % to +0.12 %" in first
    assert second.startswith("Error over applied value")
    assert "Overshoot 16 % of the step." in step
    assert visits.startswith("2 visits from 2025-03-14 to 2026-03-14.")


def test_they_stand_under_the_heading_of_their_tables():
    words = squeezed(text(whole()))
    at = [words.index(squeezed(each)) for each in (
        "Duty points", "Minimum speed (36", "Sensor verifications", "Tolerance, ±0.5 % of span",
        "Steps of the regulation", "Trace of step 1", "Settled: within", "From visit to visit",
        "Head of the pump's curve",
    )]  # fmt: skip
    assert at == sorted(at)


@pytest.mark.parametrize("style", [Style(), Style("us", "letter"), Style("si", "a4")], ids=str)
def test_with_figures_it_keeps_to_the_standards(style):
    pdf = printed(stepped_record(), style)
    assert [fault for standard in STANDARDS for fault in faults(pdf, standard)] == []


def test_the_same_input_gives_the_same_bytes():
    assert printed(stepped_record()) == whole()


def test_units_are_those_of_the_style():
    metric = alternatives(printed(stepped_record(), Style("si")))
    # 1000 gpm are 227 m3/h, 125.6 ft are 38.3 m; 85 psi are 586 kPa.
    assert "point 1 (design): 227 m³/h, 38.3 m" in metric[0]
    assert "Set point at the end 586.1 kPa." in metric[3]
    assert "point 1 (design): 1000 gpm, 126 ft" in alternatives(whole())[0]


@pytest.mark.parametrize("name", demo.names())
def test_every_record_of_the_demo_has_a_figure_for_what_it_holds(name):
    record = demo.record_of(name)
    source = Source.of(record, {})
    verified = record["event"].get("sensor_verifications") or ()
    drawn = [block for block in verifications.verifications(source) if block["kind"] == "figure"]
    assert len(drawn) == len(verified)
    pump = [block for block in duty_points.duty_points(source) if block["kind"] == "figure"]
    assert len(pump) == bool(record["snapshot"].get("pump"))


# -- what is missing ------------------------------------------------------------------------------


def test_a_record_without_a_curve_says_what_it_needs():
    record = sample.record()
    del record["snapshot"]["pump"]["curve_points"]
    assert squeezed("Not drawn: pump curve (it needs pump, curve points).") in said(record)


def test_parts_that_are_missing_are_named_under_the_figure():
    record = sample.record()
    del record["snapshot"]["site"]["system_design_head"]
    del record["event"]["duty_points"][1]["flow"]
    words = said(record)
    assert (
        squeezed("Not drawn: point 2 (it needs duty point 2 (normal), flow); system curve") in words
    )
    assert squeezed("Minimum speed (36") in words


def test_a_step_without_rows_says_so():
    words = said(stepped_record())
    assert squeezed("Not drawn: trace (the rows of this trace are not at hand).") in words


def test_a_sensor_that_lacks_its_range_says_so():
    record = sample.record()
    del record["snapshot"]["sensors"][0]["upper_range_value"]
    assert squeezed("Not drawn: as found (it needs sensor PT-101, upper range value).") in said(
        record
    )


def test_one_visit_has_no_history_and_no_heading():
    assert squeezed("From visit to visit") not in said(sample.record())


def test_documents_that_today_are_refused_cost_the_figures_alone():
    source = Source.of(sample.record() | {"event": {"sensors": 5}}, {})
    [told] = figures.pump(source)
    assert "not read for drawing any more" in "".join(told["text"])


def test_a_trace_that_is_too_long_for_a_page_is_told():
    record = stepped_record() | {"traces": [{"id": TRACE, "rows": 90_000}]}
    source = Source.of(record, {}, beside=Beside(most_rows=20_000))
    [told] = [block for block in site_tests.levels(source) if "Not drawn" in str(block)]
    assert "up to 20000 rows, and this trace has 90000" in "".join(told["text"])


@pytest.mark.parametrize("error", [OverflowError, ValueError, CalculationError])
def test_what_cannot_be_drawn_is_told_in_its_place(error, monkeypatch):
    def failing(*_):
        raise error("too large")

    monkeypatch.setattr(figures, "pump_plot", failing)
    [told] = figures.pump(Source.of(sample.record(), {}))
    assert "too large or too small to be drawn" in "".join(told["text"])


def test_values_of_any_size_do_not_abort():
    record = stepped_record()
    record["event"]["duty_points"][0]["flow"] = {"value": "499999", "unit": "m3/h"}
    rows = Recording([0.0, 1e-9, 1e9], {"feedback": Column("psi", [0.0, 1e12, -1e12])})
    words = said(record, Beside({TRACE: rows}))
    assert squeezed("Trace of step 1") in words
