"""Sensors against their references, and the recorded answer of the loop."""

from math import cos, exp, floor, log10, pi, sin, sqrt
from random import Random

from .stations import Station
from .visits import TRACE
from .writing import Document, Pen, q, stepped

ENDS = {
    "4-20 mA": (4.0, 20.0, "mA"), "0-10 V": (0.0, 10.0, "V"), "2-10 V": (2.0, 10.0, "V"),
    "0.5-4.5 V": (0.5, 4.5, "V"),
}  # fmt: skip
SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
OF_FLOW = (0.12, 0.24, 0.36, 0.48, 0.56)
"""Of a meter's span: flows that a station has."""
REFERENCES = {"pressure": "I-1", "level": "I-9", "flow": "I-10"}


def verification(station: Station, sensor: Document, settings: Document) -> Document:
    """Five points up and down; most sensors stay well inside their tolerance."""
    chance, pen = station.chance, station.pen
    tolerance = float(sensor["tolerance_percent_of_span"]["value"]) / 100
    zero, gain, lag = (chance.gauss(0, 0.12 * tolerance) for _ in range(3))
    found = {
        "sensor": sensor["tag"], "instrument": REFERENCES[sensor["quantity"]], "adjusted": "none",
        "isolated_and_vented": True, "damping": q("0.1", "s"),
        "as_found": readings(pen, sensor, settings, zero, gain, abs(lag)),
    }  # fmt: skip
    if sensor["quantity"] == "pressure":
        found["applied_head_difference"] = pen.put("length", 0, step=1)
    if chance.random() < 0.08:
        drifted = tolerance * chance.uniform(1.3, 3.0) * chance.choice((-1, 1))
        found["as_left"] = found["as_found"]
        found["as_found"] = readings(pen, sensor, settings, drifted, gain, abs(lag))
        found["adjusted"] = "zero"
        station.oddities.add("found out of tolerance and adjusted")
    return found


def readings(
    pen: Pen, sensor: Document, settings: Document, zero: float, gain: float, lag: float
) -> list[Document]:
    """Readings at five values up and down, with errors as shares of span."""
    lowest, highest, unit = ENDS[sensor["output"]]
    span = float(sensor["upper_range_value"]["value"])
    fine = 0.001 if unit == "V" else 0.01
    coarse, displayed = _steps(pen, sensor["quantity"], span)
    rows = []
    held = OF_FLOW if sensor["quantity"] == "flow" else SHARES
    for direction, shares in (("up", held), ("down", held[::-1])):
        for share in shares:
            error = zero + gain * share + (lag * share * (1 - share) if direction == "down" else 0)
            signal = float(stepped(lowest + (highest - lowest) * (share + error), fine))
            shown = (signal - lowest) / (highest - lowest) * span
            shown += _offset(sensor, settings)
            applied = stepped(share * span, coarse)
            rows.append({
                "direction": direction, "applied": q(applied, sensor["upper_range_value"]["unit"]),
                "signal": q(stepped(signal, fine), unit), "indicated_at": "drive",
                "indicated": q(stepped(shown, displayed), sensor["upper_range_value"]["unit"]),
            })  # fmt: skip
    return rows


def _steps(pen: Pen, quantity: str, span: float) -> tuple[float, float]:
    """Steps of the value applied and of the drive's display; flows are of any size."""
    if quantity == "flow":
        fine = 10.0 ** (floor(log10(span)) - 3)
        return fine, fine
    return (0.01 if quantity == "level" or not pen.us else 0.1), 0.01


def _offset(sensor: Document, settings: Document) -> float:
    """What the drive's scaling adds for height or floor, in the sensor's unit."""
    if sensor["location"] in ("suction", "well"):  # not the one that is regulated on
        return 0.0
    if settings["feedback_at_lower_signal"]["unit"] == "%":
        return 0.0
    if settings["feedback_signal"] != sensor["output"]:
        return 0.0
    return float(settings["feedback_at_lower_signal"]["value"])


def step_test(station: Station, settings: Document) -> Document:
    """A small step towards the set point."""
    aim = settings["set_point"]
    start = float(aim["value"]) * 0.92
    return {
        "trace": TRACE, "step_kind": "set_point", "time": "2026-05-14T13:05:00+00:00",
        "from": q(f"{start:.2f}", aim["unit"]), "to": aim,
    }  # fmt: skip


def answer(
    chance: Random,
    start: float,
    end: float,
    *,
    damping: float,
    rate: float,
    noise: float,
    seconds: int = 120,
) -> tuple[list[float], list[float]]:
    """Times and values of a second-order answer to a step after ten seconds, with noise."""
    times = [0.5 * index for index in range(2 * seconds)]
    values = []
    for time in times:
        share = _second_order(time - 10, damping, rate) if time > 10 else 0.0
        values.append(start + (end - start) * share + chance.gauss(0, noise))
    return times, values


def _second_order(time: float, damping: float, rate: float) -> float:
    """Unit step of a second-order system; damping below one."""
    swing = rate * sqrt(1 - damping**2)
    ratio = damping / sqrt(1 - damping**2)
    return 1 - exp(-damping * rate * time) * (cos(swing * time) + ratio * sin(swing * time))


def hunting(
    chance: Random, aim: float, *, swing: float, period: float, noise: float
) -> tuple[list[float], list[float]]:
    """Times and values that swing about the aim and do not die out."""
    times = [0.5 * index for index in range(240)]
    values = [aim + swing * sin(2 * pi * t / period) + chance.gauss(0, noise) for t in times]
    return times, values
