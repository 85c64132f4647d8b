"""Rule of the drive's counters against the records around: backwards, or more than can be."""

from collections.abc import Iterator
from typing import Any

from calculations.aspects import pieces
from calculations.beside import Sealed
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, entered, percent, show
from calculations.rules.closeness import above
from calculations.rules.last_record import AT, read_sealed
from calculations.rules.point_powers import POOR_EFFICIENCY
from calculations.rules.wells import plate_starts
from calculations.units import Quantity

HOUR = 3600.0
SHORTEST = 24 * HOUR
"""Hours run after which starts say something of ordinary service [s]; no source."""

AT_REST = 4
"""Times as many starts as permitted that an hour of running may have; see `motor.starts`."""

COUNTERS = {
    "hours_run": "hours run", "start_count": "starts", "energy_counter": "energy",
}  # fmt: skip


def _counters(case: Case, place: str) -> Iterator[Finding]:
    unread = ""
    for sealed, later in ((_last(case), False), (case.beside.following, True)):
        if sealed is None:
            continue
        then, record = read_sealed(case, sealed)
        if not _same_drive_train(case, then, later):
            continue
        pairs = [
            (name, words, now, before)
            for name, words in COUNTERS.items()
            if (now := case.find(f"/event/{name}")) is not None
            and (before := then.find(f"/event/{name}")) is not None
        ]
        unread = unread or ("" if pairs else record)
        told = False
        for name, words, now, before in pairs:
            for finding in _counter(case, then, (name, words, record), (now, before), later):
                told = True
                yield finding
        if not told and not later:
            yield from _beyond_hours(case, then, record)
    if unread:
        raise Missing(place, because=f"no counter was read by {unread} as well")


def _last(case: Case) -> Sealed | None:
    """The last record that read a counter, where one did; else the last one."""
    return case.beside.anew.get(pieces.COUNTED) or case.beside.last


def _reads_counters(case: Case) -> bool:
    around = case.beside.last or case.beside.following
    return around is not None and any(case.find(f"/event/{name}") is not None for name in COUNTERS)


def _beyond_hours(case: Case, then: Case, record: str) -> Iterator[Finding]:
    """Energy and starts that the hours run between two visits cannot have brought."""
    hours = [each.find("/event/hours_run") for each in (case, then)]
    if None in hours:
        return
    run = hours[0].si - hours[1].si + hours[0].resolution + hours[1].resolution
    yield from _energy(case, then, record, run)
    counts = [each.find("/event/start_count") for each in (case, then)]
    if None in counts or run < SHORTEST:
        return
    started, limit = counts[0] - counts[1], case.limit("record.counters.starts")
    stated = plate_starts(case)
    limit = max(limit, (stated or 0) * AT_REST)
    if above(started / (run / HOUR), limit):
        yield COUNTER.finding(
            "starts", "review", "/event/start_count",
            compared={"now": Shown(str(counts[0]), ""), "before": Shown(str(counts[1]), "")},
            limit=f"{about(limit)} per hour of running", record=record, started=started,
            run=about(run, hours[0].unit),
        )  # fmt: skip


def _energy(case: Case, then: Case, record: str, run: float) -> Iterator[Finding]:
    now, before = (each.find("/event/energy_counter") for each in (case, then))
    power, efficiency = case.find("/rating/power"), case.find("/rating/efficiency")
    if now is None or before is None or power is None or run <= 0:
        return
    highest = power.si / (efficiency.si if efficiency is not None else POOR_EFFICIENCY)
    taken = now.si - before.si
    limit = case.limit("record.counters.energy")
    if above(taken - now.resolution - before.resolution, limit * highest * (run + HOUR)):
        yield COUNTER.finding(
            "energy", "review", "/event/energy_counter",
            compared={"now": now, "before": before}, record=record,
            limit=f"{percent(limit)} of the motor's intake at full load",
            taken=about(taken, now.unit), run=about(run, "h"),
            mean=about(taken / run, power.unit), power=entered(power),
        )  # fmt: skip


