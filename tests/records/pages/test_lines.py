"""What stays on one line of a page: tags, days, and digits with their unit."""

from datetime import UTC, date, datetime

import pytest

from records.templatetags.blocks import together
from records.templatetags.times import at, day


def one(words):
    return f'<span class="one">{words}</span>'


@pytest.mark.parametrize(("words", "kept"), [
    ("started at 45 Hz in hand", ["45 Hz"]),
    ("retry after 15 min", ["15 min"]),
    ("at 82 % (8.2 bar) after 1 s", ["82 %", "8.2 bar", "1 s"]),
    ("level, 0.0 m to 4.0 m, 4-20 mA, tank", ["0.0 m", "4.0 m", "4-20 mA"]),
    ("20 m3/h or 20 m³/h at 9 °C", ["20 m3/h", "20 m³/h", "9 °C"]),
    ("PS-401 on 2026-11-03", ["PS-401", "2026-11-03"]),
])  # fmt: skip
def test_a_line_ends_neither_in_a_tag_nor_between_digits_and_unit(words, kept):
    marked = words
    for each in kept:
        marked = marked.replace(each, one(each))
    assert together(words) == marked


@pytest.mark.parametrize("words", ["2 homes", "3 minutes later", "nothing at all", "10 sets"])
def test_a_word_that_begins_like_a_unit_is_none(words):
    assert together(words) == words


def test_what_stands_around_is_still_escaped():
    assert together("<b>5 m</b>") == f"&lt;b&gt;{one('5 m')}&lt;/b&gt;"


def test_a_day_stays_on_one_line_and_so_does_a_time_without_its_offset():
    assert 'class="one"' in day(date(2026, 11, 3))
    moment = at(datetime(2026, 11, 3, 10, 40, tzinfo=UTC), None)
    assert one("2026-11-03\N{NO-BREAK SPACE}10:40") + " <span" in moment
