"""Nothing of a record is lost: what was not placed is known."""

from records.documents.placing import Part

DOCUMENT = {
    "id": "i",
    "name": "n",
    "flow": {"value": "5", "unit": "L/s"},
    "points": [{"a": 1, "b": 2}, {"a": 3}],
    "odd": ["x", {"y": None}],
    "inner": {"deep": {"c": 4}},
}


def test_what_was_taken_is_placed_and_the_rest_is_known() -> None:
    part = Part(DOCUMENT)
    assert part.take("name") == "n"
    for point in part.parts("points"):
        point.take("a")
    assert dict(part.unplaced()) == {
        "/id": "i",
        "/flow": {"value": "5", "unit": "L/s"},
        "/points/0/b": 2,
        "/odd/0": "x",
        "/odd/1/y": None,
        "/inner/deep/c": 4,
    }


def test_the_rest_comes_in_order_once_without_identifiers_and_what_is_taken_piecewise() -> None:
    part = Part(DOCUMENT)
    part.part("inner").take("deep")
    part.parts("points")
    rest = part.rest(["odd", "name"])
    assert [name for name, _ in rest] == ["odd", "name", "flow"]
    assert part.rest() == []
    assert [at for at, _ in part.unplaced()] == ["/id", "/points/0/a", "/points/0/b", "/points/1/a"]


def test_looking_places_nothing() -> None:
    part = Part(DOCUMENT)
    part.see("name")
    assert "/name" in dict(part.unplaced())


def test_elements_that_are_no_objects_stay_unplaced() -> None:
    part = Part(DOCUMENT)
    for element in part.parts("odd"):
        element.take("y")
    assert dict(part.unplaced())["/odd/0"] == "x"
