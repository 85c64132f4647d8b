"""The pieces that an event names, as its tasks keep them."""

from calculations.tasks.performing import thing
from tests.calculations.building import booster, case, changed, without

ID = "01890a5d-ac96-774b-bcce-b302099a8057"


def test_a_piece_is_told_by_its_id_where_it_has_one():
    known = thing(case(changed(booster(), {"/pump/id": ID})), "/pump")
    assert (known.tag, known.id) == ("P-101", ID)
    assert thing(case(booster()), "/pump").id == ""


def test_a_piece_without_a_tag_is_none_that_could_be_kept():
    assert thing(case(without(booster(), "/pump/tag")), "/pump") is None


def test_only_a_drive_has_firmware_and_a_set_no_serial_number():
    document = changed(booster(), {"/drive/firmware": "3.07"})
    told = [thing(case(document), place) for place in ("/drive", "/motor", "/pump_set")]
    assert [each.firmware for each in told] == ["3.07", "", ""]
    assert [bool(each.serial) for each in told] == [True, True, False]
