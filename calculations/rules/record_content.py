"""Rule of what the kind of visit demands and the record lacks."""

from collections.abc import Callable, Iterator

from pydantic import BaseModel

from calculations import without_drive
from calculations.aspects import content, entries, loop, verifying, weighing
from calculations.aspects.excuses import Lack, is_of_register, left
from calculations.aspects.turning import across_the_line
from calculations.case import Case
from calculations.errors import CalculationError
from calculations.findings import Finding
from calculations.inputs.event import NotReceived
from calculations.inputs.readings import SensorVerification
from calculations.rule import Rule, spaced
from calculations.rules.scope import has_bypass

Lacking = tuple[str, tuple[str, ...]]
"""A part's pointer, and what of it is not known; nothing named where the whole part is."""

PHOTOS = {"motor_plate": "/motor", "drive_plate": "/drive", "sensor_plate": "/sensors"}
LEAST_POINTS = 3
CHAIN_OF_LOOP = "regulating sensor at three points or more"
OVER_THE_SPAN = "three inputs or more over half of the span"
REPAIRED = ("pump", "motor", "drive")


def tasks_of(subject: str, sentence: str) -> tuple[str, ...]:
    """The tasks that, said to have been impossible, excuse what a finding of this rule misses.

    Of a part the values that its sentence names, each for itself; else the part as a whole. Of
    several pieces of a kind the one is named: `sensor PT-100 plate, damping time`.
    """
    of_register, part = is_of_register(subject), _plain_words(subject)
    if "), of " not in sentence:
        return (f"{part.removesuffix('s')} plate" if of_register else part,)
    named, _, values = sentence.partition("), of ")[2].removesuffix(".").rpartition(": ")
    if subject.rpartition("/")[2].isdigit():
        part = named
    elif not of_register:
        return tuple(values.split(", "))
    # Not the bare name: the plate's insulation class is not the test of the insulation.
    whole = f"{part} plate" if of_register else part
    return tuple(f"{whole}, {name}" for name in values.split(", "))


# -- parts ----------------------------------------------------------------------------------------


def _values(case: Case, pointer: str) -> Iterator[Lacking]:
    """A part as a whole, or the values that are needed of it."""
    part = case.find(pointer)
    if part is None:
        yield pointer, ()
        return
    assert isinstance(part, BaseModel), pointer  # noqa: S101 - a place named wrongly in code
    names = content.lacking(case, part)
    if names:
        yield pointer, names


def _list(case: Case, pointer: str) -> Iterator[Lacking]:
    if not case.find(pointer):
        yield pointer, ()


def _plates(case: Case) -> Iterator[Lacking]:
    """Everything that is in service, with the values that its plate and place tell."""
    for pointer in ("/site", "/pump_set", "/pump", "/motor"):
        yield from _values(case, pointer)
    if not without_drive.is_recorded(case.subject):  # `drive.missing` tells it else
        yield from _values(case, "/drive")
    if loop.is_known_closed(case) and not case.find("/sensors"):
        yield "/sensors", ()
    for name in ("sensors", "vessels"):
        for index in range(len(case.find(f"/{name}") or ())):
            yield from _values(case, f"/{name}/{index}")


def _photos(case: Case) -> Iterator[Lacking]:
    """A photograph of every plate."""
    taken = {each.purpose for each in case.find("/event/attachments") or ()}
    wanted = [purpose for purpose, part in PHOTOS.items() if case.find(part)]
    missing = tuple(f"photograph of the {name}" for name in wanted if name not in taken)
    if missing:
        yield "/event/attachments", missing


def _settings(case: Case, state: str) -> Iterator[Lacking]:
    if not case.fixed_speed:
        yield from _values(case, f"/event/settings/{state}")


# -- head and tests -------------------------------------------------------------------------------


def _people(case: Case) -> Iterator[Lacking]:
    yield from _values(case, "/event/parties")


def _head(case: Case) -> Iterator[Lacking]:
    """Isolation, instruments, liquid temperature, the drive's own settings file."""
    names = ["isolation_confirmed", "liquid_temperature", "instruments"]  # a no is an answer
    missing = tuple(name for name in names if not _given(case, f"/event/{name}"))
    if missing:
        yield "/event", missing
    if not case.fixed_speed:
        yield from _file(case)


def _given(case: Case, pointer: str) -> bool:
    return case.find(pointer) not in (None, [])


def _file(case: Case) -> Iterator[Lacking]:
    attached = {each.purpose for each in case.find("/event/attachments") or ()}
    if case.find("/event/settings_file") is None and "settings_file" not in attached:
        yield "/event/settings_file", ()


def _motor_tests(case: Case) -> Iterator[Lacking]:
    if case.find("/event/motor_tests") is None:
        yield "/event/motor_tests", ()
        return
    for name in ("insulation", "winding_resistance"):
        if case.find(f"/event/motor_tests/{name}") is None:
            yield f"/event/motor_tests/{name}", ()


