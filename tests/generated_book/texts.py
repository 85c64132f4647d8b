"""The texts of generated records: the readings that the drawn deeds rest on."""

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import orjson

from calculations.catalogue import VERSION
from records.services.sealing import ALGORITHMS, FORMAT
from tests.calculations.building_plates import q
from tests.generated_book.drawing import TOLERANCE, Deed, Station, Visit
from tests.generated_book.plates import Document

POINTS = (("design", "54.9", "1630", 1000, "31.6", 125.6, 31.9),
          ("normal", "48.2", "1433", 700, "32.1", 123.8, 22.2),
          ("minimum", "43.3", "1289", 400, "32.4", 122.7, 14.7))  # fmt: skip
"""Purpose, Hz, rpm, gpm, suction psi, head ft, kW at the drive's input; of the size 1."""

FEET = 2.309
"""Of water in a psi."""


@dataclass(frozen=True)
class Party:
    """An organization."""

    id: uuid.UUID
    name: str

    def document(self) -> Document:
        """As records name it."""
        return {"id": str(self.id), "name": self.name}


def instant(at: datetime) -> str:
    """A moment as records write it."""
    return at.isoformat().replace("+00:00", "Z")


def event(station: Station, visit: Visit, identity: uuid.UUID) -> Document:
    """What was posted."""
    done = {each.task: each for each in visit.deeds}
    document: Document = {
        "id": str(identity),
        "site": str(station.id),
        "pump_set": str(visit.of.id),
        "kind": visit.kind,
        "performed_at": instant(visit.on),
        "parties": {"performed_by": "Drawn technician"},
        "sensor_verifications": [_verification(station, visit)],
        "motor_tests": {"insulation": _insulation(visit)},
        "duty_points": [_point(station, visit, *each) for each in POINTS],
        "protection_tests": [_test(each) for each in visit.deeds
                             if each.place.startswith("/event/protection_tests/")],
    }  # fmt: skip
    refused = [{"task": each.task, "reason": each.reason} for each in visit.deeds if each.reason]
    if refused:
        document["not_possible"] = refused
    if "rotation" in done:
        document["rotation"] = {"drive_direction": "correct", "method": "uncoupled_bump"}
    if "earth-continuity" in done:
        frame = {"from": "motor frame", "to": "drive earth bar", "resistance": q("0.05", "ohm")}
        document["earth_tests"] = [frame]
    if "pre-charge" in done:
        left = {"pre_charge_as_found": q("68", "psi"), "pre_charge_as_left": q("69", "psi")}
        document["vessel_checks"] = [{"vessel": "V-1", "system_drained": True, **left}]
    return document


def _verification(station: Station, visit: Visit) -> Document:
    """Three points with the drawn error; one outside of the tolerance is set right."""
    unit, span = ("ft", 20) if station.kind.level else ("psi", 200)
    outside = abs(visit.error) > TOLERANCE

    def points(error: float) -> list[Document]:
        return [
            {"direction": "up", "applied": q(f"{span * share / 100:.2f}", unit),
             "signal": q(f"{4 + 0.16 * (share + error):.2f}", "mA")}
            for share in (0, 50, 100)
        ]  # fmt: skip

    told = {"sensor": visit.of.sensor.tag, "as_found": points(visit.error),
            "adjusted": "zero" if outside else "none"}  # fmt: skip
    return told | ({"as_left": points(0.0)} if outside else {})


def _insulation(visit: Visit) -> Document:
    return {"test_voltage": q("500", "V"), "resistance_1_min": q(f"{visit.insulation:.0f}", "Mohm"),
            "winding_temperature": q("68", "degF"), "drive_disconnected": True,
            "includes_cable": False, "at": "motor_terminals"}  # fmt: skip


