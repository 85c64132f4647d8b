"""Mistakes in the drive's motor data, its rating, its cable, and on the supply."""

from math import sqrt

from .drives import AWG, MM2
from .mistakes import in_unit, mistake, mistake_on_a_drive, number, swapped, times
from .stand import Entered
from .writing import q


def _induction_as_linked(e: Entered) -> bool:
    motor = e.station.motor
    return e.station.driven and motor.kind == "induction" and not motor.extended


@mistake("drive set to the other mains frequency", "drive.volts-per-hertz")
def other_frequency(e: Entered) -> bool | None:
    if not _induction_as_linked(e):
        return False
    e.settings["motor_frequency"] = q(50 if e.station.motor.frequency == 60 else 60, "Hz")
    return None


@mistake("drive set to the other voltage", "drive.volts-per-hertz")
def other_voltage(e: Entered) -> bool | None:
    if not (_induction_as_linked(e) and e.station.motor.low_tap):
        return False
    e.settings["motor_voltage"] = e.document["motor"]["ratings"][0]["voltage"]
    return None


@mistake("terminals linked for the other voltage", "drive.volts-per-hertz")
def other_links(e: Entered) -> bool | None:
    if not (_induction_as_linked(e) and e.station.motor.low_tap):
        return False
    e.document["motor"]["rating_in_use"] = 0
    return None


@mistake("digits of the drive's motor voltage swapped", "drive.volts-per-hertz")
def swapped_voltage(e: Entered) -> bool | None:
    other = swapped(e.settings["motor_voltage"]["value"]) if e.station.driven else None
    if other is None:
        return False
    e.settings["motor_voltage"] = q(other, "V")
    return None


@mistake_on_a_drive("motor power in the drive in the other unit", "drive.motor-power")
def power_unit(e: Entered) -> None:
    given = e.settings["motor_power"]
    e.settings["motor_power"] = in_unit(given, "kW" if given["unit"] == "hp" else "hp")


@mistake("motor current in the drive of the other tap", "drive.motor-current")
def other_current(e: Entered) -> bool | None:
    if not (_induction_as_linked(e) and e.station.motor.low_tap):
        return False
    e.settings["motor_current"] = e.document["motor"]["ratings"][0]["current"]
    return None


@mistake_on_a_drive("motor current in the drive with the service factor", "drive.motor-current")
def service_factor(e: Entered) -> bool | None:
    if e.station.motor.immersed:
        return False
    e.settings["motor_current"] = times(e.plate["current"], 1.15)
    return None


@mistake_on_a_drive("point of the drive's motor current moved", "drive.motor-current")
def moved_current(e: Entered) -> None:
    e.settings["motor_current"] = times(e.plate["current"], e.chance.choice((0.1, 10)))


@mistake("motor speed in the drive: synchronous", "drive.motor-speed")
def synchronous_speed(e: Entered) -> bool | None:
    motor = e.station.motor
    if not _induction_as_linked(e) or motor.synchronous / motor.speed < 1.0125:
        return False
    e.settings["motor_speed"] = q(f"{motor.synchronous:g}", "rpm")
    return None


@mistake_on_a_drive("motor speed in the drive of another pole count", "drive.motor-speed")
def speed_of_other_poles(e: Entered) -> None:
    factor = 0.5 if e.station.motor.poles == 2 else 2.0
    e.settings["motor_speed"] = q(f"{e.station.motor.run_speed * factor:.0f}", "rpm")


@mistake_on_a_drive("overload by table and 125 %", "drive.overload-setting")
def overload_by_table(e: Entered) -> None:
    e.settings["overload_current"] = times(e.settings["overload_current"], 1.4)


@mistake_on_a_drive("overload at 118 %", "drive.overload-setting")
def overload_high(e: Entered) -> None:
    e.settings["overload_current"] = times(e.settings["overload_current"], 1.18)


@mistake_on_a_drive("overload far too low", "drive.overload-setting")
def overload_low(e: Entered) -> None:
    e.settings["overload_current"] = times(e.plate["current"], 0.45)


@mistake_on_a_drive("another kind of motor in the drive", "drive.motor-kind")
def motor_kind(e: Entered) -> None:
    other = "permanent_magnet" if e.station.motor.kind == "induction" else "induction"
    e.settings["motor_kind"] = other


