"""The drive and the sensors of a station as documents."""

from .plates import RANGES, standard
from .stations import Station
from .writing import Document, q, significant

MM2 = (1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300, 400, 600)
AWG = (("14 AWG", 2.08), ("12 AWG", 3.31), ("10 AWG", 5.26), ("8 AWG", 8.37), ("6 AWG", 13.3),
       ("4 AWG", 21.2), ("2 AWG", 33.6), ("1/0 AWG", 53.5), ("3/0 AWG", 85.0), ("250 kcmil", 127),
       ("400 kcmil", 203), ("600 kcmil", 304), ("750 kcmil", 380))  # fmt: skip
SPANS = {True: (10, 15, 20, 30), False: (3, 4, 5, 6, 10)}


def highest_current(station: Station) -> float:
    """What the motor may draw by its plate [A]."""
    return max(station.motor.current, station.motor.service_factor_current)


def drive(station: Station) -> Document:
    """A drive that carries its motor where it stands."""
    chance, pen = station.chance, station.pen
    air = chance.uniform(22, 44)
    left = (1 - max(station.elevation - 1000, 0) / 1e4) * (1 - max(air - 40, 0) / 100)
    if station.phases == 1:
        left *= 0.5
        station.oddities.add("fed by one phase")
    needed = highest_current(station) / left
    rated = needed * chance.uniform(1.02, 1.25)
    low, high = _input(station.supply)
    found: Document = {
        "tag": "D-1", "serial": "V-3003", "firmware": "2.1", "input_phases": 3,
        "input_voltage_min": q(low, "V"), "input_voltage_max": q(high, "V"),
        "rated_current_normal_duty": q(significant(rated, 3), "A"),
        "rated_current_heavy_duty": q(significant(rated * 0.82, 3), "A"),
        "rated_input_current": q(significant(rated * 0.97, 3), "A"),
        "overload_percent": q(110, "%"), "overload_seconds": q(60, "s"),
        "carrier_at_rating": q(4, "kHz"), "short_circuit_rating": q(chance.choice((65, 100)), "kA"),
        "ambient_max": pen.temperature(50), "enclosure": "in_cabinet",
        "enclosure_cooling": "filter_fan", "ambient_at_drive": pen.temperature(air),
        "input_reactor": True, "output_filter_fitted": "none", "motor_cable_shielded": True,
        "output_capacitors": False, "output_switch": False,
        "functional_safety_stop": chance.choice(("none", "fitted_wired")),
    }  # fmt: skip
    if chance.random() < 0.4:
        found["input_voltage_tolerance"] = q(10, "%")
    if station.apart.random() < 0.5:
        found["carrier_derating_per_khz"] = q(station.apart.choice((5, 6, 8)), "%")
    found |= _cable(station)
    return found


def _input(supply: float) -> tuple[int, int]:
    """Input range of the drive's voltage class."""
    if supply <= 240:
        return 200, 240
    return (500, 600) if supply >= 550 else (380, 480)


def _cable(station: Station) -> Document:
    """Length by the place; a filter where it is long, or where the motor states nothing."""
    chance, pen, motor = station.chance, station.pen, station.motor
    length = chance.uniform(5, 60)
    if station.suction == "well" and motor.immersed:
        length = station.riser + chance.uniform(8, 25)
    if motor.old:
        length = chance.uniform(4, 24)
    long = length > (25 if motor.immersed else 70)
    fitted = chance.choice(("dv_dt", "dv_dt", "sine_wave")) if long else "none"
    if fitted == "none" and chance.random() < 0.12:
        fitted = "dv_dt"
    found: Document = {
        "motor_cable_length": pen.put("length", length, step=5 if pen.us else 1),
        "output_filter_fitted": fitted,
        "maximum_motor_cable_length": pen.put("length", 300 if fitted != "none" else 100, step=10),
        "motor_cable_conductor": _conductor(station, length),
    }
    if fitted != "none":
        found["filter_voltage_drop"] = q("0.8" if fitted == "dv_dt" else "2.0", "%")
        found["filter_carrier_min"] = q("2" if fitted == "dv_dt" else "3", "kHz")
        found["filter_carrier_max"] = q("6" if fitted == "dv_dt" else "10", "kHz")
    return found


def _conductor(station: Station, length: float) -> object:
    """By current and by 2 % of voltage drop.

    Codes' tables for copper at 75 degC carry about 52 A (area / 10 mm2)^0.6; the full-load current
    of the code is up to a quarter above the plate's, and conductors are sized for 125 % of it.
    """
    motor = station.motor
    volts = motor.voltage * motor.stretch
    area = 10 * (1.25 * 1.25 * motor.current / 52) ** (1 / 0.6)
    area = max(area, 3**0.5 * motor.current * length * 0.0217 / (0.018 * volts))
    if station.practice in ("us", "canadian"):
        return next((name for name, size in AWG if size >= area), AWG[-1][0])
    return q(next((size for size in MM2 if size >= area), MM2[-1]), "mm2")


# -- sensors ----------------------------------------------------------------------------------


def sensors(station: Station) -> list[Document]:
    """Everything that measures at the set."""
    found = []
    if station.regulation == "pressure":
        found.append(pressure_sensor(station))
        if station.suction == "pressurised_main":
            found.append(suction_sensor(station))
    if station.regulation == "level":
        found.append(level_sensor(station))
    found.append(flow_meter(station))
    if station.transducer:
        found.append(transducer(station))
    return found