def _rotation(case: Case) -> Iterator[Lacking]:
    if case.find("/event/rotation") is None:
        yield "/event/rotation", ()
        return
    if case.fixed_speed:
        if across_the_line(case)[1] in (None, "not_checked"):
            yield "/event/rotation", ("bypass_direction",)
        return
    names = ["drive_direction", *(["bypass_direction"] if has_bypass(case) else [])]
    missing = tuple(
        name for name in names if case.find(f"/event/rotation/{name}") in (None, "not_checked")
    )
    if missing:
        yield "/event/rotation", missing


def _points(case: Case) -> Iterator[Lacking]:
    found = len(case.find("/event/duty_points") or ())
    lacking = LEAST_POINTS - found
    if lacking > 0:
        words = "1 more point" if lacking == 1 else f"{lacking} more points"
        yield "/event/duty_points", (words,) if found else ()


def _sensor_chain(case: Case) -> Iterator[Lacking]:
    """The regulating sensor at three points or more."""
    if not loop.is_known_closed(case):
        return
    sensor = case.place("/regulating_sensor")
    for each in case.find("/event/sensor_verifications") or ():
        found = case.sensor(each.sensor)
        points = max(len(each.as_found or ()), len(each.as_left or ()))
        if found is not None and found[0] == sensor and points >= LEAST_POINTS:
            return
    yield "/event/sensor_verifications", (CHAIN_OF_LOOP,)


def _step(case: Case) -> Iterator[Lacking]:
    if loop.is_known_closed(case) and not case.find("/event/step_tests"):
        yield "/event/step_tests", ()


# -- kinds ----------------------------------------------------------------------------------------


def _start_up(case: Case) -> Iterator[Lacking]:
    yield from _plates(case)
    yield from _head(case)
    yield from _people(case)
    yield from _settings(case, "as_left")
    yield from _photos(case)
    yield from _list(case, "/event/supply") if case.find("/event/supply") is None else ()
    yield from _motor_tests(case)
    yield from _list(case, "/event/earth_tests")
    yield from _list(case, "/event/mechanical_checks")
    yield from _rotation(case)
    yield from _points(case)
    yield from _sensor_chain(case)
    yield from _step(case)
    yield from _list(case, "/event/protection_tests")


def _re_verification(case: Case) -> Iterator[Lacking]:
    """Of sensors: up and down as found, with what; as left is the business of other rules."""
    yield from _people(case)
    of_sensors = case.find("/event/sensors") or case.subject.pump_set is None
    if of_sensors:
        yield from _list(case, "/event/sensor_verifications")
    for index, each in enumerate(case.find("/event/sensor_verifications") or ()):
        ways = {point.direction for point in each.as_found or ()}
        missing = [f"as found {way}" for way in ("up", "down") if way not in ways]
        missing += ["instrument"] if each.instrument is None else []
        missing += ["adjusted"] if each.adjusted in (None, "unknown") else []
        place = f"/event/sensor_verifications/{index}"
        missing += [OVER_THE_SPAN] if not _covers(case, place) else []
        if missing:
            yield place, tuple(missing)


def _covers(case: Case, place: str) -> bool:
    """Whether what counts as left shows the span; so too where that cannot be told."""
    state: verifying.State = "as_left" if case.find(f"{place}/as_left") else "as_found"
    try:
        entries.require_right(case, place, state)
        return weighing.covers(case, verifying.check(case, place, state))
    except CalculationError:
        return True


def _settings_change(case: Case) -> Iterator[Lacking]:
    yield from _people(case)
    yield from _settings(case, "as_found")


def _after_repair(case: Case) -> Iterator[Lacking]:
    """Old and new serial; then what the exchanged piece makes necessary."""
    yield from _people(case)
    replaced = case.find("/event/replaced")
    if not replaced:
        yield "/event/replaced", ()
    for index, each in enumerate(replaced or ()):
        names = ("resource", "old_serial", "new_serial")
        missing = tuple(name for name in names if not getattr(each, name))
        if missing:
            yield f"/event/replaced/{index}", missing
    if not replaced or any(each.resource in (None, *REPAIRED) for each in replaced):
        yield from _after_machine(case)
    elif any(each.resource == "sensor" for each in replaced):
        yield from _list(case, "/event/sensor_verifications")


def _after_machine(case: Case) -> Iterator[Lacking]:
    yield from _rotation(case)
    if case.find("/event/motor_tests/insulation") is None:
        yield "/event/motor_tests/insulation", ()
    if not case.fixed_speed and case.find("/event/settings/as_left/overload_current") is None:
        yield "/event/settings/as_left", ("overload_current",)
    yield from _list(case, "/event/protection_tests")


