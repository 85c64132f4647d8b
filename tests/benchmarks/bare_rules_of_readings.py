"""Plain rules of what was read and recorded; `bare_rules` says which and what for."""

from calculations.findings import NotEvaluated, Severity, Shown
from calculations.rule import about, percent, show
from tests.benchmarks.bare_curves import value
from tests.benchmarks.bare_events import POINTS, RATING, VERIFIED
from tests.benchmarks.bare_telling import (
    Told,
    above,
    hydraulics,
    places_of,
    sensor_of,
    total_head,
    verified,
)  # fmt: skip


def vibration(told: Told) -> None:
    """Vibration velocity by the size of the motor."""
    known, at = told.known, told.known.at
    for place in places_of(told, POINTS):
        rows = [f"{row}/velocity_rms" for row in places_of(told, f"{place}/vibration")]
        if not rows:
            continue
        worst = max(rows, key=at.__getitem__)
        large = at.get(f"{RATING}/power", 0.0) > 200e3
        limits: dict[Severity, float] = {
            "note": 0.0061 if large else 0.0051, "review": 0.0095 if large else 0.0085,
            "stop": 0.018,
        }  # fmt: skip
        order: tuple[Severity, ...] = ("stop", "review", "note")
        certain = at[worst] - known.half[worst]
        severity = next((each for each in order if above(certain, limits[each])), None)
        if severity is None or (severity != "stop" and at[f"{place}/purpose"] == "shut_off"):
            continue
        read_ = known.text[worst]
        told.say(
            "machine.vibration", "shakes", severity, place,
            {"read": read_, "limit": about(limits[severity], read_.unit)},
            ", ".join(f"{show(limit, 'mm/s')} {name}" for name, limit in limits.items()),
            where=f" at {at[worst.replace('velocity_rms', 'location')]}",
        )  # fmt: skip


def linearity(told: Told) -> None:
    """Bend of a verification's points against its tolerance."""
    for place in places_of(told, VERIFIED):
        sensor = sensor_of(told, place)
        if told.lacks("sensor.linearity", place, f"{sensor}/tolerance_percent_of_span"):
            continue
        made = verified(told, place)
        if made.band is not None:
            told.lacking.append(NotEvaluated("sensor.linearity", place, (), "sensor.signal-band"))
            continue
        if made.outlier or made.outside:
            raise NotImplementedError("an error")
        inputs: dict[float, list[float]] = {}
        for applied, error in sorted(zip(made.applied, made.errors, strict=True)):
            inputs.setdefault(applied, []).append(error)
        mean = [(applied, sum(errors) / len(errors)) for applied, errors in inputs.items()]
        (x0, e0), (x1, e1) = mean[0], mean[-1]
        bend = max(abs(e - e0 - (e1 - e0) / (x1 - x0) * (x - x0)) for x, e in mean)
        if above(bend - 2 * made.roundings[0] / made.span, made.tolerance):
            raise NotImplementedError("bent")


def signal_band(told: Told) -> None:
    """Current inside the band of measurement."""
    known = told.known
    for place in places_of(told, VERIFIED):
        sensor = sensor_of(told, place)
        if told.lacks("sensor.signal-band", place, f"{sensor}/tolerance_percent_of_span"):
            continue
        made = verified(told, place)
        if made.outlier:
            raise NotImplementedError("an outlier")
        if made.band is None:
            continue
        row = made.rows[made.band]
        compared = {"signal": known.text[f"{row}/signal"], "applied": known.text[f"{row}/applied"]}
        told.say(
            "sensor.signal-band", "low" if made.signals[made.band] < 0.012 else "high", "review",
            row, compared, "3.8 to 20.5 mA", sensor=known.at[f"{sensor}/tag"],
        )  # fmt: skip


def too_perfect(told: Told) -> None:
    """Errors that are not all zero."""
    for place in places_of(told, VERIFIED):
        sensor = sensor_of(told, place)
        if told.lacks("record.too-perfect", place, f"{sensor}/tolerance_percent_of_span"):
            continue
        made = verified(told, place)
        if len(made.rows) >= 4 and not any(made.errors):
            raise NotImplementedError("all zero")


def sampling(told: Told) -> None:
    """Traces sampled often enough: no rows came with the event."""