def output(station: Station) -> str:
    """Mostly a live zero; now and then a voltage, with or without one."""
    return station.chance.choices(
        ("4-20 mA", "0-10 V", "2-10 V", "0.5-4.5 V"), (88, 6, 3, 3)
    )[0]  # fmt: skip


COMMON = {"wiring": "two_wire", "power_source": "drive, 24 V", "process_isolation": True}


def pressure_sensor(station: Station) -> Document:
    """The transmitter that the set is regulated on."""
    pen = station.pen
    shut_off = station.shut_off_pressure(station.maximum)
    wanted = max(station.set_point * 1.45, 0.0)
    if station.chance.random() < 0.75:
        wanted = max(shut_off, wanted)
    upper = standard(station, wanted, RANGES)
    if upper < shut_off:
        station.oddities.add("transmitter does not cover shut-off")
    return {
        "tag": "PT-1", "serial": "S-1", "quantity": "pressure", "reference": "gauge",
        "lower_range_value": pen.put("pressure", 0, step=1),
        "upper_range_value": pen.put("pressure", upper, step=1),
        "overpressure_limit": pen.put("pressure", 3 * upper, step=1), "output": output(station),
        "tolerance_percent_of_span": q(station.chance.choice(("0.25", "0.5", "1")), "%"),
        "damping_time": q("0.1", "s"), "location": "discharge",
        "tapping_elevation": pen.put("length", station.z_sensor, step=0.1), **COMMON,
    }  # fmt: skip


def suction_sensor(station: Station) -> Document:
    """The transmitter at the suction."""
    pen = station.pen
    high = (station.level["high"] - station.z_suction) * station.weight
    upper = standard(station, high * 1.3, {True: (60, 100, 150), False: (4, 6, 10, 16)})
    return {
        "tag": "PT-2", "serial": "S-2", "quantity": "pressure", "reference": "gauge",
        "lower_range_value": pen.put("pressure", 0, step=1),
        "upper_range_value": pen.put("pressure", upper, step=1),
        "overpressure_limit": pen.put("pressure", 3 * upper, step=1), "output": "4-20 mA",
        "tolerance_percent_of_span": q("0.5", "%"), "damping_time": q("0.1", "s"),
        "location": "suction", "tapping_elevation": pen.put("length", station.z_suction, step=0.1),
        **COMMON,
    }  # fmt: skip


def level_zero(station: Station) -> float:
    """Where the level transmitter hangs: a little over the floor [m]."""
    from .plates import floor_level

    return station.pen.rounded("length", floor_level(station) + 0.1, 0.01)


def level_sensor(station: Station) -> Document:
    """A transmitter hung near the floor of the wet well."""
    pen = station.pen
    unit = pen.unit("length")[1]
    deep = station.level["high"] + 1.6 - level_zero(station)
    span = next((s for s in SPANS[pen.us] if s * unit >= deep), SPANS[pen.us][-1])
    return {
        "tag": "LT-1", "serial": "S-3", "quantity": "level", "output": "4-20 mA",
        "lower_range_value": pen.put("length", 0, step=1),
        "upper_range_value": q(span, pen.unit("length")[0]),
        "tolerance_percent_of_span": q(station.chance.choice(("0.25", "0.5", "1")), "%"),
        "damping_time": q(2, "s"), "location": "wet_well",
        "zero_elevation": pen.put("length", level_zero(station), step=0.01), **COMMON,
    }  # fmt: skip


def transducer(station: Station) -> Document:
    """Hung in a well to tell how much water stands over the pump."""
    pen = station.pen
    unit = pen.unit("length")[1]
    deep = station.level["high"] - station.transducer
    spans = (30, 60, 100, 200, 300, 600) if pen.us else (10, 20, 30, 50, 100, 200)
    span = next((each for each in spans if each * unit >= deep * 1.05), spans[-1])
    return {
        "tag": "LT-1", "serial": "S-5", "quantity": "level", "output": "4-20 mA",
        "lower_range_value": pen.put("length", 0, step=1),
        "upper_range_value": q(span, pen.unit("length")[0]),
        "tolerance_percent_of_span": q("0.5", "%"), "damping_time": q(1, "s"), "location": "well",
        "zero_elevation": pen.put("length", station.transducer, step=0.1), **COMMON,
    }  # fmt: skip


def straight_lengths(station: Station) -> Document:
    """Diameters before and behind a magnetic meter; some have less than is usual before them."""
    apart = station.apart
    upstream, downstream = apart.uniform(5, 14), apart.uniform(2, 7)
    if apart.random() < 0.1:
        upstream = apart.uniform(3.1, 4.9)
        station.oddities.add("meter with 3 to 5 diameters before it")
    return {
        "straight_upstream_diameters": q(significant(upstream, 2), "1"),
        "straight_downstream_diameters": q(significant(downstream, 2), "1"),
    }


def flow_meter(station: Station) -> Document:
    """An installed meter."""
    pen = station.pen
    straight = straight_lengths(station) if station.apart.random() < 0.8 else {}
    top = pen.put(
        "flow", station.machine.hydraulics.flow * station.chance.uniform(1.4, 2.0), digits=2
    )
    return {
        "tag": "FT-1", "serial": "S-4", "quantity": "flow", "output": "4-20 mA",
        "lower_range_value": pen.put("flow", 0, step=1), "upper_range_value": top,
        "tolerance_percent_of_span": q(1, "%"), "wiring": "four_wire", "power_source": "mains",
        "damping_time": q(1, "s"), "location": "discharge", "meter_kind": "electromagnetic",
        "bore": pen.put("bore", station.machine.bore_discharge), **straight,
    }  # fmt: skip
