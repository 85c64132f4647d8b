"""The formulas of a full start-up as bare floats: what judging it has to compute, and no more.

`formulas` computes every derived value that `judge` gives for this event, and the figures that its
rules compare: candidates of the pole count, the plate's power balance, part-load efficiency, the
acceptance of three points with the instruments' uncertainty, suction head needed, overall against
the product of its parts, the measuring chain at three values, errors, hysteresis and both
linearities of two verifications with test uncertainty ratio and guard band. It fits each curve once
and solves as many duty points as `judge` does (eight), by the same methods.

It leaves out whatever is not arithmetic on this event: looking values up and finding what is
missing, deciding which rules apply or wait, guards against arguments out of range, units and the
rounding of what is shown, sentences, completeness of the record, dates, serial numbers,
protections, words that have to agree, and figures that are compared as they stand.
"""

from collections.abc import Sequence
from math import ceil, exp, hypot, pi, sqrt
from typing import Any

from tests.benchmarks.bare_curves import Curve, fit, meeting, slope, value
from tests.benchmarks.bare_sensors import sensors
from tests.benchmarks.bare_slip import Slip

Results = dict[tuple[str, str], float]

G, ICE, ATMOSPHERE = 9.80665, 273.15, 101325.0
LEFT, RATING = "/event/settings/as_left", "/motor/ratings/1"
# Four poles, enclosed: 10 CFR 431.25 table (60 Hz); NFPA 70 table 430.250 at 460 V.
EFFICIENCIES = {50.0: 0.945, 60.0: 0.950, 75.0: 0.954}
CURRENTS = {50.0: 65.0, 60.0: 77.0, 75.0: 96.0}
PART_LOAD = (-0.4508, 1.2399, -0.4301, 0.641)  # 10 CFR 431 Subpart Y, appendix A
SATURATION = (
    1167.0521452767, -724213.16703206, -17.073846940092, 12020.82470247, -3232555.0322333,
    14.91510861353, -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798,
)  # fmt: skip  # IF97, table 34
DENSITY = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)


def formulas(n: Any) -> Results:
    """Everything from the bare SI numbers `n` of the event, by value or rule, and place."""
    out: Results = {}
    _motor(n, out)
    _supply(n, out)
    heads = fit(n.curve_flows, n.curve_heads)
    efficiencies = fit(n.curve_flows, (0.0, *n.curve_efficiencies))
    suction = fit(n.curve_flows[1:], n.curve_npsh)
    density = _density(n.liquid_temperature)
    highest = _highest_power(heads, efficiencies, n.curve_flows, density)
    slip = Slip(n, heads, efficiencies, density)
    torque = highest / n.curve_speed * n.speed / n.power
    top = slip.under(n.maximum_frequency, torque)
    _load(n, out, heads, efficiencies, density, highest, top)
    _speeds(n, out, heads, slip, density)
    at_power = n.curve_speed * (n.power / highest) ** (1 / 3)
    carried = slip.frequency_under(at_power, torque)
    out["speed.highest-for-motor-power", "/motor"] = carried
    _winding(n, out)
    sensors(n, out)
    _points(n, out, heads, efficiencies, suction, density)
    _drive(n, out)
    _station(n, out, heads, slip, suction, density)
    return out


