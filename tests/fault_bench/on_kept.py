"""Mistakes in what a loop keeps, and in what a drive makes of a lost signal."""

from .mistakes import in_unit, mistake, mistake_on_a_drive, number, times
from .on_loops import in_units, is_closed, keeps_pressure
from .stand import Entered
from .systems import lowest_margin
from .writing import q, stepped


@mistake("set point written as metres of water", "loop.kinds")
def set_point_as_head(e: Entered) -> bool | None:
    if not in_units(e):
        return False
    head = e.station.set_point / e.station.weight
    e.settings["set_point"] = e.station.pen.put("length", head, step=0.1)
    return None


@mistake("wake value written as metres of water", "loop.kinds")
def wake_as_head(e: Entered) -> bool | None:
    if not in_units(e):
        return False
    pen = e.station.pen
    head = pen.si("pressure", e.settings["wake_value"]) / e.station.weight
    e.settings["wake_value"] = pen.put("length", head, step=0.1)
    return None


@mistake("set points at no flow and at the design flow swapped", "loop.flow-compensation")
def compensation_swapped(e: Entered) -> bool | None:
    if not (keeps_pressure(e) and e.station.raised):
        return False
    found = e.settings["flow_compensation"]
    found["at_zero_flow"], found["at_design_flow"] = (
        found["at_design_flow"], found["at_zero_flow"],
    )  # fmt: skip
    return None


def _design_flow_doubled(e: Entered) -> None:
    flow = e.document["site"]["system_design_flow"]
    e.document["site"]["system_design_flow"] = times(flow, e.chance.uniform(1.8, 2.5))


@mistake("design flow of two pumps for one", "loop.set-point-reachable", by_note=True)
def flow_of_two(e: Entered) -> bool | None:
    if not keeps_pressure(e) or e.station.raised or e.station.suction != "pressurised_main":
        return False  # others might cavitate at so much
    _design_flow_doubled(e)
    return None


@mistake("the same where the set point is raised with the flow", "loop.flow-compensation")
def flow_of_two_raised(e: Entered) -> bool | None:
    if not (keeps_pressure(e) and e.station.raised) or e.station.suction != "pressurised_main":
        return False
    _design_flow_doubled(e)
    return None


@mistake_on_a_drive("signal lost above its live zero", "loop.loss-threshold")
def threshold_inside(e: Entered) -> bool | None:
    if "signal_loss_threshold" not in e.settings or e.settings["feedback_signal"] != "4-20 mA":
        return False
    e.settings["signal_loss_threshold"] = q(e.chance.choice(("4.5", "5", "8")), "mA")
    return None


@mistake_on_a_drive("volts for milliamperes of a lost signal", "loop.loss-threshold")
def threshold_in_volts(e: Entered) -> bool | None:
    if "signal_loss_threshold" not in e.settings or e.settings["feedback_signal"] != "4-20 mA":
        return False
    e.settings["signal_loss_threshold"] = in_unit(e.settings["signal_loss_threshold"], "V")
    return None


@mistake("integral time typed as derivative time", "loop.derivative", by_note=True)
def derivative(e: Entered) -> bool | None:
    if not is_closed(e):
        return False
    e.settings["derivative_time"] = q(e.chance.choice((3, 5, 8)), "s")
    return None


def _most_power(e: Entered, speed: float) -> float:
    """What the pump takes at a speed: along its curve, or as far as it runs out on its main."""
    station, pump = e.station, e.station.machine.hydraulics
    if keeps_pressure(e) or "low" not in station.lift:
        return pump.highest_power(speed, station.rho)
    flow = pump.flow_on(lambda each: station.lift["low"] + station.friction * each**2, speed)
    return pump.power_at(flow, speed, station.rho)


@mistake_on_a_drive("maximum frequency beyond the motor's power", "speed.maximum-power")
def beyond_power(e: Entered) -> bool | None:
    """A few hertz more, which the pump's speed allows."""
    station = e.station
    top = number(e.document["pump"]["maximum_speed_permitted"]) / 60 * 0.995
    frequency = station.frequency_of(top)
    if frequency < station.maximum + 0.5:
        return False
    usable = station.motor.run_power * min(frequency / station.motor.base_frequency, 1.0)
    factor = station.motor.service_factor  # what it covers is a note
    if _most_power(e, top) < 1.07 * usable * factor:
        return False
    bears = e.station.pen.si("pressure", e.document["site"]["discharge_pressure_limit"])
    if station.shut_off_pressure(frequency) > 0.98 * bears or lowest_margin(station, 26.0) < 2:
        return False  # so much flow asks for suction head as well
    e.settings["maximum_frequency"] = q(stepped(frequency, 0.1), "Hz")
    return None


# -- flow -------------------------------------------------------------------------------------


def _keeps_flow(e: Entered) -> bool:
    return e.station.regulation == "flow"


@mistake("a flow kept beyond what the well yields", "well.yield")
def beyond_yield(e: Entered) -> bool | None:
    if not _keeps_flow(e) or "tested_yield" not in e.document["site"]:
        return False
    kept = e.settings["set_point"]
    e.document["site"]["tested_yield"] = times(kept, e.chance.uniform(0.6, 0.95))
    return None


FLOWS_TAKEN_FOR = {"gpm": ("m3/h", "L/s"), "m3/h": ("L/s", "gpm"), "L/s": ("m3/h", "gpm")}


@mistake("digits of a flow that is kept in another unit", "loop.set-point-unit")
def flow_unit(e: Entered) -> bool | None:
    """As the station is written, on a drive that shows another."""
    if not _keeps_flow(e):
        return False
    kept = e.settings["set_point"]
    e.settings["set_point"] = in_unit(kept, e.chance.choice(FLOWS_TAKEN_FOR[kept["unit"]]))
    return None
