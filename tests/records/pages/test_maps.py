"""The map as a page: where the names of its stations stand."""

import re

from records.pages import mapping
from tests.calculations.building import booster


def test_a_name_at_the_right_edge_stands_to_the_left_of_its_sign(page, orla, station):
    known = booster()["site"] | {"client": orla.get(f"/sites/{station.site}").json["client"]}
    for code, longitude in (("FAR-WEST", -93.75), ("FAR-EAST", -93.25)):
        where = {"code": code, "name": code, "latitude": 41.5, "longitude": longitude}
        assert orla.post("/sites", known | where).status == 201
    drawn = re.findall(
        r'<text x="([\d.]+)"[^>]*?( class="leftward")?>(FAR-\w+)', page("orla", "/map").html
    )
    left = {code: (float(x), bool(leftward)) for x, leftward, code in drawn}
    assert left == {
        "FAR-WEST": (mapping.MARGIN + 13, False),
        "FAR-EAST": (mapping.WIDTH - mapping.MARGIN - 13, True),
    }


def test_stations_are_listed_in_the_order_of_their_numbers(page, orla, station):
    """A sign of several is named after the first of them."""
    known = booster()["site"] | {"client": orla.get(f"/sites/{station.site}").json["client"]}
    for code, north in (("N-10", 41.5), ("N-2", 42.5), ("M-10", 43.5), ("M-9", 43.5)):
        where = {"code": code, "name": code, "latitude": north, "longitude": -93.5}
        assert orla.post("/sites", known | where).status == 201
    words = page("orla", "/map").words
    assert words.rindex("N-2") < words.rindex("N-10")
    assert "around M-9" in words
