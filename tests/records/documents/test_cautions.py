"""Which cautions are printed: those of what is there, with or without a drive."""

import pytest

from records.documents.contents.cautions import concerning

WITH = {"pump_set": {"drive": "VFD-101"}, "drive": {"tag": "VFD-101"}}
WITHOUT = {"pump_set": {"drive": None}, "motor": {"kind": "induction"}}
SHARED = {"pump_set": {"drive": None, "drive_shared_with": ["PS-102"]}}
OF_A_DRIVE = ("d.c. link", "marked on the drive", "sleeps", "on the drive and on the bypass",
              "filter links")  # fmt: skip


def told(*snapshots):
    return {each["title"]: each["text"] for each in concerning(*snapshots)}


def test_a_pump_at_fixed_speed_has_no_drive_to_be_careful_of():
    words = " ".join(told(WITHOUT | {"site": {"supply_earthing": "unearthed"}}).values())
    assert [each for each in OF_A_DRIVE if each in words] == []
    for said in ("soft starter is live", "starts without warning", "prove it dead",
                 "Guards stay on", "first fault to earth"):  # fmt: skip
        assert said in words


@pytest.mark.parametrize(
    "snapshots",
    [
        (), (WITH,), (SHARED,), ({"motor": {}},), ({"pump_set": {"tag": "PS-1"}},),
        (WITHOUT, WITH),  # of several stations: somebody meets a drive
        ({"pump_set": {"drive": None}, "drive": {"tag": "VFD-101"}},),
    ],
)  # fmt: skip
def test_wherever_there_may_be_a_drive_its_cautions_stand(snapshots):
    found = told(*snapshots)
    assert "d.c. link" in found["Hazardous voltage, stored energy"]
    assert "sleeps" in found["Automatic restart"]


def test_the_titles_are_the_same_with_and_without_one():
    assert list(told(WITHOUT)) == list(told(WITH))