@mistake_on_a_drive("drive a size or two too small", "drive.rated-current")
def small_drive(e: Entered) -> bool | None:
    if e.station.phases == 1:
        return False
    for duty, share in (("normal", 0.75), ("heavy", 0.62)):
        e.document["drive"][f"rated_current_{duty}_duty"] = times(e.plate["current"], share)
    return None


@mistake_on_a_drive("drive on one phase sized for three", "drive.single-phase-input")
def not_doubled(e: Entered) -> bool | None:
    if e.station.phases == 3:
        return False
    for duty, share in (("normal", 1.2), ("heavy", 1.0)):
        e.document["drive"][f"rated_current_{duty}_duty"] = times(e.plate["current"], share)
    return None


@mistake_on_a_drive("cabinet too hot", "drive.environment")
def hot_cabinet(e: Entered) -> None:
    e.document["drive"]["ambient_at_drive"] = e.station.pen.temperature(58)


@mistake_on_a_drive("output filter not set as fitted", "drive.output-filter-setting")
def filter_not_set(e: Entered) -> None:
    fitted = e.document["drive"]["output_filter_fitted"]
    e.settings["output_filter"] = "sine_wave" if fitted == "none" else "none"


@mistake_on_a_drive("carrier outside the filter's window", "drive.carrier-for-filter")
def carrier(e: Entered) -> bool | None:
    if e.document["drive"]["output_filter_fitted"] == "none":
        return False
    e.settings["carrier_frequency"] = q("1.5", "kHz")
    return None


@mistake_on_a_drive("cable longer than the drive allows", "drive.cable-length")
def long_cable(e: Entered) -> None:
    length = e.document["drive"]["motor_cable_length"]
    e.document["drive"]["maximum_motor_cable_length"] = times(length, 0.7, 2)


@mistake_on_a_drive("motor that bears no reflected waves", "drive.reflected-wave")
def weak_winding(e: Entered) -> bool | None:
    if e.station.supply < 380:
        return False
    drive = e.document["drive"]
    if drive["output_filter_fitted"] != "none":
        return False
    if e.station.pen.si("length", drive["motor_cable_length"]) < 8.5:
        return False
    e.document["motor"]["peak_voltage_limit"] = q(900, "V")
    return None


@mistake_on_a_drive("conductor far too thin", "drive.cable-voltage-drop")
def thin_cable(e: Entered) -> bool | None:
    motor, drive = e.station.motor, e.document["drive"]
    length = e.station.pen.si("length", drive["motor_cable_length"])
    # Ohmic drop at 75 degC, copper 0.0217 ohm mm2/m: the size that loses 7 %.
    volts = motor.voltage * motor.stretch
    area = sqrt(3) * motor.current * length * 0.0217 * motor.power_factor / (0.07 * volts)
    # Two fifths of what codes grant in open air, about 75 A (area / 10 mm2)^0.62: not too hot, also
    # where 125 % of a full-load current a quarter above the plate count, at 75 degC.
    if motor.current > 0.4 * 75 * (area / 10) ** 0.62:
        return False
    drive["motor_cable_conductor"] = q(f"{area:.3g}", "mm2")
    return None


@mistake_on_a_drive("conductor too small for its current", "drive.cable-ampacity")
def hot_cable(e: Entered) -> bool | None:
    motor = e.station.motor
    current = motor.current
    # Three quarters of the plate's current in open air, about 75 A (area / 10 mm2)^0.62; half of
    # it in water, where six conductors may share it.
    area = 10 * ((0.5 if motor.immersed else 0.75) * current / 75) ** (1 / 0.62)
    length = e.station.pen.si("length", e.document["drive"]["motor_cable_length"])
    lost = sqrt(3) * current * length * 0.0217 / area / (motor.voltage * motor.stretch)
    if current > 200 or area < 2.1 or lost > 0.035:
        return False  # else it loses too much voltage as well
    e.document["drive"]["motor_cable_conductor"] = q(f"{area:.3g}", "mm2")
    return None


@mistake_on_a_drive("capacitors left at the output", "drive.output-capacitors")
def capacitors(e: Entered) -> None:
    e.document["drive"]["output_capacitors"] = True


