"""What a record says of its pump set that can be set beside other records of the same one."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from calculations.aspects.history import NEAR_FLOW
from calculations.units import to_si

Content = Mapping[str, Any]
MOST = 24
"""Earlier visits that are set beside one: two years of monthly ones."""

_POINT = "/event/duty_points/"


@dataclass(frozen=True, slots=True)
class VisitPoint:
    """A duty point: number from 0, purpose, head over the curve's there [1], efficiency [1].

    `nth` counts from 0 the points of one purpose at the visit, from the largest flow on; `flow` is
    as it was entered. `volume` is the flow [m3/s], at the frequency [Hz] where that was read.
    """

    index: int
    purpose: str
    of_curve: float | None
    efficiency: float | None
    nth: int = 0
    flow: str = ""
    volume: float | None = None
    frequency: float | None = None

    def is_like(self, other: "VisitPoint") -> bool:
        """Whether a line may join both: their flows are near, brought to one speed by affinity."""
        if self.volume is None or other.volume is None:
            return self.volume is other.volume
        at_one_speed = self.volume
        if self.frequency and other.frequency:
            at_one_speed *= other.frequency / self.frequency
        return abs(at_one_speed - other.volume) <= NEAR_FLOW * other.volume


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit: the record's number (None: not sealed), when, which pump, and its values.

    `insulation` is the resistance at 40 degC [ohm].
    """

    number: int | None
    at: datetime
    pump_serial: str
    motor_serial: str
    points: tuple[VisitPoint, ...]
    insulation: float | None


def visit_of(content: Content) -> Visit:
    """The visit of a record's text, or of an event that is told in the same form."""
    event, snapshot = content["event"], content.get("snapshot") or {}
    derived = (content.get("judgement") or {}).get("derived") or ()
    found = {(each["id"], each["subject"]): _si(each) for each in derived}
    insulation = [value for (name, _), value in found.items()
                  if name == "insulation.at-40-degrees"]  # fmt: skip
    return Visit(
        number=content.get("number"),
        at=datetime.fromisoformat(str(event["performed_at"]).upper()),
        pump_serial=_serial(snapshot, "pump"),
        motor_serial=_serial(snapshot, "motor"),
        points=tuple(_points(event, found)),
        insulation=insulation[0] if insulation else None,
    )


def _si(derived: Content) -> float:
    return to_si(float(derived["value"]), str(derived["unit"]))


def _serial(snapshot: Content, piece: str) -> str:
    return str((snapshot.get(piece) or {}).get("serial") or "")


def _points(event: Content, found: Mapping[tuple[str, str], float]) -> Iterable[VisitPoint]:
    points = event.get("duty_points") or ()
    for index, point in enumerate(points):
        place = f"{_POINT}{index}"
        head, on_curve = (found.get((name, place)) for name in ("duty.total-head",
                                                               "duty.curve-head"))  # fmt: skip
        of_curve = head / on_curve if head is not None and on_curve else None
        efficiency = found.get(("duty.wire-to-water-efficiency", place))
        purpose, flow = str(point.get("purpose") or ""), point.get("flow")
        yield VisitPoint(
            index, purpose, of_curve, efficiency, _nth(points, index),
            f"{flow['value']} {flow['unit']}" if flow else "",
            _read(point, "flow"), _read(point, "frequency"),
        )  # fmt: skip


def _nth(points: Sequence[Content], index: int) -> int:
    """Which one a point is of those of its purpose, from the largest flow on."""
    purpose = points[index].get("purpose")
    alike = [each for each, point in enumerate(points) if point.get("purpose") == purpose]
    return sorted(alike, key=lambda each: -_flow(points[each])).index(index)


def _flow(point: Content) -> float:
    return _read(point, "flow") or 0.0


def _read(point: Content, name: str) -> float | None:
    read = point.get(name)
    return to_si(float(read["value"]), str(read["unit"])) if read else None