def _motor(n: Any, out: Results) -> None:
    synchronous = 2.0 * n.frequency / n.poles
    horsepower = n.power / 745.6998715822702
    rating = min(EFFICIENCIES, key=lambda each: abs(each - horsepower))
    out["motor.poles", "/motor"] = float(n.poles)
    out["motor.synchronous-speed", RATING] = synchronous
    out["motor.slip", RATING] = 1.0 - n.speed / synchronous
    out["motor.rated-torque", RATING] = n.power / (2.0 * pi * n.speed)
    product = n.power / (sqrt(3.0) * n.voltage * n.current)
    out["motor.efficiency-times-power-factor", RATING] = product
    out["motor.required-efficiency", f"{RATING}/efficiency"] = EFFICIENCIES[rating]
    out["motor.table-full-load-current", RATING] = CURRENTS[rating]
    out["motor.separate-overload-limit", RATING] = 1.25 * n.current
    loss = 0.01 * max(n.elevation - 1000.0, 0.0)
    out["motor.allowed-ambient", "/motor/ambient_rated"] = ICE + 40.0 - loss
    slips = [1.0 - n.speed * poles / 2.0 / n.frequency for poles in range(2, 25, 2)]
    out["motor.poles", ""] = sum(-1e-9 <= slip <= 0.1 for slip in slips)
    out["motor.power-balance", ""] = product / (n.efficiency * n.power_factor) - 1.0
    out["motor.ratings-agree", ""] = n.low_voltage * n.low_current / n.voltage / n.current - 1.0
    out["drive.motor-current", ""] = n.set_current / n.current - 1.0
    out["drive.motor-power", ""] = n.set_power / n.power - 1.0
    out["drive.motor-speed", ""] = 1.0 - n.set_speed / synchronous
    out["drive.overload-setting", ""] = n.set_overload / n.current - 1.0


def _supply(n: Any, out: Results) -> None:
    place = "/event/supply/line_voltages"
    mean = sum(n.line_voltages) / 3.0
    squares = [each * each for each in n.line_voltages]
    beta = sum(each * each for each in squares) / sum(squares) ** 2
    root = sqrt(3.0 - 6.0 * beta)
    out["supply.mean-voltage", place] = mean
    out["supply.unbalance", place] = _unbalance(n.line_voltages)
    out["supply.negative-sequence-unbalance", place] = sqrt((1.0 - root) / (1.0 + root))
    out["supply.voltage-range", ""] = mean / n.supply_voltage - 1.0
    out["supply.frequency", ""] = n.supply_frequency / n.nominal_frequency - 1.0


def _unbalance(values: Sequence[float]) -> float:
    mean = sum(values) / len(values)
    return max(abs(each - mean) for each in values) / mean


def _density(temperature: float) -> float:
    """Of water [kg/m3]; Kell 1975."""
    t, total = temperature - ICE, 0.0
    for coefficient in reversed(DENSITY):
        total = total * t + coefficient
    return total / (1.0 + 16.87985e-3 * t)


def _vapour(temperature: float) -> float:
    """Absolute vapour pressure of water [Pa]; IF97, equation 30."""
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = SATURATION
    t = temperature + n9 / (temperature - n10)
    a, b, c = t * t + n1 * t + n2, n3 * t * t + n4 * t + n5, n6 * t * t + n7 * t + n8
    return 1e6 * (2.0 * c / (-b + sqrt(b * b - 4.0 * a * c))) ** 4


def _highest_power(heads: Curve, etas: Curve, flows: Sequence[float], density: float) -> float:
    """Highest shaft power on the curve at its speed [W]: at sixteen steps, and at its points."""
    steps = [flows[-1] * step / 16 for step in range(1, 17)]
    return max(density * G * q * value(heads, q) / value(etas, q) for q in (*steps, *flows[1:]))


def _current(n: Any, power: float, speed: float, frequency: float, share: float = 0.4) -> float:
    torque = power * n.speed / speed / n.power * max(frequency / n.frequency, 1.0)
    return n.current * sqrt(share**2 + (1.0 - share**2) * torque**2)


