"""Traces as text: what is read, how it is kept, and what is said of what cannot be read."""

import io
import math
import random
import time
import tracemalloc
from itertools import chain
from zoneinfo import ZoneInfo

import pytest

from calculations import traces
from records.errors import Invalid
from records.services import trace_text


def kept(*lines: str) -> str:
    file = io.BytesIO()
    trace_text.write_csv(lines, file)
    return file.getvalue().decode()


def written(*lines: str) -> trace_text.Written:
    return trace_text.write_csv(lines, io.BytesIO())


def wrong(*lines: str) -> list[tuple[str, str]]:
    with pytest.raises(Invalid) as refused:
        written(*lines)
    return [(problem.pointer, problem.detail) for problem in refused.value.problems]


def columns(**given) -> dict:
    units = {"time": "s", "feedback": "bar", "output_frequency": "Hz"}
    return {name: {"unit": units[name], "values": values} for name, values in given.items()}


def test_digits_are_kept_as_they_were_sent():
    text = kept("time [s],feedback [psi]\n", "0,60.10\n", "0.50,6.02e1\n")
    assert text == "time [s],feedback [psi]\n0,60.10\n0.50,6.02e1\n"


def test_round_brackets_other_line_ends_and_a_mark_of_byte_order_are_read():
    text = kept("\ufefftime (s), feedback (psi)\r\n", "0, 60\r\n", "\r\n", "1, 61\r\n")
    assert text == "time [s],feedback [psi]\n0,60\n1,61\n"


def test_semicolons_come_with_decimal_commas():
    text = kept("time [s];feedback [bar]\n", "0,5;4,13\n")
    assert text == "time [s],feedback [bar]\n0.5,4.13\n"


@pytest.mark.parametrize("number", ["0.5", "0,5"])
def test_tabs_divide_as_well_with_either_decimal_sign(number):
    text = kept("time [s]\tfeedback [bar]\r\n", f"{number}\t4.13\r\n")
    assert text == "time [s],feedback [bar]\n0.5,4.13\n"


def test_a_tab_beside_a_comma_or_semicolon_divides_nothing():
    for divider in (",", ";"):
        text = kept(f"time [s]{divider}\tfeedback [bar]\n", f"0{divider}\t4.13\n")
        assert text == "time [s],feedback [bar]\n0,4.13\n"


@pytest.mark.parametrize("heading", ["a{}!", "a [{}!", "{}a", "a{}", "-{}["])
def test_a_long_heading_is_refused_at_once(heading):
    """In a time that grows as its length: tried in every way this one would take hours."""
    begun = time.process_time()
    told = wrong(f"time [s],feedback [bar],{heading.format(' ' * 100_000)}\n")
    assert [pointer for pointer, _ in told] == ["/columns/2"]
    assert len(told[0][1]) < 200
    assert time.process_time() - begun < 5


def test_names_are_known_whatever_their_letters_and_what_joins_their_words():
    text = kept("Time (s),Set point [bar],FEEDBACK [bar],Output-Frequency [Hz]\n", "0,4,4.1,50\n")
    assert text.startswith("time [s],set_point [bar],feedback [bar],output_frequency [Hz]\n")


@pytest.mark.parametrize("blank", ["\n", "\t", "\r", "\x0b", "\x1f", " "])
def test_what_stands_around_a_number_in_its_cell_is_not_kept(blank):
    """A line's end within quotes would else be one in the middle of the row that is kept."""
    head = "time [s],feedback [psi]\n"
    assert kept(head, f'"0{blank}","{blank}60"\n') == head + "0,60\n"
    file = io.BytesIO()
    trace_text.write_columns(columns(time=[f"0{blank}"], feedback=[f"{blank}60"]), file)
    assert file.getvalue() == b"time [s],feedback [bar]\n0,60\n"


@pytest.mark.parametrize("cell", ["", "NaN", "nan", "-", " "])
def test_a_sample_without_a_value_is_an_empty_cell(cell):
    text = kept("time [s],feedback [psi]\n", f"0,{cell}\n")
    assert text.endswith("\n0,\n")
    [value] = trace_text.recording(text.splitlines(True)).columns["feedback"].values
    assert math.isnan(value)


