"""Mistakes and faults at sensors, their references, and in the loop's answer."""

from .checks import readings
from .mistakes import mistake, number
from .stand import Entered
from .writing import Document, q, stepped


def _check(e: Entered) -> Document | None:
    """The regulating sensor's verification, as found and not adjusted."""
    checks = e.document["event"].get("sensor_verifications")
    if not checks or e.document["sensors"][0]["output"] != "4-20 mA":
        return None
    found: Document = checks[0]
    return found if "as_left" not in found else None


def _again(e: Entered, zero: float, gain: float, lag: float) -> bool | None:
    """The verification again, with errors as shares of the tolerance."""
    found = _check(e)
    if found is None:
        return False
    sensor = e.document["sensors"][0]
    tolerance = number(sensor["tolerance_percent_of_span"]) / 100
    found["as_found"] = readings(
        e.station.pen, sensor, e.settings, zero * tolerance, gain * tolerance, lag * tolerance
    )
    return None


@mistake("span of the regulating sensor off", "sensor.error-as-left")
def gain(e: Entered) -> bool | None:
    return _again(e, 0.0, e.chance.choice((-6.0, 6.0)), 0.0)


@mistake("a loop that cannot drive its load", "sensor.loop-load")
def load(e: Entered) -> bool | None:
    """12 V are left for 20 mA through 600 ohm; an input for a voltage would take the load for its
    own resistor."""
    sensor = e.document["sensors"][0]
    if not e.station.driven or sensor["wiring"] != "two_wire":
        return False
    if sensor["output"] != "4-20 mA" or e.settings.get("feedback_signal") != "4-20 mA":
        return False
    sensor["supply_voltage_minimum"] = q("12", "V")
    sensor["loop_load"] = q(str(e.chance.randrange(650, 1200, 50)), "ohm")
    return None


@mistake("a wider range set in the transmitter than is recorded", "sensor.entry", stops=True)
def wider_inside(e: Entered) -> bool | None:
    """The drive is scaled by the record, and shows so much less than there is."""
    found, sensor = _check(e), e.document["sensors"][0]
    if found is None:
        return False
    if sensor["quantity"] == "flow":
        return False  # the flows of a station reach too little of it to tell this of a bad sensor
    return _of_a_range(e, e.chance.choice((1.5, 1.6, 1.9)))


@mistake(
    "a range more than twice too wide set in the transmitter", "sensor.error-as-left", stops=True
)
def far_wider_inside(e: Entered) -> bool | None:
    return _of_a_range(e, e.chance.choice((2.6, 3.0))) if _check(e) else False


def _of_a_range(e: Entered, wider: float) -> bool | None:
    """The verification of a transmitter whose range is so many times what is recorded."""
    tolerance = number(e.document["sensors"][0]["tolerance_percent_of_span"]) / 100
    return _again(e, 0.0, (1 / wider - 1) / tolerance, 0.0)


@mistake("gauge height forgotten in the check", "sensor.offset")
def height(e: Entered) -> bool | None:
    found = _check(e)
    sensor = e.document["sensors"][0]
    if found is None or sensor["quantity"] != "pressure":
        return False
    metres = e.chance.uniform(2, 6)
    span = e.station.pen.si("pressure", sensor["upper_range_value"])
    share = metres * e.station.weight / span
    tolerance = number(sensor["tolerance_percent_of_span"]) / 100
    if share < 1.6 * tolerance:
        return False
    return _again(e, share / tolerance, 0.0, 0.0)


@mistake("absolute cell for a gauge cell", "sensor.offset")
def absolute(e: Entered) -> bool | None:
    sensor = e.document["sensors"][0]
    if sensor["quantity"] != "pressure" or _check(e) is None:
        return False
    span = e.station.pen.si("pressure", sensor["upper_range_value"])
    tolerance = number(sensor["tolerance_percent_of_span"]) / 100
    return _again(e, 1.0e5 / span / tolerance, 0.0, 0.0)


@mistake("sticking sensor", "sensor.hysteresis")
def sticking(e: Entered) -> bool | None:
    """Up reads low, down reads high, each inside the tolerance."""
    found = _check(e)
    if found is None:
        return False
    sensor = e.document["sensors"][0]
    tolerance = number(sensor["tolerance_percent_of_span"]) / 100
    if tolerance * 16 < 0.06 or e.earlier is not None:
        return False  # or else it was sound before, and drifted
    _again(e, 0.0, 0.0, 0.0)
    span = number(sensor["upper_range_value"])
    for row in found["as_found"][1:-1]:
        if number(row["applied"]) in (0.0, span):
            continue
        away = 0.75 * tolerance * (1 if row["direction"] == "down" else -1)
        row["signal"] = q(stepped(number(row["signal"]) + 16 * away, 0.01), "mA")
        shown = row["indicated"]
        row["indicated"] = q(stepped(number(shown) + span * away, 0.01), shown["unit"])
    return None