def _load(
    n: Any, out: Results, heads: Curve, etas: Curve, density: float, highest: float, top: float
) -> None:
    out["load.no-load-current", RATING] = 0.4 * n.current
    most = _current(n, highest * (top / n.curve_speed) ** 3, top, n.maximum_frequency)
    out["load.highest-expected-current", f"{LEFT}/maximum_frequency"] = most
    for point in n.points:
        at, s, f = point.place, point.speed / n.curve_speed, point.frequency
        q, ratio = point.flow / s, min(f / n.frequency, 1.0)
        shaft = density * G * point.flow * s * s * value(heads, q) / value(etas, q)
        taken = shaft / n.efficiency / 0.97
        expected = _current(n, shaft, point.speed, f)
        out["duty.expected-current", at] = expected
        out["duty.expected-output-voltage", at] = n.voltage * ratio
        out["duty.expected-input-current", at] = taken / (sqrt(3.0) * n.supply_voltage * 0.9)
        low, high = (_current(n, shaft, point.speed, f, k) for k in (0.3, 0.5))
        mean = sum(point.currents) / 3.0
        out["load.current-expected", at] = abs(mean / expected - 1.0) - (high - low) / 2 / expected
        out["load.current-nameplate", at] = max(point.currents) / n.current - 1.0
        out["load.voltage", at] = sum(point.voltages) / 3.0 / (n.voltage * ratio) - 1.0
        apparent = sqrt(3.0) * sum(point.voltages) / 3.0 * mean
        out["load.power", at] = point.power_output / apparent
        out["winding.current-unbalance", at] = _unbalance(point.currents)
        slip = n.frequency / n.poles * 2.0 * f / n.frequency - point.speed
        out["speed.measured", at] = slip / (f * 2.0 / n.poles)


def _speeds(n: Any, out: Results, heads: Curve, slip: Slip, density: float) -> None:
    set_point = n.set_point / density / G + n.discharge_tapping
    shut_off, per_speed = value(heads, 0.0), n.frequency / n.speed
    needed = [
        set_point - n.suction_tapping - each / density / G
        for each in (n.suction_low, n.suction_high)
    ]
    at_least = value(heads, n.minimum_flow)
    ends = ("at-lowest-suction", "at-highest-suction")
    zero = [slip.frequency(n.curve_speed * sqrt(head / shut_off), 0.0) for head in needed]
    for end, each in zip(ends, zero, strict=True):
        out[f"speed.zero-flow-{end}", "/pump"] = each
    for end, head in zip(("", "-at-highest-suction"), needed, strict=True):
        s = sqrt(head / at_least)
        kept = slip.frequency(n.curve_speed * s, n.minimum_flow * s)
        out[f"speed.at-minimum-continuous-flow{end}", "/pump"] = kept
        met = _flow_at_head(n, heads, slip, n.sleep_frequency, head)
        out[f"sleep.flow{end}", f"{LEFT}/sleep_frequency"] = met
    at_least_flow = out["speed.at-minimum-continuous-flow", "/pump"]
    floor = max(n.minimum_frequency, n.minimum_permitted)
    tried = (*(max(zero[0] + each, at_least_flow) for each in (1.0, 0.5)),
             zero[0] + 1.0, zero[0] + 0.5)  # fmt: skip
    for sensible in (ceil(max(each, floor) * 10 - 1e-6) / 10 for each in tried):
        best = n.best_flow * sensible / per_speed / n.curve_speed
        flows = (_flow_at_head(n, heads, slip, sensible, head) for head in needed)
        if all(flow <= share * best for flow, share in zip(flows, (0.7, 0.5), strict=True)):
            break
    else:
        raise NotImplementedError("less room")
    out["sleep.sensible-frequency", f"{LEFT}/sleep_frequency"] = sensible
    out["speed.lowest-sensible-minimum", "/pump"] = max(n.minimum_permitted, zero[1])
    permitted = min(n.motor_maximum_frequency, n.pump_maximum_speed * per_speed)
    out["speed.highest-permitted", "/pump"] = permitted
    before = n.suction_high + density * G * (n.suction_tapping - n.discharge_tapping)
    named = {
        "minimum": n.minimum_frequency, "rated": n.frequency, "maximum": n.maximum_frequency,
    }  # fmt: skip
    for name, f in named.items():
        s = slip.speed(f, 0.0) / n.curve_speed
        reading = before + density * G * shut_off * s * s
        out[f"pressure.shut-off-at-{name}-speed", "/pump"] = reading


def _flow_at_head(n: Any, heads: Curve, slip: Slip, frequency: float, head: float) -> float:
    """What flows at a frequency and a head, with the slip that it causes."""

    def at(speed: float) -> float:
        return meeting(heads, speed / n.curve_speed, head, 0.0)

    return at(slip.speed_where(frequency, at))


