"""What the catalogue said: findings with their answers, what could not be judged, limits."""

import re
from collections.abc import Mapping
from typing import Any

from records.documents import labels
from records.documents.blocks import Block, Column, align, heading, paragraph, table
from records.documents.contents.source import Document, Source, compact, is_missing, seriousness
from records.documents.placing import Part
from records.documents.shown import NO_BREAK, Cell, text
from records.documents.texts import runs

# Characters of a finding, with its arithmetic, that surely fit on one page.
_LONGEST_KEPT = 2500
_SEVERITIES = {"stop": "Stop", "review": "Review", "note": "Note"}


def findings(source: Source) -> list[Block]:
    """Every finding with its arithmetic, the most serious first; what is missing by itself."""
    parts = sorted(source.judgement.parts("findings"), key=lambda part: seriousness(part.value))
    answers = _answers(source)
    blocks = [
        _finding(source, part, index + 1, answers.pop(str(part.see("id")), []))
        for index, part in enumerate(parts)
    ]
    if not blocks:
        return [heading("Findings"), paragraph("No rule of the catalogue made a finding.")]
    others = sum(not is_missing(part.value) for part in parts)
    told = blocks[:others] or [paragraph("No rule made a finding on what the record holds.")]
    return [heading("Findings"), *told, *_missing(blocks[others:])]


def _missing(blocks: list[Block]) -> list[Block]:
    if not blocks:
        return []
    words = "This was looked for and not found. It is answered like any other finding."
    return [heading("What the record does not hold"), paragraph(words, "small"), *blocks]


def _answers(source: Source) -> dict[str, list[Part]]:
    by_finding: dict[str, list[Part]] = {}
    for answer in source.record.parts("answers"):
        by_finding.setdefault(str(answer.take("finding")), []).append(answer)
    return by_finding


def _finding(source: Source, part: Part, number: int, answers: list[Part]) -> Block:
    severity, rule = str(part.take("severity")), str(part.take("rule"))
    correct_only = part.take("correct_only")
    about = [rule, source.place(str(part.take("subject")))]
    about += ["can only be corrected, not accepted"] if correct_only else []
    block: Block = {
        "kind": "finding",
        "id": str(part.see("id")),
        "number": f"No. {number}",
        "severity": _SEVERITIES.get(severity, severity),
        "sentence": runs(labels.with_units(str(part.take("sentence")))),
        "about": runs(compact(about, " · ")),
        "compared": _compared(source, part.take("compared") or []),
        "answers": [_answer(source, answer) for answer in answers],
        "details": _details(source, part),
    }
    return block | {"long": len(str(block)) > _LONGEST_KEPT, "rule": rule}


def _compared(source: Source, values: list[Document]) -> list[dict[str, Any]]:
    names = [runs(labels.label(str(each["name"]))) for each in values]
    cells = source.shown.compared(
        [{"value": each["value"], "unit": each["unit"]} for each in values]
    )
    align(cells, left=True)
    return [{"label": name, "cell": cell} for name, cell in zip(names, cells, strict=True)]


def _details(source: Source, part: Part) -> list[list[Any]]:
    known = [("Limit", part.take("limit")), ("Remedy", part.take("remedy")),
             ("Source", part.take("source"))]  # fmt: skip
    others = [(labels.label(name), source.shown.words(name, v)) for name, v in part.rest()]
    told = [(name, str(value)) for name, value in [*known, *others] if value]
    return [[name, runs(labels.with_units(words))] for name, words in told]


def _answer(source: Source, part: Part) -> dict[str, Any]:
    accepted = "accepted" if part.take("accepted") else "not accepted"
    at = source.shown.words("at", part.take("at"))
    by = compact([str(part.take("by") or ""), str(part.take("role") or ""), at, accepted])
    words = runs(str(part.take("text")))
    others = [f"{labels.label(n)}: {source.shown.words(n, v)}" for n, v in part.rest()]
    return {"text": words, "by": runs(compact([by, *others]))}


def not_judged(source: Source) -> list[Block]:
    """Rules that could not judge, with what they need."""
    parts = source.judgement.parts("not_evaluated")
    if not parts:
        return []
    rows = [_lack(source, part) for part in parts]
    columns = [Column("Rule", mm=44), Column("Of", mm=38), Column("Needs", fr=1)]
    return [
        heading("What could not be judged"),
        paragraph("These rules neither passed nor failed. They say nothing until they have what "
                  "they need.", "small"),
        table(columns, rows, small=True),
    ]  # fmt: skip


def _lack(source: Source, part: Part) -> list[Cell]:
    rule, subject = str(part.take("rule")), str(part.take("subject"))
    needs = [source.place(str(need)) for need in part.take("needs") or []]
    waits, because = part.take("waits_for"), part.take("because")
    because = labels.with_units(str(because or ""))
    words = [f"waits for {waits}" if waits else "", "; ".join(needs), because]
    words += [f"{labels.label(n)}: {source.shown.words(n, v)}" for n, v in part.rest()]
    return [text(rule), text(source.place(subject) or "the whole"), text(compact(words, "; "))]