@mistake("digits of one reading swapped", "sensor.outlier")
def outlier(e: Entered) -> bool | None:
    found = _check(e)
    if found is None:
        return False
    row = found["as_found"][1]
    row["signal"] = q(stepped(number(row["signal"]) + 1.8, 0.01), "mA")
    return None


@mistake("display scaled otherwise than recorded", "sensor.chain")
def display(e: Entered) -> bool | None:
    found = _check(e)
    if found is None:
        return False
    for row in found["as_found"]:
        row["indicated"] = q(
            stepped(number(row["indicated"]) * 0.9, 0.01), row["indicated"]["unit"]
        )
    return None


@mistake("sensor was dead above half", "sensor.signal-band")
def failed_signal(e: Entered) -> bool | None:
    found = _check(e)
    if found is None:
        return False
    for row in found["as_found"][2:-2]:
        row["signal"] = q("3.50", "mA")
        del row["indicated"]
    return None


@mistake("a range that begins below a vacuum", "sensor.vacuum")
def below_vacuum(e: Entered) -> None:
    """-30 inHg of a compound gauge written as psi, -1 bar with a digit too many."""
    gauge = next(each for each in e.document["instruments"] if each["kind"] == "pressure_gauge")
    gauge["range_low"] = q("-30", "psi") if e.station.pen.us else q("-10", "bar")


@mistake("a loop's supply too low for its load", "sensor.loop-load")
def weak_supply(e: Entered) -> bool | None:
    """8 V at the most for 20 mA through 500 ohm."""
    sensor = e.document["sensors"][0]
    if not e.station.driven or sensor["output"] != "4-20 mA":
        return False
    if e.settings.get("feedback_signal") != "4-20 mA" or sensor["wiring"] != "two_wire":
        return False
    sensor["supply_voltage_minimum"] = q("10.0", "V")
    sensor["loop_supply_voltage"] = q(f"{e.chance.uniform(14, 18):.1f}", "V")
    sensor["loop_load"] = q("500", "ohm")
    return None


@mistake("calibrator out of date", "sensor.reference-calibration")
def out_of_date(e: Entered) -> bool | None:
    if _check(e) is None or e.document["sensors"][0]["quantity"] != "pressure":
        return False
    e.document["instruments"][0]["due_on"] = "2026-03-01"
    return None


@mistake("days of a calibration in each other's place", "sensor.reference-calibration")
def days_exchanged(e: Entered) -> bool | None:
    if _check(e) is None or e.document["sensors"][0]["quantity"] != "pressure":
        return False
    used = e.document["instruments"][0]
    used["calibrated_on"], used["due_on"] = used["due_on"], used["calibrated_on"]
    return None


@mistake("a calibration that holds for ten years too long", "sensor.reference-calibration")
def wrong_year(e: Entered) -> bool | None:
    if _check(e) is None or e.document["sensors"][0]["quantity"] != "pressure":
        return False
    used = e.document["instruments"][0]
    used["due_on"] = f"{int(used['due_on'][:4]) + 10}{used['due_on'][4:]}"
    return None


@mistake("reference as coarse as the tolerance", "sensor.reference-uncertainty")
def coarse(e: Entered) -> bool | None:
    sensor = e.document["sensors"][0]
    if _check(e) is None or sensor["quantity"] != "pressure":
        return False
    e.document["event"]["sensor_verifications"] = [
        each for each in e.document["event"]["sensor_verifications"] if each["sensor"] == "PT-1"
    ]
    reference = e.document["instruments"][0]
    tolerance = number(sensor["tolerance_percent_of_span"]) * number(sensor["upper_range_value"])
    percent = 1.3 * tolerance / number(reference["range_high"])
    reference["percent_of_range"] = q(f"{percent:.3g}", "%")
    return None


@mistake("adjusted, but not read again", "record.unadjusted")
def not_read_again(e: Entered) -> bool | None:
    found = _check(e)
    if found is None:
        return False
    found["adjusted"] = "span"
    return None


@mistake("a transmitter without a live zero taken", "loop.broken-wire", by_note=True)
def no_live_zero(e: Entered) -> bool | None:
    """Everything around it goes with it: input, selector, and the signals of its check."""
    found, sensor = _check(e), e.document["sensors"][0]
    if found is None or e.settings["feedback_signal"] != "4-20 mA":
        return False
    sensor["output"] = e.settings["feedback_signal"] = "0-10 V"
    e.settings["input_selector"] = "voltage"
    e.settings.pop("signal_loss_threshold", None)
    found["as_found"] = readings(e.station.pen, sensor, e.settings, 0.0002, 0.0002, 0.0)
    return None


