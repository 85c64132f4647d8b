"""One box finds stations, tags, serial numbers and records of one's own, and nobody else's."""

from tests.records import stations, visits

NOTHING = "Nothing found with"


def found(page, name, text):
    return page(name, f"/search?q={text}")


def test_everybody_finds_what_is_theirs_by_any_of_its_names(page, orla, teo, station):
    record = visits.sealed(teo, orla, station)
    plate = orla.get(f"/motors/{station.ids['M-101']}").json
    site = f"/stations/{station.site}"
    motor = f"{site}?piece={station.ids['M-101']}#piece-{station.ids['M-101']}"
    for name in ("orla", "teo", "cleo"):
        for text in ("B-01", "b-0"):
            assert [where for where, _ in found(page, name, text).links if where == site]
        assert found(page, name, "m-10").to("M-101") == [motor]
        assert found(page, name, plate["serial"][:-1]).to("M-101") == [motor]
        for text in ("1", "B-01 1", "b-01/1", "Record 1 of B-01"):
            assert found(page, name, text).to("Record 1 of B-01") == [f"/records/{record['id']}"]
        assert found(page, name, "B-02 1").to("Record 1 of B-01") == []


def test_nobody_finds_anothers(page, orla, teo, station):
    visits.sealed(teo, orla, station)
    for name in ("otto", "tilda", "cato"):
        for text in ("B-01", "M-101", "P-101", "1"):
            assert NOTHING in found(page, name, text).words


def test_what_was_taken_out_is_found_among_it(page, orla, station):
    path = f"/sensors/{station.ids['PT-101']}"
    orla.patch(path, {"out_of_service_on": "2026-03-20"}, orla.get(path).etag)
    seen = found(page, "orla", "PT-101")
    at = f"/stations/{station.site}?piece={station.ids['PT-101']}#gone"
    assert seen.to("PT-101") == [at]
    assert "out of service" in seen.words


def test_odd_texts_find_nothing_and_harm_nothing(page, station):
    for text in ("%25", "_", "'", "%00", "99999999999999999999", "/", "<b>", "of", "x" * 900):
        seen = found(page, "orla", text)
        assert seen.status == 200
        assert "<b>" not in seen.html


def test_what_is_numbered_stands_in_the_order_of_its_numbers(page, orla, cast):
    for number in (10, 2, 1):
        stations.register(orla, cast.client, code=f"L-{number}")
    words = found(page, "orla", "L-").words
    assert words.index("L-1 ") < words.index("L-2 ") < words.index("L-10 ")


def test_many_are_cut_and_told(page, orla, cast, monkeypatch):
    monkeypatch.setattr("records.selectors.looking_up.AT_ONCE", 2)
    for number in range(3):
        stations.register(orla, cast.client, code=f"L-{number}")
    assert "More than" in found(page, "orla", "L-").words