CONTENT: dict[str, Callable[[Case], Iterator[Lacking]]] = {
    "start_up": _start_up,
    "re_verification": _re_verification,
    "settings_change": _settings_change,
    "after_repair": _after_repair,
    "replacement": _after_repair,
    "investigation": _people,
}


def _missing(case: Case, place: str) -> Iterator[Finding]:
    kind = case.word("/event/kind")
    lacks = [_lack(case, pointer, names) for pointer, names in CONTENT[kind](case)]
    for each in left(case, lacks):
        of_register = "plate_" if is_of_register(each.pointer) else ""
        yield MISSING.finding(
            f"{of_register}{'values' if each.names else 'part'}", "review", each.pointer,
            compared={}, part=each.called,
            names=", ".join(spaced(name) for name in each.names), kind=spaced(kind),
        )  # fmt: skip


def _lack(case: Case, pointer: str, names: tuple[str, ...]) -> Lack:
    regulates = names == (CHAIN_OF_LOOP,)
    part = case.find("/regulating_sensor" if regulates else pointer)
    return Lack(pointer, _words(case, pointer), names, _tag(case, part))


def _words(case: Case, pointer: str) -> str:
    """A part in words: `settings as left`, `sensor PT-1`, `sensor verification 1 of PT-1`."""
    tag = _tag(case, case.find(pointer))
    words = _plain_words(pointer)
    if not tag:
        return words
    if is_of_register(pointer):
        return f"{words.rstrip('0123456789 ')} {tag}"
    return f"{words} of {tag}"


def _tag(case: Case, part: object) -> str:
    """The tag of a piece, or of the sensor that was verified; its serial number else."""
    if isinstance(part, SensorVerification):
        found = case.sensor(part.sensor)  # named by its id, as a rule: no word for a sentence
        return _tag(case, found[1]) if found else ""
    known = (getattr(part, name, None) for name in ("tag", "serial"))
    return next((str(each) for each in known if each), "")


def _plain_words(pointer: str) -> str:
    """A part in words by its place: `settings as left`, `sensor 1`."""
    steps = [step for step in pointer.split("/") if step and step != "event"]
    if not steps:
        return "visit"
    if steps[-1].isdigit():
        return f"{spaced(steps[-2]).removesuffix('s')} {int(steps[-1]) + 1}"
    if steps[0] == "settings":
        return f"settings {spaced(steps[1])}"
    return spaced(steps[-1])


MISSING = Rule(
    id="record.missing",
    title="Content that the kind of visit demands",
    severities=("review",),
    condition="The record holds what its kind needs: a start-up plates with photographs, settings "
    "as left, supply, winding and insulation, rotation, three duty points, the sensor's chain at "
    "three points, a step trace of a closed loop, protections, earth continuity, liquid "
    "temperature, isolation, the drive's settings file, instruments; a verification readings up "
    "and down at three inputs over half of the span (level: a quarter) with the reference; an "
    "audit the settings as found; a repair serial numbers, rotation, insulation, overload, "
    "protections. What is said to have been impossible is excused.",
    source="common practice, no source",
    subject="/event",
    needs=("/event/kind",),
    applies=lambda case: case.event is not None,
    check=_missing,
    sentences={
        "part": "Missing for a visit of this kind ({kind}): {part}.",
        "values": "Missing for a visit of this kind ({kind}), of {part}: {names}.",
        "plate_part": "Missing for a visit of this kind ({kind}): {part}.",
        "plate_values": "Missing for a visit of this kind ({kind}), of {part}: {names}.",
    },
    remedies=dict.fromkeys(
        ("part", "values"), "Add it, or say under what was not possible why it could not be done."
    )
    | {
        "plate_part": "Add it in the register, not in the visit.",
        "plate_values": "It belongs to the register of {part}, not to the visit: add it there. "
        "Where the plate is silent, answer unknown where that is a choice, else say under what was "
        "not possible why it is not known.",
    },
)

# -- files ----------------------------------------------------------------------------------------


def _not_received(case: Case) -> list[str]:
    """Names of files that have not come; nothing where nobody knows, as in an evaluation."""
    named = [*(case.find("/event/attachments") or ()), case.find("/event/settings_file")]
    lacking = [each for each in named if isinstance(each, NotReceived)]
    return [each.name or spaced(each.purpose or "file") for each in lacking]


def _told(case: Case, place: str) -> Iterator[Finding]:
    names = _not_received(case)
    yield NOT_RECEIVED.finding("named", "note", place, compared={}, names=", ".join(names))


NOT_RECEIVED = Rule(
    id="record.not-received",
    title="Files that are named and have not come",
    severities=("note",),
    condition="Of every photograph and document that the record names, the file was received.",
    source="common practice, no source",
    subject="/event",
    needs=(),
    applies=lambda case: bool(_not_received(case)),
    check=_told,
    sentences={"named": "Named, but the file was not received: {names}."},
    remedies={"named": "Send it to the event, or leave it out."},
)
