"""Looking for stations, tags, serial numbers and record numbers by what somebody types.

Tags and serial numbers are found by their beginning, by an index; as typed, and in capitals. A
policy lets no index help operators that could leak, so that words of stations are looked for in
all of an organization's own, which are thousands at most.
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import connection

from records import natural, permissions
from records.permissions import Actor
from records.selectors import sealed

Row = dict[str, Any]
AT_ONCE = 50
_IN_ORDER = {"by_code": natural.in_order("s.code"), "by_tag": natural.in_order("p.tag")}
_LARGEST = 2**31 - 1


@dataclass(frozen=True)
class Found:
    """What was found of each kind, and whether there is more than is listed."""

    stations: list[Row]
    pieces: list[Row]
    records: list[Row]
    is_cut: bool


def look_up(actor: Actor, text: str, today: date) -> Found:
    """What of the actor's organization has this in it; nothing for an empty text."""
    permissions.require(actor, "register.read")
    words = text.split()
    if not words:
        return Found([], [], [], is_cut=False)
    stations = _stations(actor, words)
    pieces = _pieces(actor, text.strip(), today)
    records = _records(actor, words)
    cut = max(map(len, (stations, pieces, records))) > AT_ONCE
    return Found(stations[:AT_ONCE], pieces[:AT_ONCE], records[:AT_ONCE], is_cut=cut)


_STATIONS = """
SELECT s.id, s.code, s.name, s.kind, c.name AS client
  FROM records_site s JOIN records_organization c ON c.id = s.client_id
 WHERE s.{party} = %(organization)s AND {every}
 ORDER BY s.code <> %(first)s, {by_code}, s.row LIMIT %(limit)s
"""
_WORD = "strpos(lower(s.code || ' ' || s.name || ' ' || c.name), %(word_{})s) > 0"


def _stations(actor: Actor, words: list[str]) -> list[Row]:
    every = " AND ".join(_WORD.format(number) for number in range(len(words)))
    given = {f"word_{number}": word.lower() for number, word in enumerate(words)}
    return _rows(_STATIONS, actor, every=every, first=" ".join(words), **given)


_PIECES = """
SELECT p.kind, p.piece, p.tag, p.serial, s.id AS site, s.code, s.name,
       p.out_of_service_on <= %(today)s AS gone
  FROM records_piecestanding p
  JOIN records_site s ON s.row = p.site_id AND s.{party} = %(organization)s
 WHERE p.{party} = %(organization)s AND p.known_until IS NULL AND p.kind <> 'site'
   AND (starts_with(p.tag, %(text)s) OR starts_with(p.tag, %(capitals)s)
        OR starts_with(p.serial, %(text)s) OR starts_with(p.serial, %(capitals)s))
 ORDER BY p.out_of_service_on IS NOT NULL, {by_tag}, {by_code}, p.row
 LIMIT %(limit)s
"""


def _pieces(actor: Actor, text: str, today: date) -> list[Row]:
    return _rows(_PIECES, actor, text=text, capitals=text.upper(), today=today)


# `12`, `B-01 12`, `B-01/12`, `record 12 of B-01`.
_BESIDE = re.compile(r"^(?:record|number|no\.?|of)$", re.IGNORECASE)
_RECORDS = """
SELECT r.id, r.number, r.kind, r.performed_at, s.code, s.name, s.time_zone
  FROM records_record r JOIN records_site s ON s.row = r.site_id
 WHERE (r.{party} = %(organization)s {handed}) AND r.number = %(number)s
   AND (%(code)s = '' OR starts_with(s.code, %(code)s) OR starts_with(s.code, %(capitals)s))
 ORDER BY {by_code}, r.row LIMIT %(limit)s
"""
_HANDED = "OR r.handed_to @> ARRAY[%(organization)s]::uuid[]"


def _records(actor: Actor, words: list[str]) -> list[Row]:
    parts = [part for word in words for part in word.split("/") if not _BESIDE.match(part)]
    numbers = [part for part in parts if re.fullmatch("[0-9]{1,10}", part)]
    if not numbers or int(numbers[-1]) > _LARGEST:
        return []
    parts.reverse()
    parts.remove(numbers[-1])
    code = " ".join(reversed(parts))
    given: dict[str, Any] = {"number": int(numbers[-1]), "code": code, "capitals": code.upper()}
    handed = _HANDED if sealed.was_handed_any(actor) else ""
    return _rows(_RECORDS, actor, handed=handed, **given)


def _rows(
    statement: str, actor: Actor, *, every: str = "", handed: str = "", **given: Any
) -> list[Row]:
    party = permissions.party(actor)
    given |= {"organization": actor.organization_id, "limit": AT_ONCE + 1}
    with connection.cursor() as cursor:
        text = statement.format(party=party, every=every, handed=handed, **_IN_ORDER)
        cursor.execute(text, given)
        names = [column.name for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor]
