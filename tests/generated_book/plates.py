"""Nameplates of four kinds of stations, in sizes, out of those of the calculations' tests."""

from dataclasses import dataclass
from typing import Any

from tests.calculations import building_plates
from tests.calculations.building_plates import q

Document = dict[str, Any]
SIZES = (0.25, 0.5, 1.0, 1.7, 2.5)
"""Of the pump of 60 hp and 1000 gpm [1]."""


@dataclass(frozen=True)
class Kind:
    """What is special about a kind of station, and which protections are proven there."""

    word: str
    name: str
    site: Document
    pump: Document
    motor: Document
    functions: tuple[str, ...]
    level: bool = False
    well: bool = False


COMMON = ("power_loss_restart", "emergency_stop", "local_isolator", "lag_takeover")
KINDS = (
    Kind(
        "booster", "booster", {}, {}, {},
        ("low_suction", "high_pressure", "loss_of_feedback", *COMMON),
    ),
    Kind(
        "well", "well field",
        {"suction_kind": "well", "liquid_kind": "raw_water"},
        {"type": "submersible_well"}, {"immersed": True, "thermal_sensor": "none"},
        ("dry_run", "high_pressure", "loss_of_feedback", *COMMON), well=True,
    ),
    Kind(
        "raw_water", "raw water intake",
        {"suction_kind": "flooded_tank", "liquid_kind": "raw_water"},
        {"type": "vertical_turbine"}, {},
        ("low_suction", "high_pressure", "loss_of_feedback", *COMMON),
    ),
    Kind(
        "lift_station", "lift station",
        {"suction_kind": "wet_well", "liquid_kind": "sewage"},
        {"type": "submersible_sewage"},
        {"immersed": True, "leak_sensor": True},
        ("high_level", "float_backup", "loss_of_feedback", "seal_leak", "motor_overtemperature",
         *COMMON), level=True,
    ),
)  # fmt: skip


def site(kind: Kind) -> Document:
    """A station's own plate, without code and name."""
    return building_plates.site() | {"kind": kind.word} | kind.site


def _times(quantity: Document, factor: float) -> Document:
    return q(f"{float(quantity['value']) * factor:.4g}", quantity["unit"])


def pump(kind: Kind, size: float) -> Document:
    """The curve's flows and the bores of one size."""
    plate = building_plates.pump()
    flows = ("rated_flow", "best_efficiency_flow", "minimum_continuous_flow")
    bores = ("bore_suction", "bore_discharge")
    plate |= {name: _times(plate[name], size) for name in flows}
    plate |= {name: _times(plate[name], size**0.5) for name in bores}
    plate["curve_points"] = [
        each | {"flow": _times(each["flow"], size)} for each in plate["curve_points"]
    ]
    return plate | kind.pump


def motor(kind: Kind, size: float) -> Document:
    """Power and current of one size."""
    plate = building_plates.motor()
    plate["ratings"] = [
        each | {name: _times(each[name], size) for name in ("power", "current")}
        for each in plate["ratings"]
    ]
    return plate | kind.motor


def drive(size: float) -> Document:
    """Currents and power of one size."""
    plate = building_plates.drive()
    names = ("rated_current_normal_duty", "rated_current_heavy_duty", "rated_input_current",
             "rated_power")  # fmt: skip
    return plate | {name: _times(plate[name], size) for name in names}


def sensors(kind: Kind, size: float) -> list[Document]:
    """What is regulated on, and the flow meter."""
    pressure, _, flow = building_plates.sensors()
    flow |= {"upper_range_value": _times(flow["upper_range_value"], size)}
    if kind.level:
        pressure |= {
            "quantity": "level", "location": "wet_well",
            "upper_range_value": q("20", "ft"), "lower_range_value": q("0", "ft"),
        }  # fmt: skip
        for name in ("reference", "overpressure_limit", "tapping_elevation"):
            pressure.pop(name, None)
    return [pressure, flow]


def vessel() -> Document:
    """A bladder tank on the header."""
    return building_plates.vessel()
