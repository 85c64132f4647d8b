"""Which other value of a plate was probably set, and what nobody has to look at for it."""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import changed, judged, of_rule, q
from tests.calculations.rules.test_drive_flux import FLUX, FREQUENCY, rated
from tests.calculations.stations import LEFT


@pytest.mark.parametrize(("volts", "variant"), [("230", "plain"), ("20", "digits")])
def test_a_voltage_of_the_mains_is_no_slip_of_a_plate_near_to_it(volts: str, variant: str) -> None:
    """203 V are no plate's 200 V, though 1.5 % from it; 20 V with the point moved are."""
    (found,) = of_rule(judged(rated("200", "60", motor_voltage=q(volts, "V"))), FLUX)
    assert found.variant == variant


@pytest.mark.parametrize(
    ("links", "variant"), [("delta", "same_links"), ("star", "column"), (None, "column")]
)
def test_nobody_opens_a_terminal_box_for_links_that_are_the_same(
    links: str | None, variant: str
) -> None:
    """400 V 50 Hz and 480 V 60 Hz are 8 V/Hz both: what differs is power and speed."""
    other = {"voltage": q("480", "V"), "frequency": q("60", "Hz"), "connection": "delta"}
    document = changed(rated("400", "50"), {
        "/motor/ratings/0/connection": links, "/motor/ratings/-": other,
        "/motor/rating_in_use": 0, f"{LEFT}/motor_voltage": q("480", "V"),
        f"{LEFT}/motor_frequency": q("60", "Hz"),
    })  # fmt: skip
    (found,) = of_rule(judged(document), FREQUENCY)
    assert found.variant == variant
    remedy = str(finding_document(found, "")["remedy"])
    assert ("terminal box" in remedy) is (variant == "column")