def test_instants_become_seconds_from_the_first_one_on():
    lines = (
        "time,feedback [psi]\n",
        "2026-03-04T23:59:59.5+00:00,60\n",
        "2026-03-05T01:00:00.25+01:00,61\n",
    )
    assert kept(*lines) == "time [s],feedback [psi]\n0.000000,60\n0.750000,61\n"


DENVER = ZoneInfo("America/Denver")
"""Standard time UTC-7 until 2026-03-08 02:00, summer time UTC-6 until 2026-11-01 02:00 (IANA)."""


def in_denver(*times: str) -> str:
    file = io.BytesIO()
    rows = [f"{time},60\n" for time in times]
    trace_text.write_csv(["time,feedback [psi]\n", *rows], file, DENVER)
    return file.getvalue().decode()


def test_instants_without_an_offset_are_the_stations_own():
    told = in_denver("2026-03-07 10:15:00", "2026-03-07 10:15:00.5")
    assert told == "time [s],feedback [psi]\n0.000000,60\n0.500000,60\n"
    over_the_change = in_denver("2026-03-08 01:59:59", "2026-03-08 03:00:01")
    assert over_the_change.endswith("0.000000,60\n2.000000,60\n")
    back = in_denver("2026-11-01 00:59:59", "2026-11-01 02:00:01")
    assert back.endswith("0.000000,60\n7202.000000,60\n")


@pytest.mark.parametrize("time", ["2026-03-08 02:30:00", "2026-11-01 01:30:00"])
def test_in_an_hour_that_comes_twice_or_never_the_offset_is_asked_for(time):
    with pytest.raises(Invalid) as refused:
        in_denver("2026-03-08 00:30:00", time)
    [problem] = refused.value.problems
    assert problem.pointer == "/rows/1/time"
    assert problem.detail.startswith("expected a time with its offset")
    assert "clocks are changed" in problem.detail
    assert in_denver(f"{time}-07:00").endswith("0.000000,60\n")


@pytest.mark.parametrize("time", ["0001-01-01T00:00:00+10:00", "9999-12-31T23:00:00-10:00"])
def test_an_instant_before_or_after_all_years_is_named(time):
    [(place, said)] = wrong("time,feedback [psi]\n", f"{time},60\n")
    assert place == "/rows/0/time"
    assert "years 1 to 9999" in said


@pytest.mark.parametrize("offsets", [("", "-07:00"), ("Z", "")])
def test_times_come_all_with_their_offset_or_all_without(offsets):
    first, second = offsets
    with pytest.raises(Invalid) as refused:
        in_denver(f"2026-03-07T10:15:00{first}", f"2026-03-07T10:15:01{second}")
    [problem] = refused.value.problems
    assert problem.detail.startswith("expected every time with its offset, or none")


def test_without_a_zone_the_offset_is_asked_for():
    [(place, said)] = wrong("time,feedback [psi]\n", "2026-03-04 10:15:00,60\n")
    assert place == "/rows/0/time"
    assert said.startswith("expected a time with its offset")


def test_even_samples_have_an_interval_and_others_none():
    head = "time [ms],feedback [psi]\n"
    assert written(head, "0,1\n", "250,1\n", "500,1\n").sample_interval == pytest.approx(0.25)
    assert written(head, "0,1\n", "250,1\n", "600,1\n").sample_interval is None
    assert written(head, "250,1\n", "0,1\n").sample_interval is None
    assert written(head, "250,1\n").sample_interval is None


def test_time_that_runs_backwards_is_kept_as_it_is():
    """A rule says so: what was recorded is not the reader's to mend."""
    assert kept("time [s],feedback [psi]\n", "1,5\n", "0,6\n").endswith("1,5\n0,6\n")