def _counter(
    case: Case, then: Case, named: tuple[str, str, str], pair: tuple[Any, Any], later: bool
) -> Iterator[Finding]:
    name, words, record = named
    (now, before), place = pair, f"/event/{name}"
    compared = {"now": _shown(now), "before": _shown(before)}
    lost = (_value(now) - _value(before)) * (1 if later else -1)
    if above(lost, _rounding(now) + _rounding(before)):
        yield COUNTER.finding(
            "ahead" if later else "backwards", "review", place,
            compared=compared, counter=words, record=record,
        )  # fmt: skip
    elif name == "hours_run" and not later:
        yield from _faster(case, then, record, now, before)


def _faster(
    case: Case, then: Case, record: str, now: Quantity, before: Quantity
) -> Iterator[Finding]:
    """More hours than passed between the visits, the later one's own length among them."""
    begun, ended = then.find(AT), case.find("/event/performed_until") or case.find(AT)
    slack = case.limit("record.counters.slack")
    if begun is None or ended is None:
        return
    passed = max((ended.at - begun.at).total_seconds(), 0.0)
    run = now.si - before.si
    if above(run - now.resolution - before.resolution, passed + slack):
        yield COUNTER.finding(
            "faster", "review", "/event/hours_run",
            compared={"now": now, "before": before, "passed": about(passed, now.unit)},
            limit=f"time that passed, and {show(slack, 'd')}",
            run=str(about(run, now.unit)), record=record,
        )  # fmt: skip


def _value(counter: Any) -> float:
    return float(counter.si if isinstance(counter, Quantity) else counter)


def _rounding(counter: Any) -> float:
    return float(counter.resolution) if isinstance(counter, Quantity) else 0.0


def _shown(counter: Any) -> Shown | Quantity:
    return counter if isinstance(counter, Quantity) else Shown(str(counter), "")


COUNTER = Rule(
    id="record.counters",
    title="Counters against the records around",
    severities=("review",),
    condition="Hours, starts and energy have not become less since the last record of the pump set "
    "that read them with the same motor and drive, nor are they more than at the next one; no more "
    "hours were run than passed, and a day; and in those hours no more energy was taken than 150 % "
    "of the motor's full load, nor were there more than 60 starts an hour, or four times those "
    "permitted.",
    source="logic",
    subject="/event/hours_run",
    applies=_reads_counters,
    check=_counters,
    limits={
        "slack": Limit(1, "d", "of clocks and long visits", "lower", "common practice"),
        "energy": Limit(150, "%", "of the motor's full load", "lower", "common practice"),
        "starts": Limit(60, "1", "starts per hour of running", "lower", "from memory"),
    },
    sentences={
        "backwards": "The counter of {counter} shows {now} and showed {before} by {record}: a "
        "counter does not run backwards.",
        "ahead": "The counter of {counter} shows {now}, more than the {before} of {record}, which "
        "came later.",
        "energy": "Since {record} ({before}) the counter of energy rose by {taken}, now {now}, in "
        "{run} of running: {mean} all the time, of a motor of {power}.",
        "starts": "Since {record} ({before}) there were {started} starts, now {now}, in {run} of "
        "running.",
        "faster": "Since {record} ({before}) {run} were run by the counter, now {now}; only "
        "{passed} have passed.",
    },
    remedies={
        "backwards": "Read it again, and whether it is this pump set's; where a counter was "
        "exchanged or set back, write it into the remarks and accept this.",
        "ahead": "Look up day and counter of both visits; one of them is wrong.",
        **dict.fromkeys(
            ("energy", "starts"),
            "Read both counters again, with their units, and "
            "whether both are of this pump set and count since the same day.",
        ),
        "faster": "Read it again, with its unit, and whether it is this pump set's.",
    },
)


def _same_drive_train(case: Case, then: Case, later: bool) -> bool:
    """Whether motor and drive, which count, are those of then.

    What the later of both visits exchanged began to count anew between them.
    """
    newer = then if later else case
    exchanged = {each.resource for each in newer.find("/event/replaced") or ()}
    if exchanged.intersection((None, "motor", "drive", "other")):
        return False
    before, now = pieces.of_subject(then.subject), pieces.of_subject(case.subject)
    return all(pieces.is_same(before, now, piece) for piece in ("motor", "drive"))
