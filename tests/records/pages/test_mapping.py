"""Stations on a plan: distances, the scale bar, and what is near each other."""

from math import hypot

import pytest

from records.pages import mapping


def row(code, latitude, longitude, state="nothing"):
    return {"code": code, "latitude": latitude, "longitude": longitude, "state": state}


def distance(plan):
    """Between the two points of a plan, in kilometres by its own scale bar."""
    one, other = plan.points
    drawn = hypot(one.x - other.x, one.y - other.y)
    return drawn / plan.scale.width * plan.scale.kilometres


# A degree of a great circle is 111.195 km on a sphere of the mean radius 6,371.009 km (IUGG); of
# a parallel at 60° half of that.
@pytest.mark.parametrize(
    ("one", "other", "kilometres"),
    [
        ((0.0, 10.0), (0.0, 11.0), 111.195),
        ((10.0, 10.0), (11.0, 10.0), 111.195),
        ((60.0, 10.0), (60.0, 11.0), 55.597),
        ((0.0, 179.5), (0.0, -179.5), 111.195),
        ((-60.0, -179.5), (-60.0, 179.5), 55.597),
    ],
)
def test_the_scale_bar_measures_what_is_drawn(one, other, kilometres):
    plan = mapping.plan([row("A", *one), row("B", *other)])
    assert distance(plan) == pytest.approx(kilometres, rel=1e-3)
    assert plan.scale.width <= mapping.WIDTH / 4
    assert str(plan.scale.kilometres).strip("0.")[0] in "125"


def test_north_is_up_and_east_is_right():
    south_west, north_east = mapping.plan([row("A", 10, 10), row("B", 11, 12)]).points
    assert south_west.y > north_east.y
    assert south_west.x < north_east.x


def test_many_are_grouped_by_the_gravest_and_none_is_lost():
    rows = [row(f"S-{n}", 40 + n % 20 / 10, 5 + n // 20 / 10) for n in range(400)]
    rows[77]["state"] = "stop"
    rows += [row("nowhere", None, None)]
    plan = mapping.plan(rows)
    assert plan.is_grouped
    assert sum(len(point.rows) for point in plan.points) == 400
    [gravest] = [point for point in plan.points if point.state == "stop"]
    assert rows[77] in gravest.rows
    assert [each["code"] for each in plan.missing] == ["nowhere"]
    for point in plan.points:
        assert 0 <= point.x <= mapping.WIDTH
        assert 0 <= point.y <= mapping.HEIGHT


def test_one_station_and_none():
    [point] = mapping.plan([row("A", 41.5, -93.25)]).points
    assert (point.x, point.y) == (mapping.WIDTH / 2, mapping.HEIGHT / 2)
    assert mapping.plan([]).points == ()
