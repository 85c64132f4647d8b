"""Figures beside the tables that they belong to, or a line that says what they lack."""

from collections.abc import Callable, Iterable

from calculations.case import Case
from calculations.errors import CalculationError
from calculations.plots.answers import step_plot
from calculations.plots.errors import error_plot
from calculations.plots.lacking import Lacking
from calculations.plots.pumping import pump_plot
from records.documents import labels
from records.documents.blocks import Block, heading, paragraph
from records.documents.charts import history, pump_curves, sensor_errors, step_answers
from records.documents.charts.spec import Figure
from records.documents.charts.units import unit_of
from records.documents.charts.visits import MOST, visit_of
from records.documents.contents.source import Source, compact
from records.documents.figures import figure_block, values
from records.documents.placing import Part

_UNREADABLE = "No figure: this record was made in a form that is not read for drawing any more."
_TOO_LONG = (
    "Not drawn here unasked: that is done up to {most} rows, and this trace has {rows}. The link "
    "above the list of contents draws it, and so does the PDF of the sealed record."
)
_BEYOND = "No figure: the values are too large or too small to be drawn."


def pump(source: Source) -> list[Block]:
    """Pump and system with the duty points, or what is missing."""
    return _drawn(source, lambda case: _pump(source, case))


def pump_alone(source: Source) -> list[Block]:
    """The same where no point was measured: nothing unless it can be drawn for what was set."""
    case = source.plotted.case
    if case is None or case.settings is None or case.subject.pump is None:
        return []
    blocks = pump(source)
    return [heading("Pump and system"), *blocks] if is_figure(blocks) else []


def _pump(source: Source, case: Case) -> list[Block]:
    plot = pump_plot(case)
    if not plot.curves:
        return [_not_drawn(source, plot.lacking[:1])]
    system = source.shown.units
    units = pump_curves.Units(unit_of(case, "flow", system), unit_of(case, "head", system))
    points = source.event.see("duty_points") or ()
    purposes = [labels.word(str(point.get("purpose") or "")) for point in points]
    return _figure(source, pump_curves.figure(plot, units, purposes), plot.lacking)


def errors(source: Source, part: Part) -> list[Block]:
    """A sensor's errors, or what is missing."""

    def drawn(case: Case) -> list[Block]:
        plot = error_plot(case, part.at)
        if isinstance(plot, Lacking):
            return [_not_drawn(source, [plot])]
        return _figure(source, sensor_errors.figure(plot), plot.lacking)

    return _drawn(source, drawn)


def steps(source: Source) -> list[Block]:
    """The trace of every step test under its number, or what is missing."""
    tests = source.event.see("step_tests") or ()
    blocks: list[Block] = []
    for index, test in enumerate(tests):
        trace = str(test.get("trace") or "")
        name = source.shown.words("trace", trace) if trace else ""
        title = compact([f"Trace of step {index + 1}", name], ": ")
        blocks += [heading(title, 3), *_step(source, f"/event/step_tests/{index}", trace)]
    return blocks


def _step(source: Source, place: str, trace: str) -> list[Block]:
    most, rows = source.plotted.beside.most_rows, _rows(source, trace)
    if most is not None and rows > most:
        return [paragraph(_TOO_LONG.format(most=most, rows=rows), "small")]

    def drawn(case: Case) -> list[Block]:
        plot = step_plot(case, place, columns=step_answers.COLUMNS)
        if isinstance(plot, Lacking):
            return [_not_drawn(source, [plot])]
        regulated = case.find("/settings/regulated_quantity")
        quantity = labels.sentence(labels.word(regulated)) if regulated else "Feedback"
        unit = unit_of(case, "regulated", source.shown.units)
        return _figure(source, step_answers.figure(plot, unit, quantity), plot.lacking)

    return _drawn(source, drawn)


def _rows(source: Source, trace: str) -> int:
    """How many rows a trace has, as the record tells."""
    told = (each for each in source.record.see("traces") or () if each["id"] == trace)
    return next((int(each["rows"]) for each in told), 0)


def over_time(source: Source) -> list[Block]:
    """Head, efficiency and insulation from visit to visit; nothing where there is one."""
    earlier = source.plotted.beside.earlier
    if not earlier:
        return []
    visits = sorted([*earlier, visit_of(source.record.value)], key=lambda visit: visit.at)
    found = history.figure(visits, source.shown.zone)
    if found is None:
        return []
    words = f"This visit and the sealed ones of this pump set before it, at most the last {MOST}."
    drawn = figure_block(found, with_values=False)
    return [heading("From visit to visit"), paragraph(words, "small"), drawn, values(found)]


# -- blocks ---------------------------------------------------------------------------------------


def _drawn(source: Source, draw: Callable[[Case], list[Block]]) -> list[Block]:
    """Whatever can go wrong in drawing is told in its place, and never costs the document."""
    case = source.plotted.case
    if case is None:
        return [paragraph(_UNREADABLE, "small")]
    try:
        return draw(case)
    except (CalculationError, ArithmeticError, ValueError):
        return [paragraph(_BEYOND, "small")]


def _figure(source: Source, figure: Figure, lacking: Iterable[Lacking]) -> list[Block]:
    told = [_not_drawn(source, lacking)] if lacking else []
    return [figure_block(figure), *told]


def is_figure(blocks: Iterable[Block]) -> bool:
    """Whether there is a figure among blocks."""
    return any(block["kind"] == "figure" for block in blocks)


def _not_drawn(source: Source, lacking: Iterable[Lacking]) -> Block:
    """What is missing in the figure, and what it would need."""
    parts = "; ".join(_lack(source, each) for each in lacking)
    return paragraph(f"Not drawn: {parts}.", "small")


def _lack(source: Source, lacking: Lacking) -> str:
    waits = f"it waits for {lacking.waits_for}" if lacking.waits_for else ""
    places = " and ".join(source.place(each) for each in lacking.needs)
    needs = f"it needs {places}" if places and not lacking.because else ""
    why = compact([needs, lacking.because, waits], "; ")
    return f"{labels.word(lacking.part)} ({why})" if why else labels.word(lacking.part)