def _winding(n: Any, out: Results) -> None:
    test = "/event/motor_tests/insulation"
    factor = exp(-1245.0 * (1.0 / (n.winding_temperature - ICE + 273.0) - 1.0 / 313.0))
    out["insulation.at-40-degrees", f"{test}/resistance_1_min"] = n.insulation_1_min * factor
    out["insulation.minimum-today", f"{test}/winding_temperature"] = 5e6 / factor
    absorption = n.insulation_1_min / n.insulation_30_s
    out["insulation.absorption-ratio", f"{test}/resistance_30_s"] = absorption
    place = "/event/motor_tests/winding_resistance/values"
    out["winding.resistance-unbalance", place] = _unbalance(n.resistances)


def _points(
    n: Any, out: Results, heads: Curve, etas: Curve, suction: Curve, density: float
) -> None:
    weight = density * G
    parts = value(etas, n.rated_flow) * n.efficiency * 0.97
    out["energy.per-volume-at-rated-point", "/pump/rated_flow"] = weight * n.rated_head / parts
    air, vapour = _air(n.elevation), _vapour(n.liquid_temperature)
    for point in n.points:
        at, s, flow = point.place, point.speed / n.curve_speed, point.flow
        inlet, outlet = (
            (4.0 * flow / (pi * bore * bore)) ** 2 / (2.0 * G)
            for bore in (n.bore_suction, n.bore_discharge)
        )
        read = (point.discharge - point.suction) / weight
        head = read + point.discharge_height - point.suction_height + outlet - inlet
        on_curve = s * s * value(heads, flow / s)
        eta, power = value(etas, flow / s), weight * flow * head
        out["duty.total-head", at] = head
        out["duty.curve-head", at] = on_curve
        out["duty.hydraulic-power", at] = power
        out["duty.wire-to-water-efficiency", at] = overall = power / point.power_input
        out["energy.per-volume", at] = point.power_input / flow
        available = (air + point.suction - vapour) / weight + point.suction_height + inlet
        out["npsh.available", at] = available
        out["npsh.margin", at] = available / (s * s * value(suction, flow / s))
        u_flow = n.meter_uncertainty / flow + point.flow_rounding / flow
        u_head = hypot(*(n.gauge_uncertainty + each for each in point.roundings)) / weight / head
        _acceptance(out, at, heads, s, (flow, head, on_curve), (u_flow, u_head))
        out["region.operating", at] = flow / (n.best_flow * s)
        load = min(weight * flow * on_curve / eta / n.power, 1.0)
        loss = 0.0
        for coefficient in PART_LOAD:
            loss = loss * load + coefficient
        part = load / (load + loss * (1.0 / n.efficiency - 1.0))
        out["efficiency.sum-of-parts", at] = overall / (eta * n.efficiency * 0.97)
        out["efficiency.wire-to-water", at] = overall / (eta * part * 0.97)
        u_power = 0.01 + point.power_rounding / point.power_input
        out["efficiency.wire-to-water", f"{at} uncertainty"] = hypot(u_flow, u_head, u_power)


def _acceptance(
    out: Results, at: str, heads: Curve, s: float, read: tuple[float, ...], u: tuple[float, float]
) -> None:
    """Deviation of a point in head and in flow, and what the instruments leave open of each."""
    flow, head, on_curve = read
    met = meeting(heads, s, head, 0.0)
    steep, steep_there = (abs(s * slope(heads, q / s)) * q / head for q in (flow, met))
    out["curve.point", at] = head / on_curve - 1.0
    out["curve.point", f"{at} flow"] = flow / met - 1.0
    out["curve.point", f"{at} uncertainty of head"] = hypot(u[1], steep * u[0]) * head / on_curve
    out["curve.point", f"{at} uncertainty of flow"] = hypot(u[0], u[1] / steep_there) * flow / met


def _air(elevation: float) -> float:
    """Absolute pressure of the air [Pa]; ISO 2533:1975."""
    height = 6356766.0 * elevation / (6356766.0 + elevation)
    return ATMOSPHERE * (1.0 - 0.0065 * height / 288.15) ** (G / (287.05287 * 0.0065))