@mistake("a suction transmitter of far too wide a range", "sensor.range", by_note=True)
def wide_range(e: Entered) -> bool | None:
    sensor = next((each for each in e.document["sensors"] if each["tag"] == "PT-2"), None)
    if sensor is None:
        return False
    highest = number(e.document["site"]["suction_pressure_high"])
    reference = number(e.document["instruments"][0]["range_high"])
    steps = (200, 300, 500) if e.station.pen.us else (16, 25, 40)
    wide = next((each for each in steps if 4.2 * highest < each <= reference), None)
    if wide is None:
        return False
    unit = sensor["upper_range_value"]["unit"]
    sensor["upper_range_value"] = q(wide, unit)
    sensor["overpressure_limit"] = q(3 * wide, unit)
    for check in e.document["event"]["sensor_verifications"]:
        if check["sensor"] == "PT-2":
            check.pop("as_left", None)
            check |= {"adjusted": "none", "as_found": readings(
                e.station.pen, sensor, e.settings, 0.0004, 0.0004, 0.0)}  # fmt: skip
    return None


# -- the sensor's own ------------------------------------------------------------------------------


TAKEN_FOR = {"psi": 0.0689476, "bar": 14.5038, "kPa": 0.145038, "m": 3.28084, "ft": 0.3048}
"""What one of a unit is in the one that a calibrator shows instead: bar, psi, psi, ft, m."""


@mistake("what a calibrator showed in another unit written down as it stood", "sensor.entry")
def other_unit(e: Entered) -> bool | None:
    found = _check(e)
    if found is None or any(row["applied"]["unit"] not in TAKEN_FOR for row in found["as_found"]):
        return False
    for row in found["as_found"]:
        applied = row["applied"]
        shown = number(applied) * TAKEN_FOR[applied["unit"]]
        row["applied"] = q(f"{shown:.3f}", applied["unit"])
    return None


@mistake("milliamperes of a check written as volts", "sensor.kinds")
def signal_unit(e: Entered) -> bool | None:
    found = _check(e)
    if found is None:
        return False
    for row in found["as_found"]:
        row["signal"] = q(row["signal"]["value"], "V")
    return None


@mistake("a sensor that bends", "sensor.linearity")
def bends(e: Entered) -> bool | None:
    """Low at both ends and high between them, each inside the tolerance."""
    found, sensor = _check(e), e.document["sensors"][0]
    if found is None or sensor["quantity"] == "flow":
        return False
    tolerance = number(sensor["tolerance_percent_of_span"]) / 100
    if tolerance * 16 < 0.06 or e.earlier is not None:
        return False  # or else it was sound before, and drifted
    _again(e, 0.0, 0.0, 0.0)
    span = number(sensor["upper_range_value"])
    for row in found["as_found"]:
        at_end = number(row["applied"]) in (0.0, span)
        away = (-0.72 if at_end else 0.72) * tolerance
        row["signal"] = q(stepped(number(row["signal"]) + 16 * away, 0.01), "mA")
        shown = row["indicated"]
        row["indicated"] = q(stepped(number(shown) + span * away, 0.01), shown["unit"])
    return None


@mistake("a sensor found out of tolerance and put right", "sensor.error-as-found", by_note=True)
def put_right(e: Entered) -> bool | None:
    found = _check(e)
    if found is None:
        return False
    found["as_left"] = found["as_found"]
    _again_as_found(e, found)
    found["adjusted"] = "zero"
    return None


def _again_as_found(e: Entered, found: Document) -> None:
    sensor = e.document["sensors"][0]
    tolerance = number(sensor["tolerance_percent_of_span"]) / 100
    found["as_found"] = readings(
        e.station.pen, sensor, e.settings, e.chance.choice((-3, 3)) * tolerance, 0.0, 0.0
    )


@mistake("readings computed, not read", "record.too-perfect", by_note=True)
def computed(e: Entered) -> bool | None:
    """Each reading is what it has to be, where the digits are fine enough to show an error."""
    found, sensor = _check(e), e.document["sensors"][0]
    if found is None or number(sensor["tolerance_percent_of_span"]) < 0.5:
        return False
    _again(e, 0.0, 0.0, 0.0)
    span = number(sensor["upper_range_value"])
    shares = [number(row["applied"]) / span * 4 for row in found["as_found"]]
    return None if all(abs(each - round(each)) < 1e-9 for each in shares) else False
