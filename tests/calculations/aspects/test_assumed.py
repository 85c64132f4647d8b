"""What is said of readings whose instrument is not recorded; usual accuracies from memory."""

import pytest

from calculations.aspects import assumed
from tests.calculations.building import (
    Document,
    booster,
    case,
    changed,
    judged,
    of_rule,
    without,
)
from tests.calculations.building_plates import q

AT = "/event/duty_points/0"
ONE = without(booster(), "/event/duty_points/2", "/event/duty_points/1")
BARE = without(ONE, f"{AT}/instruments")


def words(document: Document, power: bool = False) -> str:
    return assumed.accuracies(case(document), AT, power=power)


def test_with_every_instrument_nothing_is_taken() -> None:
    assert words(ONE, power=True) == ""


@pytest.mark.parametrize(
    ("method", "told"),
    [
        # Gauge 1 %, strap-on 5 %, draw-down 7.5 %, volumetric 2 %, unknown 5 %.
        ("installed_meter", "pressure to 1 %"),  # the meter's own tolerance is registered
        ("strap_on", "flow taken as good to 5 %, pressure to 1 %"),
        ("drawdown", "flow taken as good to 7.5 %, pressure to 1 %"),
        ("volumetric", "flow taken as good to 2 %, pressure to 1 %"),
        (None, "flow taken as good to 5 %, pressure to 1 %"),
    ],
)
def test_what_is_taken_without_an_instrument(method, told) -> None:
    document = changed(BARE, {f"{AT}/flow_method": method})
    assert words(document) == f" (without an instrument recorded: {told})"


@pytest.mark.parametrize("name", ["suction_pressure", "flow"])
def test_nothing_is_taken_of_a_reading_of_zero(name):
    """A share of nothing is nothing, whatever it was read with."""
    unit = ONE["event"]["duty_points"][0][name]["unit"]
    assert words(changed(ONE, {f"{AT}/{name}": q("0", unit)})) == ""


def test_power_is_told_where_it_matters() -> None:
    assert words(BARE, power=True).endswith("pressure to 1 %, power to 2 %)")


def test_it_stands_behind_what_the_instruments_explain() -> None:
    low = {f"{AT}/discharge_pressure": q("70.0", "psi"), f"{AT}/flow_method": "strap_on"}
    (found,) = of_rule(judged(changed(BARE, low)), "curve.point")
    assert found.variant == "outside"
    assert found.parameters["uncertainty"].endswith(
        " % (without an instrument recorded: flow taken as good to 5 %, pressure to 1 %)"
    )