def _drive(n: Any, out: Results) -> None:
    out["drive.volts-per-hertz", RATING] = n.voltage / n.frequency
    out["drive.volts-per-hertz-set", f"{LEFT}/motor_voltage"] = n.set_voltage / n.set_frequency
    altitude = 1.0 - 1e-4 * max(n.elevation - 1000.0, 0.0)
    ambient = 1.0 - 0.01 * max(n.ambient - ICE - 40.0, 0.0)
    available = n.drive_current * altitude * ambient
    out["drive.available-current", "/drive/rated_current_normal_duty"] = available
    out["drive.overload-setting", f"{LEFT}/overload_current"] = n.current
    out["drive.overload-refused-above", f"{LEFT}/overload_current"] = 1.25 * n.current
    out["drive.critical-cable-length", "/drive/motor_cable_length"] = 150e6 * 0.1e-6 / 2.0
    out["drive.terminal-peak", "/motor/peak_voltage_limit"] = 1.9 * sqrt(2.0) * n.supply_voltage
    resistance = 1.7241e-8 * (75.0 + 234.5) / (20.0 + 234.5) / n.conductor
    along = resistance * n.power_factor + 8e-5 * sqrt(1.0 - n.power_factor**2)
    drop = sqrt(3.0) * n.current * n.cable * along / n.voltage
    out["drive.cable-voltage-drop", "/drive/motor_cable_conductor"] = drop
    out["ramp.too-short", ""] = n.ramp_up / n.maximum_frequency


def _station(
    n: Any, out: Results, heads: Curve, slip: Slip, suction: Curve, density: float
) -> None:
    k = (n.design_head - n.lift_high) / n.design_flow**2
    top = n.speed * n.maximum_frequency / n.frequency / n.curve_speed

    def at(frequency: float, lift: float) -> float:
        def met(speed: float) -> float:
            s = speed / n.curve_speed
            return meeting(heads, s, lift, k) if s * s * value(heads, 0.0) > lift else 0.0

        return met(slip.speed_where(frequency, met))

    least = at(n.minimum_frequency, n.lift_high)
    flow, lowest = (at(n.maximum_frequency, lift) for lift in (n.lift_high, n.lift_low))
    out["system.flow-at-minimum-speed", f"{LEFT}/minimum_frequency"] = least
    out["system.flow-at-maximum-speed", f"{LEFT}/maximum_frequency"] = flow
    out["system.flow-at-maximum-speed-at-lowest-lift", f"{LEFT}/maximum_frequency"] = lowest
    air, warm = _air(n.elevation), _vapour(n.warmest)
    out["npsh.atmospheric-pressure", "/site/elevation"] = air
    out["npsh.vapour-pressure", "/event/liquid_temperature"] = _vapour(n.liquid_temperature)
    out["npsh.vapour-pressure-at-highest-temperature", "/site/liquid_temperature_max"] = warm
    # The drive keeps a pressure: no more than the design flow is drawn, at the speed for it.
    drawn = min(n.design_flow, flow)
    head = n.lift_high + k * drawn**2
    s = min(drawn / meeting(heads, 1.0, 0.0, head / drawn**2), top)
    loss = n.suction_loss * (drawn / n.suction_loss_flow) ** 2
    grade = n.suction_low / (density * G) + n.suction_tapping
    available = (air - warm) / (_density(n.warmest) * G) + grade - loss
    out["npsh.available-at-lowest-suction", "/site"] = available
    out["npsh.lowest-suction", ""] = available / (s * s * value(suction, drawn / s))
    out["vessel.pre-charge-target", "/vessels/0"] = 0.875 * n.wake
    gas = n.vessel_volume * (n.pre_charge + air)
    usable = gas * (1.0 / (n.wake + air) - 1.0 / (n.set_point + n.boost + air))
    out["vessel.usable-volume", "/vessels/0"] = usable
    out["vessel.wake-interval", "/vessels/0"] = usable / (0.01 * n.rated_flow)