def reversed_rotation(told: Told) -> None:
    """Direction of rotation, as seen or by what the pump gives."""
    at, place = told.known.at, "/event/rotation/drive_direction"
    direction = at.get(place)
    if direction == "reversed":
        told.say("rotation.reversed", "seen", "stop", place, {})
        return
    if direction == "correct" and at["/event/rotation/method"] in ("uncoupled_bump", "shaft_seen"):
        return
    made = hydraulics(told)
    ratios = []
    for point in places_of(told, POINTS):
        s = at[f"{point}/speed"] / made.speed
        ratios.append(
            total_head(told, made, point) / value(made.heads, at[f"{point}/flow"] / s) / s**2
        )
    if len(ratios) > 1 and all(0.4 <= ratio <= 0.78 for ratio in ratios):
        raise NotImplementedError("low heads")
    if direction != "correct":
        told.lacks("rotation.reversed", place, place)


def curve_point(told: Told) -> None:
    """Measured points against the pump's curve."""
    at = told.known.at
    if told.waits("curve.point", POINTS, "rotation.reversed"):
        return
    for place in places_of(told, POINTS):
        if told.lacks("curve.point", place, "/pump/curve_points", "/pump/rated_speed"):
            continue
        made = hydraulics(told)
        s = at[f"{place}/speed"] / made.speed
        expected = s * s * value(made.heads, at[f"{place}/flow"] / s)
        if not abs(total_head(told, made, place) / expected - 1.0) <= 0.05 + 1e-9:  # grade 2B
            raise NotImplementedError("off the curve")


def drawdown(told: Told) -> None:
    """Flow by the level of a well."""
    if told.known.at.get("/event/drawdown_tests"):
        raise NotImplementedError("a draw-down test")


def nameplate_current(told: Told) -> None:
    """Motor current under load against the plate."""
    known, plate = told.known, f"{RATING}/current"
    for place in places_of(told, POINTS):
        if told.lacks("load.current-nameplate", place, plate):
            continue
        name = f"{place}/currents_drive_output"
        rated, read_ = known.at[plate], known.at[name]
        mean = sum(read_) / len(read_)
        rounded = max(known.half[f"{name}/{index}"] for index in range(len(read_))) / rated
        ratio = mean / rated
        margin = rounded + 0.01 * ratio + ratio * known.half[plate] / rated  # power analyser
        if not above(ratio - 1.0 - margin, 0.05):
            continue
        severity: Severity = "stop" if above(ratio - 1.0 - margin, 0.15) else "review"
        told.say(
            "load.current-nameplate", "above", severity, place,
            {"read": show(mean, known.text[f"{name}/0"].unit), "plate": known.text[plate]},
            f"{percent(1.05)} review, {percent(1.15)} stop", share=percent(ratio),
        )  # fmt: skip


def trend_head(told: Told) -> None:
    """Head against the first visit: there is none before this."""


def trip_value(told: Told) -> None:
    """Values at which protections acted."""
    for place in places_of(told, "/event/protection_tests"):
        if f"{place}/limit_at_trip" in told.known.at:
            raise NotImplementedError("a value at trip")


def in_service(told: Told) -> None:
    """Pieces that were in service on the day."""
    at, place = told.known.at, "/event/performed_at"
    if told.lacks("record.in-service", place, place):
        return
    first = at[place][:10]
    last = at.get("/event/performed_until", first)[:10]
    pieces = ["/site", "/pump_set", "/pump", "/motor", "/drive", "/sensors/0", "/sensors/1",
              "/sensors/2"]  # fmt: skip
    pieces += [f"/instruments/{index}" for index in range(at.get("/event/instruments", 0))]
    off = {}
    for piece in pieces:
        since, until = at.get(f"{piece}/in_service_from"), at.get(f"{piece}/out_of_service_on")
        name = at.get(f"{piece}/tag") or at.get(f"{piece}/code") or at.get(f"{piece}/serial")
        if since is not None and since > last:
            off[piece] = f"{name} (from {since})"
        elif until is not None and until < first:
            off[piece] = f"{name} (to {until})"
    if off:
        whole = next(iter(off)) if len(off) == 1 else place
        day = {"day": Shown(first, "")}
        told.say("record.in-service", "off", "review", whole, day, pieces="; ".join(off.values()))