@mistake_on_a_drive("87 Hz with the plate's own figures in the drive", "drive.extended-torque")
def plate_at_eighty_seven(e: Entered) -> bool | None:
    """What the motor gives at 230 V in delta and 50 Hz, where it is run on to 400 V."""
    if not e.station.motor.extended:
        return False
    for name in ("power", "voltage", "frequency", "speed"):
        e.settings[f"motor_{name}"] = e.plate[name]
    return None


@mistake_on_a_drive("two cables in parallel, one of them left off", "drive.cable-ampacity")
def one_of_two_cables(e: Entered) -> bool | None:
    """One of two that would carry the current together, in a short cable.

    By (area / 10 mm2)^0.6 a code grants some 55 A and cables in open air 75 A; a code wants 125 %.
    """
    drive, current = e.document["drive"], e.station.motor.current
    us = e.station.practice in ("us", "canadian")
    if e.station.pen.si("length", drive["motor_cable_length"]) > 25:
        return False
    if us and e.station.motor.immersed:
        return False  # no code sizes its cable
    code = e.station.practice == "us"
    granted, least, most = (55, 0.7, 0.92) if code else (75, 0.55, 0.82)
    sizes = AWG if us else tuple((size, size) for size in MM2 if size <= 300)
    fit = [
        name
        for name, area in sizes
        if least < granted * (area / 10) ** 0.6 / current < most and (area > 53 or not us)
    ]
    if not fit:
        return False
    drive["motor_cable_conductor"] = fit[-1] if us else q(fit[-1], "mm2")
    drive["motor_cable_conductors_in_parallel"] = 1
    return None


@mistake_on_a_drive("output switch without interlock", "drive.output-switch")
def output_switch(e: Entered) -> None:
    e.document["drive"] |= {"output_switch": True, "output_switch_interlocked": False}


@mistake_on_a_drive("identification skipped under vector control", "drive.identification")
def identification(e: Entered) -> bool | None:
    if "vector" not in e.settings["control_mode"]:
        return False
    e.settings["motor_identification"] = "skipped"
    return None


@mistake_on_a_drive("thermal sensor without response", "motor.thermal-sensor")
def thermal_sensor(e: Entered) -> bool | None:
    if e.document["motor"]["thermal_sensor"] == "none":
        return False
    e.settings["motor_thermal_sensor_response"] = "none"
    return None


@mistake_on_a_drive("leak sensor without response", "motor.leak-sensor")
def leak_sensor(e: Entered) -> bool | None:
    if not e.document["motor"].get("leak_sensor"):
        return False
    e.settings["leak_sensor_response"] = "none"
    return None


@mistake_on_a_drive("bypass without an overload of its own", "drive.bypass")
def bypass(e: Entered) -> bool | None:
    if e.station.motor.kind != "induction" or e.station.phases == 1:
        return False
    if e.station.motor.extended or abs(e.station.supply / e.station.motor.voltage - 1) > 0.05:
        return False
    e.document["pump_set"] |= {"bypass": "manual", "bypass_own_overload": False}
    e.document["event"]["rotation"]["bypass_direction"] = "correct"
    return None


@mistake_on_a_drive("power factor of another motor", "drive.motor-power-factor")
def power_factor(e: Entered) -> bool | None:
    plate = e.plate.get("power_factor")
    if plate is None or e.station.motor.kind != "induction":
        return False
    e.settings["motor_power_factor"] = times(plate, 0.8, 3)
    return None if e.settings["control_mode"] == "vector" else False


# -- supply -----------------------------------------------------------------------------------


@mistake("supply read to neutral, or behind a transformer", "supply.voltage-range")
def to_neutral(e: Entered) -> None:
    supply = e.document["event"]["supply"]
    ratio = e.chance.choice((sqrt(3), 4.0))
    supply["line_voltages"] = [q(f"{number(v) / ratio:.0f}", "V") for v in supply["line_voltages"]]


@mistake("a loose joint in one supply phase", "supply.unbalance")
def loose_joint(e: Entered) -> bool | None:
    volts = e.document["event"]["supply"]["line_voltages"]
    if len(volts) != 3:
        return False
    index = e.chance.randrange(3)
    volts[index] = q(f"{number(volts[index]) * 0.91:.0f}", "V")
    return None


