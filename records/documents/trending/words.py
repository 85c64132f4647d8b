"""What moved since the first record, in sentences."""

from collections.abc import Iterator, Sequence

from calculations.courses.course import Change, Course
from calculations.courses.sensors import Errors, SensorCourse
from calculations.units import from_si
from records.documents.charts.units import said
from records.documents.shown import MINUS
from records.documents.trending.told import TITLES, Recorded, Trends

_SUBJECTS = {
    "head": "Head",
    "efficiency_drive_input": "Efficiency from wire to water",
    "efficiency_drive_output": "Efficiency of pump and motor, by power at the drive’s output",
    "insulation": "Insulation at 40 °C",
}
_MORE = {"insulation": ", with the damp and dirt of the day,"}
_WHOLE = 1000
_AT = {"head": " at the same speed", "insulation": ", both at 40 °C"}
_HUMIDITY = " The rule trend.insulation asks for an answer below a third."
ANEW = {
    "replaced": "another transmitter",
    "range_changed": "another range",
    "not_read_as_found": "it was adjusted before anybody read how it was found",
    "not_read_as_left": "it was adjusted, and not read for certain as it was left",
}


def percent(share: float, sign: bool = False) -> str:
    """A share in %, to the tenth."""
    return f"{said(round(100 * share, 1), sign=sign)} %"


def fine(share: float, sign: bool = False) -> str:
    """A share of span in %, to the hundredth."""
    return f"{said(round(100 * share, 2), sign=sign)} % of span"


def things(course: Course) -> str:
    """The pieces that a course is of: `pump K71-0042`."""
    return ", ".join(f"{piece} {serial}".strip() for piece, serial in course.things)


def sentences(trends: Trends) -> Iterator[str]:
    """A sentence or two for each course that has a say today, then for those of before."""
    newest = [each for each in trends.courses if each in latest(trends.courses)]
    older = [each for each in trends.courses if each not in newest]
    for each in [*newest, *older]:
        if isinstance(each, Course):
            yield of_course(each, trends.records, each in older)
        else:
            yield of_sensor(each, trends.records)


def latest(courses: Sequence[Course] | Sequence[SensorCourse]) -> list[Course | SensorCourse]:
    """The last course of each quantity: of what stands there now."""
    found: dict[str, Course | SensorCourse] = {}
    for each in courses:
        found[each.quantity if isinstance(each, Course) else ""] = each
    return list(found.values())


def lead(trends: Trends) -> str:
    """The first line: what moved beyond the noise, or that nothing did."""
    if not trends.records:
        return "No sealed record has anything to compare yet."
    newest = latest(trends.courses)
    if not newest:
        return "The sealed records hold no readings to compare."
    moved = [_short(each) for each in newest if _verdict(each) in ("lower", "higher")]
    if moved:
        return f"Beyond what the readings explain: {'; '.join(moved)}."
    if all(_verdict(each) in ("first", "not_compared") for each in newest):
        return "There is nothing to compare with yet: the first record is the only one so far."
    return "Nothing moved by more than the readings explain."


def _verdict(course: Course | SensorCourse) -> str:
    return (course.last if isinstance(course, Course) else last(course)).verdict


def _short(course: Course | SensorCourse) -> str:
    if isinstance(course, SensorCourse):
        return f"error drifted by {fine(last(course).drift or 0.0, sign=True)}"
    title = TITLES[course.quantity]
    return f"{title[:1].lower()}{title[1:]} {_moved(course.last)}"


def _moved(change: Change) -> str:
    amount = change.change or 0.0
    share = percent(abs(amount)) if round(abs(amount), 3) else "less than 0.1 %"
    return f"{share} {'lower' if amount < 0 else 'higher'}"


# -- pump sets --------------------------------------------------------------------------------


