"""The first page: which work this is, by whom, with what result, and what it was done on."""

from datetime import datetime
from typing import Any

from calculations.findings import SEVERITIES
from records.documents import labels
from records.documents.blocks import Block, pairs, paragraph
from records.documents.contents.cautions import DEFERENCE
from records.documents.contents.installed import installed
from records.documents.contents.source import Document, Source, compact, seriousness
from records.documents.shown import DASH, NO_BREAK, Cell, offset, text
from records.documents.texts import runs, short

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

_MOST_WANTING = 6  # on the first page


def summary(source: Source) -> list[Block]:
    """Headline, result, parties, what was installed."""
    return [
        _first_lines(source),
        paragraph(compact([who_and_when(source), result(source), undone(source)], " "), "lead"),
        *_replaces(source),
        *_wanting(source),
        pairs(facts(source)),
        *installed(source),
        paragraph(DEFERENCE, "small"),
    ]


def title(source: Source) -> str:
    """The document's title: what, where, which work, when."""
    return f"{what(source)}, {where(source)}"


def what(source: Source) -> str:
    """Pump set and work."""
    kind = labels.word(str(source.event.see("kind") or "visit"))
    return f"{subject(source)}: {kind}"


def where(source: Source) -> str:
    """Station and day."""
    return f"{station(source)}, {day(source)}"


def subject(source: Source) -> str:
    """The pump set's tag, or the sensors that the visit was for."""
    pump_set = source.snapshot.part("pump_set")
    if pump_set.see("tag"):
        return f"Pump set {short(str(pump_set.see('tag')))}"
    sensors = source.event.see("sensors") or []
    names = [source.shown.words("sensors", each) for each in sensors]
    return f"Sensors {short(', '.join(names))}" if names else "Station"


def station(source: Source) -> str:
    """The station's name."""
    site = source.snapshot.part("site")
    return short(str(site.see("name") or site.see("code") or "unnamed station"))


def day(source: Source) -> str:
    """The day of the work at the station, in words."""
    moment = _moment(source, source.event.see("performed_at"))
    return f"{moment.day} {MONTHS[moment.month - 1]} {moment.year}" if moment else "undated"


def _moment(source: Source, given: Any) -> datetime | None:
    try:
        moment = datetime.fromisoformat(str(given).upper())
    except ValueError:
        return None
    return moment.astimezone(source.shown.zone) if source.shown.zone else moment


def _first_lines(source: Source) -> Block:
    code = source.snapshot.part("site").see("code")
    return {
        "kind": "first",
        "over": runs(compact(["Commissioning record", f"of station {code}" if code else ""], " ")),
        "number": f"No. {source.record.see('number')}",
        "title": runs(what(source)),
        "where": runs(where(source)),
    }


def who_and_when(source: Source) -> str:
    """Work, times and performer in one sentence."""
    event = source.event
    start = _moment(source, event.see("performed_at"))
    until = _moment(source, event.see("performed_until"))
    times = f"{start:%H:%M}" if start else ""
    if start and until and until.date() == start.date():
        times += f" to {until:%H:%M}"
    when = f"on {day(source)}, {times}{NO_BREAK}({offset(start)})" if start else ""
    by = event.part("parties").see("performed_by") or _signed_by(source, "performed")
    contractor = source.record.part("contractor").see("name")
    client = source.record.part("client").see("name")
    who = compact([f"by {by}" if by else "", f"for {contractor}" if contractor else ""], " ")
    whose = f"at a station of {client}" if client else ""
    return f"Performed {compact([when, who, whose])}."


def _signed_by(source: Source, meaning: str) -> str:
    signed = source.record.see("signatures") or []
    return compact([s["by"]["name"] for s in signed if s.get("meaning") == meaning], " and ")


def result(source: Source) -> str:
    """The result in one sentence: sealed, so many findings answered, what is open."""
    findings = source.judgement.see("findings") or []
    answered = {each["finding"] for each in source.record.see("answers") or [] if each["accepted"]}
    wanting = [f for f in findings if f["severity"] != "note"]
    still_open = [f for f in wanting if f.get("correct_only") or f["id"] not in answered]
    sealed = f"Sealed as record {source.record.see('number')} of this station"
    return f"{sealed} {_findings_in_words(findings, wanting, still_open)}"


def undone(source: Source) -> str:
    """How much could not be done or judged."""
    tasks = len(source.event.see("not_possible") or [])
    checks = len(source.judgement.see("not_evaluated") or [])
    return compact([
        f"Not possible on the day: {_many(tasks, 'task')}." if tasks else "",
        f"Not judged: {_many(checks, 'check')}." if checks else "",
    ], " ")  # fmt: skip


def _many(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def _findings_in_words(findings: list[Any], wanting: list[Any], still_open: list[Any]) -> str:
    if still_open:
        return f"with {len(still_open)} of {len(findings)} findings still open."
    if not findings:
        return "with no findings. Nothing is open."
    counts = compact([_count(findings, severity) for severity in SEVERITIES])
    many = _many(len(findings), "finding")
    said = "every one that needs an answer has one" if wanting else "none needs an answer"
    return f"with {many} ({counts}): {said}. Nothing is open."


def _count(findings: list[Any], severity: str) -> str:
    count = sum(1 for each in findings if each["severity"] == severity)
    return _many(count, severity) if count else ""


def _replaces(source: Source) -> list[Block]:
    corrects = source.record.part("corrects")
    if not corrects:
        return []
    words = (
        f"This record replaces record {corrects.see('number')}. Reason: {corrects.see('reason')}"
    )
    return [paragraph(words)]


def _wanting(source: Source) -> list[Block]:
    """What was found that needed an answer; the arithmetic and the answers stand further on."""
    findings = sorted(source.judgement.see("findings") or [], key=seriousness)
    rows = [
        (f"{labels.sentence(each['severity'])} No. {number}", labels.with_units(each["sentence"]))
        for number, each in enumerate(findings, 1)
        if each["severity"] != "note"
    ]
    if len(rows) > _MOST_WANTING:
        rows[_MOST_WANTING:] = [("", f"{len(rows) - _MOST_WANTING} more stand under Findings")]
    return [pairs([(name, text(words)) for name, words in rows], columns=1)] if rows else []


def facts(source: Source) -> list[tuple[str, Cell]]:
    """Parties, station, times, signers."""
    site, event = source.snapshot.part("site"), source.event
    words = source.shown.words
    rows = [
        ("Client", source.record.part("client").take("name")),
        ("Contractor", source.record.part("contractor").take("name")),
        ("Station", compact([site.see("name") or "", site.see("code") or ""])),
        ("Kind of station", words("kind", site.see("kind")) if site.see("kind") else ""),
        ("Begun", words("performed_at", event.take("performed_at"))),
        ("Ended", words("performed_until", event.take("performed_until"))),
        ("Sealed", words("sealed_at", source.record.take("sealed_at"))),
        ("Time zone", _zone(source, site.see("time_zone"))),
        ("Work", labels.word(str(event.take("kind") or DASH))),
    ]
    rows += [(f"Signed: {s['meaning']}", _signer(s)) for s in source.record.see("signatures") or []]
    return [(name, text(value)) for name, value in rows if value not in ("", DASH)]


def _zone(source: Source, name: Any) -> str:
    """Which times these are."""
    if not name:
        return ""
    return str(name) if source.shown.zone else f"UTC; the zone {name} is not known here"


def _signer(signature: Document) -> str:
    return compact([signature["by"]["name"], signature.get("role") or ""])
