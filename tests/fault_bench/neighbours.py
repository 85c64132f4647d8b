"""A like pump set beside a station's own, on the same header and the same sensor."""

from copy import deepcopy

from . import visits
from .stations import Station
from .writing import Document, q


def join(station: Station, document: Document) -> None:
    """A second set beside the first: a lead and a lag pump, each of which carries all alone."""
    left = document["event"]["settings"]["as_left"]
    left |= {
        "pump_arrangement": "lead_lag", "pumps_in_group": 2, "pumps_maximum_running": 1,
        "alternation": "at_sleep", "failover": "the other pump, at a fixed speed",
    }  # fmt: skip
    document["neighbours"] = [_beside(document) | {"settings": _lag(station, left)}]
    if station.apart.random() < 0.7:
        document["neighbours"][0]["duty_points"] = [
            visits.duty_point(station, document, each) for each in station.points
        ]
    station.oddities.add("a lag pump beside it")


def take_turns(station: Station, document: Document) -> None:
    """A second set in the same wet well, with the same levels: they start by turns."""
    left = document["event"]["settings"]["as_left"]
    document["neighbours"] = [_beside(document) | {"settings": deepcopy(left)}]
    station.oddities.add("a second pump in its well")


def _beside(document: Document) -> Document:
    document["pump_set"] |= {"group": "G-1", "position_in_group": 1}
    return {
        "pump_set": document["pump_set"] | {"tag": "PS-2", "pump": "P-2", "motor": "M-2",
                                            "drive": "D-2", "position_in_group": 2},
        "pump": _second(document["pump"], "P-2"), "motor": _second(document["motor"], "M-2"),
        "drive": _second(document["drive"], "D-2"),
    }  # fmt: skip


def _second(part: Document, tag: str) -> Document:
    return {**deepcopy(part), "tag": tag, "serial": f"{part['serial']}-2"}


def _lag(station: Station, left: Document) -> Document:
    """The settings of the lead pump, but that it wakes at a lower pressure."""
    found = deepcopy(left)
    wake = left["wake_value"]
    found["wake_value"] = q(f"{float(wake['value']) * 0.96:.2f}", wake["unit"])
    return found