def of_course(course: Course, records: Sequence[Recorded], is_past: bool = False) -> str:
    """What a course says, beside its first record."""
    first, change = records[course.changes[0].visit], course.last
    subject = _SUBJECTS[course.quantity]
    of = f" ({things(course)}{', which stood here before' if is_past else ''})"
    if change.change is None or change.noise is None:
        return f"{subject}{of}: {_alone(course, first)}"
    itself = " of itself" if course.quantity.startswith("efficiency") else ""
    moved = f"{_moved(change).replace(' %', f' %{itself}', 1)} than" if change.change else ""
    when = f" on {records[change.visit].day}"
    so = _so(change.verdict)
    more = _HUMIDITY if course.quantity == "insulation" and change.verdict == "lower" else ""
    return (
        f"{subject}{of}{when}: {moved or 'the same as'} at the first record, of {first.day}"
        f"{_AT.get(course.quantity, '')}; the readings{_MORE.get(course.quantity, '')} are good to"
        f" ±{percent(change.noise)}, so"
        f" this {so}.{more}"
    )


def _alone(course: Course, first: Recorded) -> str:
    because = next((each.because for each in reversed(course.changes) if each.because), "")
    if because:
        return f"not compared with the first record, of {first.day}: {because}."
    return f"the first record, of {first.day}, is the only one so far."


def _so(verdict: str) -> str:
    return "may be noise" if verdict == "noise" else "is more than noise"


# -- sensors ----------------------------------------------------------------------------------


def last(course: SensorCourse) -> Errors:
    """The newest verification whose drift is known; the newest where none is."""
    known = [each for each in course.errors if each.drift is not None]
    return known[-1] if known else course.errors[-1]


def of_sensor(course: SensorCourse, records: Sequence[Recorded]) -> str:
    """What a transmitter's errors say, beside its first record."""
    first, now = records[course.errors[0].visit], last(course)
    began = f" Before that: {ANEW[course.began_by]}." if course.began_by else ""
    name = f"Transmitter {course.serial}".strip()
    stands = f"{name} on {records[now.visit].day}: {_stands(now)}"
    if now.drift is None or now.noise is None:
        why = now.because or "it is the only verification to compare so far"
        return f"{stands}. No drift since the first record, of {first.day}, is told: {why}.{began}"
    known = "" if now.reference_known else ", the reference’s own uncertainty not known"
    return (
        f"{stands}. Since the first record, of {first.day}, it drifted by"
        f" {fine(now.drift, sign=True)}, adjustments left out; the readings are good to"
        f" ±{fine(now.noise)}{known}, so this {_so(now.verdict)}.{began}"
    )


def _stands(now: Errors) -> str:
    found = "not read as found" if now.found is None else f"found {fine(now.found, sign=True)}"
    left = f", {_left(now)}" if now.adjusted else ""
    return f"{found}{left}, tolerance ±{fine(now.tolerance)}"


def _left(now: Errors) -> str:
    if now.left is None:
        return "adjusted, and not read for certain as left"
    return f"left {fine(now.left, sign=True)}"


def change_words(change: Change) -> str:
    """The last column of a table."""
    return {
        "first": "first record", "noise": "may be noise", "lower": "lower", "higher": "higher",
        "not_compared": change.because,
    }[change.verdict]  # fmt: skip


def error_words(error: Errors) -> str:
    """The same of a verification."""
    return {
        "first": "first record", "noise": "may be noise", "lower": "drifts down",
        "higher": "drifts up", "not_compared": error.because,
    }[error.verdict]  # fmt: skip


def shown(si: float | None, unit: str) -> str:
    """A value in a table's unit, with four digits."""
    if si is None:
        return ""
    value = from_si(si, unit)
    return f"{value:.0f}" if abs(value) >= _WHOLE else f"{value:#.4g}".rstrip(".")


def decimals(share: float | None, places: int, sign: bool = False) -> str:
    """A share in % without the sign of it, for a column of such."""
    if share is None:
        return ""
    text = f"{100 * share:+.{places}f}" if sign else f"{100 * share:.{places}f}"
    return text.replace("-", MINUS)
