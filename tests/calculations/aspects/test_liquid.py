"""Water on the day: its temperature, and what is taken where none is recorded."""

import pytest

from calculations.aspects import liquid
from calculations.case import Missing
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q


@pytest.mark.parametrize(
    ("day", "coldest", "warmest", "celsius"),
    [
        ("12", "5", "25", 12.0),
        (None, "5", "25", 15.0),
        (None, "5", None, 5.0),
        (None, None, "25", 25.0),
        (None, None, None, 15.0),  # usual water; common practice
        ("-3", "5", "25", 0.0),  # what is pumped is liquid
        (None, "-4", "2", 0.0),
    ],
)
def test_temperature(day, coldest, warmest, celsius):
    places = ("/event/liquid_temperature", "/site/liquid_temperature_min",
              "/site/liquid_temperature_max")  # fmt: skip
    given = zip(places, (day, coldest, warmest), strict=True)
    document = changed(booster(), {place: value and q(value, "degC") for place, value in given})
    assert liquid.temperature(case(document)) == pytest.approx(273.15 + celsius)


def test_usual_water_by_the_steam_tables():
    """999.10 kg/m3 at 15 degC; 1.7058 kPa (IAPWS R7-97); 10 m of it are 97.98 kPa."""
    usual = dict.fromkeys(
        ("/event/liquid_temperature", "/site/liquid_temperature_min"), q("15", "degC")
    )
    found = case(changed(booster(), usual))
    assert liquid.density(found) == pytest.approx(999.10, abs=0.02)
    assert liquid.vapour_pressure(found) == pytest.approx(1705.8, rel=1e-3)
    assert liquid.pressure(found, 10) == pytest.approx(97978, abs=5)
    assert liquid.head(found, 97978) == pytest.approx(10, abs=1e-3)


def test_the_warmest_water_of_the_site_where_none_was_measured():
    """75 degF are 23.89 degC: 2.966 kPa (IAPWS R7-97)."""
    found = case(changed(booster(), {"/event/liquid_temperature": None}))
    assert liquid.vapour_pressure(found) == pytest.approx(2966, rel=2e-3)


def test_what_is_stated_is_what_it_weighs():
    """1040 kg/m3; 10 m of it are 101.99 kPa."""
    found = case(changed(booster(), {"/site/liquid_density": q("1.040", "kg/L")}))
    assert liquid.density(found) == pytest.approx(1040)
    assert liquid.density_at(found, liquid.WARMEST) == pytest.approx(1040)
    assert liquid.pressure(found, 10) == pytest.approx(101989, abs=5)


def test_another_liquid_weighs_nothing_that_is_known():
    found = case(changed(booster(), {"/site/liquid_kind": "other"}))
    for asked in (liquid.density, liquid.vapour_pressure):
        with pytest.raises(Missing) as raised:
            asked(found)
        assert raised.value.because == liquid.NOT_WATER