def test_a_million_values_come_back_equal():
    source = random.Random(20260304)
    count = 250_000
    given = {
        "time": [index * 0.1 for index in range(count)],
        "feedback": [source.gauss(4, 1) for _ in range(count)],
        "output_frequency": [source.uniform(0, 60) for _ in range(count)],
    }
    given["feedback"][7] = math.nan
    file = io.BytesIO()
    trace_text.write_columns(columns(**given), file)
    found = trace_text.recording(file.getvalue().decode().splitlines(True))
    assert list(found.times) == given["time"]
    assert list(found.columns["output_frequency"].values) == given["output_frequency"]
    feedback = list(found.columns["feedback"].values)
    assert math.isnan(feedback.pop(7))
    assert feedback == given["feedback"][:7] + given["feedback"][8:]


@pytest.mark.parametrize(
    ("head", "pointer", "words"),
    [
        ("time [s],pressure [psi]", "/columns/1", "expected one of time, set_point, feedback"),
        ("time [s],feedback", "/columns/1", "got none"),
        ("time [s],feedback [kW]", "/columns/1", "got 'kW'"),
        ("time [psi],feedback [psi]", "/columns/0", "expected a unit of time"),
        ("time [s],feedback [psi],running_pumps [bar]", "/columns/2", "without a unit"),
        ("time [s],flow [gpm]", "/columns", "feedback not found"),
        ("time [s],feedback [psi],feedback [bar]", "/columns", "feedback stands twice"),
        ("", "/columns", "time and feedback not found"),
    ],
)
def test_a_heading_that_cannot_be_read_is_named(head, pointer, words):
    found = wrong(head + "\n", "0,1\n")
    assert pointer in [place for place, _ in found]
    assert any(words in detail for _, detail in found)


@pytest.mark.parametrize(
    "cell",
    [
        *("6O", "1_0", "1,2", "inf", "-Infinity", "0x10", "٣", "true"),
        *("1e400", "1e31", "-1e31"),  # of a quantity 1e30 at most, in whatever unit
    ],
)
def test_a_cell_that_is_no_number_is_named_with_its_row(cell):
    found = wrong("time [s],feedback [psi]\n", "0,60\n", f'1,"{cell}"\n')
    [(pointer, words)] = found
    assert pointer == "/rows/1/feedback"
    assert "expected a" in words
    assert repr(cell) in words


def test_every_row_counts_its_cells_and_twenty_problems_are_enough():
    assert wrong("time [s],feedback [psi]\n", "0\n") == [("/rows/0", "expected 2 cells, got 1")]
    many = wrong("time [s],feedback [psi]\n", *("0,x\n" for _ in range(99)))
    assert len(many) == trace_text.MOST_PROBLEMS


def test_nothing_but_headings_is_no_trace():
    assert wrong("time [s],feedback [psi]\n") == [("/rows", "expected at least one sample")]


def test_columns_of_unequal_length_are_counted():
    with pytest.raises(Invalid) as refused:
        trace_text.write_columns(columns(time=[0, 1], feedback=[5]), io.BytesIO())
    assert "time has 2, feedback has 1" in refused.value.problems[0].detail


@pytest.mark.parametrize("value", [True, [], {}, "x"])
def test_values_that_are_no_numbers_are_named(value):
    with pytest.raises(Invalid) as refused:
        trace_text.write_columns(columns(time=[0], feedback=[value]), io.BytesIO())
    assert refused.value.problems[0].pointer == "/rows/0/feedback"


def test_numbers_that_are_judged_take_their_eight_bytes():
    """As text or as objects a million samples took a process to a gigabyte."""
    rows, head = 50_000, "time [s],set_point [psi],feedback [psi],output_frequency [Hz]\n"
    lines = (f"{0.05 * at:.2f},60.00,{60 + at % 7 / 8:.3f},48.00\n" for at in range(rows))
    tracemalloc.start()
    try:
        found = trace_text.recording(chain([head], lines))
        feedback = found.columns["feedback"].values
        traces.make_trace(times=found.times, values=feedback)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert len(found.times) == rows
    held = 4 + 3  # columns; times and values of the trace that is made, and its steps
    assert most < held * rows * 8 * 1.5