def _point(
    station: Station, visit: Visit, purpose: str, hertz: str, speed: str, flow: float,
    suction: str, head: float, power: float,
) -> Document:  # fmt: skip
    size = station.size
    return {
        "purpose": purpose,
        "frequency": q(hertz, "Hz"),
        "speed": q(speed, "rpm"),
        "speed_measured": True,
        "flow": q(f"{flow * size:.4g}", "gpm"),
        "flow_method": "installed_meter",
        "suction_pressure": q(suction, "psi"),
        "suction_gauge_elevation": q("2.0", "ft"),
        "discharge_pressure": q(f"{85.0 - visit.wear * head / FEET:.1f}", "psi"),
        "discharge_gauge_elevation": q("3.0", "ft"),
        "power_drive_input": q(f"{power * size * (1 + visit.wear / 3):.4g}", "kW"),
        "other_pumps_running": 0,
        "vibration": [{"location": "pump bearing", "velocity_rms": q("1.8", "mm/s")}],
    }


def _test(deed: Deed) -> Document:
    function = deed.task.removeprefix("protection.").replace("-", "_")
    passed = deed.result == "inside"
    return {"function": function, "expected": "stop", "observed": "stop" if passed else "none",
            "passed": passed}  # fmt: skip


def snapshot(station: Station, visit: Visit, parties: tuple[Party, Party]) -> Document:
    """The plates that stood there that day."""
    joined = visit.of
    site = {"id": str(station.id), "contractor": str(parties[0].id), "client": str(parties[1].id)}
    named = {"pump": joined.pump, "motor": joined.motor, "drive": joined.drive}
    told: Document = {"site": site | station.plate}
    told["pump_set"] = set_plate(visit.of) | {"id": str(joined.id)}
    for word, piece in named.items():
        if piece is not None:
            told[word] = {"id": str(piece.id), **piece.plate}
    told["sensors"] = [{"id": str(each.id), **each.plate} for each in (joined.sensor, joined.meter)]
    told["vessels"] = [{"id": str(each.id), **each.plate} for each in station.pieces
                       if each.kind == "vessel"]  # fmt: skip
    return told | {"instruments": [], "neighbours": []}


def set_plate(joined: Any) -> Document:
    """A pump set's plate: what it joins, by id."""
    plate = {
        "tag": joined.tag, "pump": str(joined.pump.id), "motor": str(joined.motor.id),
        "regulating_sensor": str(joined.sensor.id), "flow_meter": str(joined.meter.id),
        "group": "all", "bypass": "none", "transmission": "direct",
        "in_service_from": str(joined.since),
    }  # fmt: skip
    if joined.drive is not None:
        plate["drive"] = str(joined.drive.id)
    if joined.until is not None:
        plate["out_of_service_on"] = str(joined.until)
    return plate


def judgement(visit: Visit) -> Document:
    """What would have been computed: the largest error alone, which trends ask for."""
    error = {"id": "sensor.largest-error", "subject": "/event/sensor_verifications/0",
             "value": f"{visit.error:.2f}", "unit": "%",
             "formula": "max |e|", "source": "definition"}  # fmt: skip
    return {"catalogue": VERSION, "derived": [error], "findings": [], "not_evaluated": [],
            "limits_changed": [], "limits": {}, "earlier_record": None}  # fmt: skip


def record(
    identity: uuid.UUID, number: int, previous: bytes | None, visit: Visit,
    parties: tuple[Party, Party], parts: Document,
) -> bytes:  # fmt: skip
    """The canonical text: sorted names and strings for numbers make it RFC 8785 for ASCII."""
    content = {
        **parts,
        "contractor": parties[0].document(),
        "client": parties[1].document(),
        "attachments": [], "traces": [], "answers": [], "signatures": [],
        "format": FORMAT,
        "record_id": str(identity),
        "number": number,
        "previous": previous.hex() if previous else None,
        "sealed_at": instant(visit.sealed),
        "algorithms": ALGORITHMS,
        "corrects": None,
    }  # fmt: skip
    return orjson.dumps(content, option=orjson.OPT_SORT_KEYS)
