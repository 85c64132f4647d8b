"""What a look and a hand find at the machine, and slips in writing it down."""

from .mistakes import mistake, mistake_on_a_drive, number, times
from .stand import Entered
from .writing import Document, q


@mistake("a check found not in order", "machine.checks")
def not_ok(e: Entered) -> None:
    e.chance.choice(e.document["event"]["mechanical_checks"])["result"] = "not_ok"


def _felt(e: Entered) -> Document | None:
    """The point at which the machine was felt."""
    return next((point for point in e.points if "vibration" in point), None)


@mistake("motor temperature read in degF, written in degC", "machine.motor-temperature")
def motor_temperature(e: Entered) -> bool | None:
    point = _felt(e)
    if point is None:
        return False
    point["motor_temperature"] = q(e.chance.randint(165, 210), "degC")
    return None


@mistake("a bearing that runs hot", "machine.bearing-temperature")
def hot_bearing(e: Entered) -> bool | None:
    point = _felt(e)
    if point is None:
        return False
    point["bearing_temperatures"][1] = e.station.pen.temperature(e.chance.uniform(98, 118))
    return None


@mistake_on_a_drive("a motor for short runs in a loop", "motor.duty")
def short_duty(e: Entered) -> bool | None:
    if e.station.motor.immersed or e.settings.get("regulation") != "closed_loop_in_drive":
        return False
    e.document["motor"] |= {"duty": "S2", "duty_minutes": q(30, "min")}
    return None


@mistake("a set that shakes", "machine.vibration")
def shakes(e: Entered) -> bool | None:
    point = _felt(e)
    if point is None:
        return False
    speed = point["vibration"][0]["velocity_rms"]
    wanted = e.chance.uniform(10, 24) / (25.4 if speed["unit"] == "in/s" else 1)
    point["vibration"][0]["velocity_rms"] = times(speed, wanted / number(speed))
    return None


@mistake("a hot room at full load", "motor.ambient-altitude")
def hot_room(e: Entered) -> bool | None:
    if e.station.motor.immersed or max(p.torque_share for p in e.station.points) < 0.92:
        return False
    event, hot = e.document["event"], e.station.pen.temperature(e.chance.uniform(53, 58))
    event["ambient_temperature"] = hot
    event["motor_tests"]["insulation"]["winding_temperature"] = hot  # or dew would settle on it
    return None


@mistake("winding tested below freezing", "insulation.temperature")
def cold_winding(e: Entered) -> bool | None:
    if e.station.motor.immersed:
        return False
    tested = e.document["event"]["motor_tests"]["insulation"]
    tested["winding_temperature"] = e.station.pen.temperature(e.chance.uniform(-8, -1))
    return None


@mistake("insulation that falls while it is tested", "insulation.polarization", by_note=True)
def falling_insulation(e: Entered) -> None:
    tested = e.document["event"]["motor_tests"]["insulation"]
    tested["resistance_10_min"] = times(tested["resistance_1_min"], e.chance.uniform(0.4, 0.8), 2)


@mistake("isolation answered with no", "record.isolation")
def not_isolated(e: Entered) -> None:
    e.document["event"]["isolation_confirmed"] = False


@mistake("a visit to a pump that was taken out before", "record.in-service")
def out_of_service(e: Entered) -> None:
    part = e.chance.choice(("site", "pump", "motor"))
    e.document[part]["out_of_service_on"] = "2026-02-01"


@mistake("a piece on site that nobody registered", "record.not-in-register")
def not_registered(e: Entered) -> None:
    e.document["event"]["not_in_register"] = [
        {"resource": "vessel", "tag": "V-9", "plate": "bladder tank, 300 L, 16 bar"}
    ]


@mistake("a protection that took far too long", "protection.delay")
def late(e: Entered) -> bool | None:
    timed = [t for t in e.document["event"]["protection_tests"] if "delay_measured" in t]
    if not timed:
        return False
    test = e.chance.choice(timed)
    test["delay_measured"] = q(f"{number(test['delay_measured']) * 2 + 25:.1f}", "s")
    return None


@mistake_on_a_drive("line voltage taken for that of the d.c. link", "supply.dc-link")
def dc_link(e: Entered) -> bool | None:
    supply = e.document["event"]["supply"]
    if "dc_bus_voltage" not in supply:
        return False
    supply["dc_bus_voltage"] = supply["line_voltages"][0]
    return None


@mistake_on_a_drive("a digit lost of the d.c. link's voltage", "supply.dc-link")
def dc_link_digit(e: Entered) -> bool | None:
    link = e.document["event"]["supply"].get("dc_bus_voltage")
    if link is None:
        return False
    e.document["event"]["supply"]["dc_bus_voltage"] = times(link, 0.1, 2)
    return None


@mistake_on_a_drive("no check valve, and a pause too short for it", "station.check-valve")
def no_check_valve(e: Entered) -> bool | None:
    """A column that runs back: not over a crest, and not so low that it turns nothing."""
    if e.station.summit or e.station.static_head("low") < 2:
        return False
    e.document["site"]["check_valve_kind"] = "none"
    return None