@mistake("an earthed corner, entered as a star", "supply.line-to-earth")
def earthed_corner(e: Entered) -> bool | None:
    supply = e.document["event"]["supply"]
    volts = supply["line_voltages"]
    if len(volts) != 3 or e.document["site"].get("supply_earthing") != "solid_star":
        return False
    supply["line_to_earth_voltages"] = [q("1", "V"), *volts[:2]]
    return None


@mistake_on_a_drive("a fuse blown before the drive", "supply.input-currents")
def blown_fuse(e: Entered) -> bool | None:
    supply = e.document["event"]["supply"]
    if len(supply["line_voltages"]) != 3:
        return False
    amperes = number(e.plate["current"])
    supply["currents"] = [q(f"{amperes * share:.2f}", "A") for share in (1.1, 0.0, 1.08)]
    return None


@mistake("two supply voltages written down", "supply.phases")
def two_voltages(e: Entered) -> bool | None:
    volts = e.document["event"]["supply"]["line_voltages"]
    if len(volts) != 3:
        return False
    del volts[2]
    return None


@mistake("generator far too slow", "supply.frequency")
def slow_generator(e: Entered) -> None:
    e.document["event"]["supply"]["frequency"] = q(f"{e.station.hertz * 0.93:.1f}", "Hz")


@mistake_on_a_drive("filter earthed on an unearthed supply", "supply.earthing")
def unearthed(e: Entered) -> None:
    e.document["site"]["supply_earthing"] = e.chance.choice(
        ("unearthed", "corner_earthed_delta", "high_leg_delta")
    )


@mistake_on_a_drive("drive with too small a fault rating", "supply.fault-rating")
def fault_rating(e: Entered) -> bool | None:
    if "available_fault_current" not in e.document["site"]:
        return False
    e.document["drive"]["short_circuit_rating"] = q(5, "kA")
    return None


@mistake_on_a_drive("the drive not joined to its pump set", "drive.missing")
def not_joined(e: Entered) -> None:
    e.document.pop("drive", None)
    e.document["pump_set"]["drive"] = None


# -- what drives ask beside the plate --------------------------------------------------------------


@mistake_on_a_drive("control of the other kind of motor", "drive.control-mode")
def control_mode(e: Entered) -> None:
    magnets = e.station.motor.kind == "permanent_magnet"
    e.settings["control_mode"] = "volts_per_hertz_linear" if magnets else "synchronous_vector"


@mistake_on_a_drive("the plate's column for the other mains in the drive", "drive.motor-frequency")
def other_column(e: Entered) -> bool | None:
    if not e.station.motor.other_mains:
        return False
    other = e.document["motor"]["ratings"][-1]
    for name in ("voltage", "frequency"):
        e.settings[f"motor_{name}"] = other[name]
    return None


@mistake_on_a_drive("pole count of another motor in the drive", "drive.motor-poles")
def drive_poles(e: Entered) -> None:
    e.settings["motor_poles"] = 4 if e.station.motor.poles != 4 else 2


@mistake_on_a_drive("the other links told to the drive", "drive.motor-connection")
def drive_connection(e: Entered) -> bool | None:
    links = e.settings.get("motor_connection")
    if links is None:
        return False
    e.settings["motor_connection"] = "star" if "delta" in links else "delta"
    return None


@mistake_on_a_drive("carrier far above that of the drive's rating", "drive.carrier-derating")
def high_carrier(e: Entered) -> bool | None:
    drive = e.document["drive"]
    if "carrier_derating_per_khz" not in drive or drive["output_filter_fitted"] != "none":
        return False
    e.settings["carrier_frequency"] = q("12", "kHz")
    return None


@mistake_on_a_drive(
    "overload a little into the service factor", "motor.service-factor", by_note=True
)
def into_service_factor(e: Entered) -> bool | None:
    motor, plate = e.document["motor"], e.plate["current"]
    if number(motor["service_factor"]) <= 1 or motor["immersed"] or number(plate) < 20:
        return False
    e.settings["overload_current"] = q(f"{number(plate) * 1.035:.1f}", "A")
    return None