def limits_changed(source: Source) -> list[Block]:
    """Limits that differ from the catalogue's own."""
    parts = source.judgement.parts("limits_changed")
    if not parts:
        return []
    columns = [Column("Rule", mm=38), Column("Limit", mm=24), Column("Value", "quantity", mm=18),
               Column("In the catalogue", "quantity", mm=22), Column("Why", fr=1)]  # fmt: skip
    words = (
        "The client's own limits, in place of the catalogue's. A looser one lets more pass than "
        "the catalogue would, for the reason given."
    )
    return [heading("Limits changed from the catalogue"), paragraph(words, "small"),
            table(columns, [_limit(source, part) for part in parts])]  # fmt: skip


def _limit(source: Source, part: Part) -> list[Cell]:
    value: Mapping[str, Any] = {"value": str(part.take("value")), "unit": str(part.take("unit"))}
    rule, limit = str(part.take("rule")), str(part.take("limit"))
    looser, own = part.take("looser"), source.shown.cell("", part.take("catalogue"))
    way = "" if looser is None else "looser" if looser else "tighter"
    at = part.take("set_at")
    by = compact([str(part.take("set_by") or ""), source.shown.words("at", at) if at else ""])
    reason = str(part.take("reason") or "")
    others = [f"{labels.label(n)}: {source.shown.words(n, v)}" for n, v in part.rest()]
    set_by = f"set by {by}" if by else ""
    if reason.endswith("."):
        reason, set_by = compact([reason, labels.sentence(set_by)], " "), ""
    why = compact([way, reason, set_by, *others], "; ")
    return [text(rule), text(labels.label(limit.replace("-", "_"))), source.shown.cell("", value),
            own, text(labels.sentence(why))]  # fmt: skip


def limits(source: Source) -> list[Block]:
    """Every limit that applied, so that the record says it without the catalogue."""
    by_rule: dict[str, list[str]] = {}
    shown = source.for_limits
    for name, value in (source.judgement.take("limits") or {}).items():
        rule, _, limit = name.rpartition(".")
        words = f"{limit.replace('-', ' ')}{NO_BREAK}{shown.words('', value)}"
        by_rule.setdefault(rule, []).append(words)
    if not by_rule:
        return []
    rows = [[text(rule), text(", ".join(values))] for rule, values in sorted(by_rule.items())]
    half = -(-len(rows) // 2)
    nothing: list[Cell] = [{"t": ""}, {"t": ""}]
    pairs = [row + (rows[half + i] if half + i < len(rows) else nothing)
             for i, row in enumerate(rows[:half])]  # fmt: skip
    columns = [Column("Rule", mm=38), Column("Limits", fr=1)] * 2
    return [heading("Limits that applied"), table(columns, pairs, small=True)]


def derived(source: Source) -> list[Block]:
    """Values that follow from what is known, with formula and source."""
    parts = source.judgement.parts("derived")
    catalogue, earlier = source.judgement.take("catalogue"), source.judgement.take("earlier_record")
    if not parts:
        return []
    columns = [
        Column("Value", fr=1),
        Column("", "quantity", mm=30),
        Column("Formula and source", fr=1.35),
    ]
    words = f"Computed under catalogue {catalogue} from what is recorded here."
    words += _compared_with(source, earlier)
    rows = [_derived_row(source, alike) for alike in _alike(parts)]
    told = paragraph(words, "small")
    return [heading("Derived values"), told, table(columns, rows, small=True)]


def _compared_with(source: Source, earlier: Document | None) -> str:
    if not earlier:
        return ""
    day = source.shown.words("performed_at", earlier["performed_at"])
    return (f" Changes are judged against record {earlier['number']} of this station "
            f"({earlier['record_id']}), performed {day}.")  # fmt: skip


def _alike(parts: list[Part]) -> list[list[Part]]:
    """Values of one formula together, one for each of several places."""
    groups: dict[tuple[str, ...], list[Part]] = {}
    for part in parts:
        same = (*(str(part.see(name)) for name in ("id", "unit", "formula", "source")),
                _LAST_NUMBER.sub("", str(part.see("subject"))))  # fmt: skip
        groups.setdefault(same, []).append(part)
    return list(groups.values())


def _derived_row(source: Source, alike: list[Part]) -> list[Cell]:
    taken = [{name: str(part.take(name)) for name in _DERIVED} for part in alike]
    first = taken[0]
    values = [{"value": each["value"], "unit": each["unit"]} for each in taken]
    number = source.shown.cell("", values[0] if len(values) == 1 else values)
    where = source.place(first["subject"])
    where += "".join(f", {_number(each['subject'])}" for each in taken[1:])
    others = [f"{labels.label(n)}: {source.shown.words(n, v)}" for p in alike for n, v in p.rest()]
    name = {**(text(labels.dotted(first["id"])) or {}), "note": runs(where)}
    origin = compact([first["source"], *others])
    formula = text(labels.with_units(first["formula"])) or {}
    return [name, number, {**formula, "note": runs(labels.with_units(f"({origin})"))}]


_DERIVED = ("id", "subject", "value", "unit", "formula", "source")
_LAST_NUMBER = re.compile("/[0-9]+$")


def _number(subject: str) -> str:
    last = subject.rsplit("/", 1)[-1]
    return str(int(last) + 1) if last.isdigit() else last
