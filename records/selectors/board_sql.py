"""The statement of the stations page: one reading of the summaries, however they are sorted."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from records import natural

if TYPE_CHECKING:
    from records.selectors.board import Wanted

DATES = {"contractor_id": "due_dates", "client_id": "client_due_dates"}

# The gravest thing that waits for the office; stations without any come last.
STATES = ("stop", "overdue", "review", "nothing", "out_of_service")
_STATE = """
CASE WHEN open_stop > 0 THEN 'stop' WHEN overdue > 0 THEN 'overdue'
     WHEN open_review > 0 THEN 'review' WHEN out_of_service THEN 'out_of_service'
     ELSE 'nothing' END
"""
_RANK = f"array_position(ARRAY{list(STATES)}, state)"

SHOW = {
    "all": "true",
    "attention": "state IN ('stop', 'overdue')",
    "stop": "open_stop > 0",
    "overdue": "overdue > 0",
    "review": "open_review > 0",
    "note": "open_note > 0",
    "nothing": "state = 'nothing'",
}
# Each as a text, so that one form of cursor goes on in all of them.
SORT = {
    "attention": f"{_RANK}::text",
    "code": "''",
    "client": "client",
    "due": "coalesce(since::text, next::text, '~')",
    "overdue": "lpad((99999 - overdue)::text, 5, '0')",
    "visit": "coalesce(lpad((99999999999 - extract(epoch FROM last_event_at)::bigint)::text,"
    " 11, '0'), '~')",
    "sealed": "coalesce(lpad((99999999999 - extract(epoch FROM last_sealed_at)::bigint)::text,"
    " 11, '0'), '~')",
}

_WORK = "m.open_stop, m.open_review, m.open_note, m.drafts, m.last_event_at"
_NO_WORK = (
    "0 AS open_stop, 0 AS open_review, 0 AS open_note, 0 AS drafts,"
    " NULL::timestamptz AS last_event_at"
)
# Dates are in order: those before today are counted by halving, and the next one follows them.
_STATION = """
SELECT s.row, s.id, s.code, s.name, s.kind, s.time_zone, s.latitude, s.longitude,
       s.client_id, c.name AS client, {work}, m.last_number, m.last_sealed_at,
       coalesce(sets.count, 0) AS pump_sets,
       coalesce(s.out_of_service_on <= zone.today, false) AS out_of_service,
       dated.known, dated.past AS overdue, dated.dates[dated.past + 1] AS next,
       CASE WHEN dated.past > 0 THEN dated.dates[1] END AS since
  FROM records_site s
  JOIN records_sitesummary m ON m.site_id = s.row AND m.{party} = %(organization)s
  JOIN records_organization c ON c.id = s.client_id
  JOIN unnest(%(zones)s::text[], %(days)s::date[]) AS zone (time_zone, today) USING (time_zone)
  LEFT JOIN unnest(%(live)s::bigint[], %(dates)s::text[]) AS live (site_id, dates)
         ON live.site_id = s.row
  LEFT JOIN (SELECT p.site_id, count(*) FROM records_pumpset p WHERE p.{party} = %(organization)s
                AND (p.in_service_from IS NULL OR p.in_service_from <= %(latest)s)
                AND (p.out_of_service_on IS NULL OR p.out_of_service_on > %(latest)s)
              GROUP BY p.site_id) sets ON sets.site_id = s.row
 CROSS JOIN LATERAL (
       SELECT CASE WHEN live.site_id IS NOT NULL THEN live.dates::date[]
                   WHEN m.due_edition = %(edition)s THEN m.{dates} END AS dates) kept
 CROSS JOIN LATERAL (
       SELECT kept.dates, kept.dates IS NOT NULL AS known,
              CASE WHEN cardinality(kept.dates) > 0
                   THEN width_bucket(zone.today - 1, kept.dates) ELSE 0 END AS past) dated
 WHERE s.{party} = %(organization)s
"""
_BOARD = """
WITH station AS MATERIALIZED (
  SELECT *, {state} AS state FROM ({station}) told
), wanted AS MATERIALIZED (
  SELECT *, ({key}) COLLATE "C" AS key, {code_key} AS code_key FROM station WHERE {chosen}
), total AS (
  SELECT json_build_object(
         'stations', count(*), 'pump_sets', coalesce(sum(pump_sets), 0),
         'attention', count(*) FILTER (WHERE {attention}),
         'with_stop', count(*) FILTER (WHERE open_stop > 0),
         'with_review', count(*) FILTER (WHERE open_review > 0),
         'with_overdue', count(*) FILTER (WHERE overdue > 0),
         'stop', coalesce(sum(open_stop), 0), 'review', coalesce(sum(open_review), 0),
         'note', coalesce(sum(open_note), 0), 'drafts', coalesce(sum(drafts), 0),
         'overdue', coalesce(sum(overdue), 0),
         'records', coalesce(sum(last_number), 0)) AS totals,
         (SELECT count(*) FROM wanted) AS matched
    FROM station
), part AS (
  SELECT * FROM wanted WHERE {after} ORDER BY key, code_key, code COLLATE "C", row {limit}
)
SELECT total.totals, total.matched, part.*
  FROM total LEFT JOIN part ON true
 ORDER BY part.key, part.code_key, part.code COLLATE "C", part.row
"""


def statement(party: str, wanted: "Wanted", *, works: bool) -> str:
    """The statement for what is wanted; `works`: of visits and findings, too."""
    station = _STATION.format(party=party, dates=DATES[party], work=_WORK if works else _NO_WORK)
    return _BOARD.format(
        state=_STATE,
        station=station,
        key=SORT[wanted.sort],
        code_key=natural.sql("code"),
        chosen=" AND ".join(_chosen(wanted)),
        attention=SHOW["attention"],
        after=_AFTER if wanted.after else "true",
        limit="" if wanted.limit is None else f"LIMIT {int(wanted.limit) + 1}",
    )


_CODE = "%(code)s::text"
_AFTER = f"""
(key, code_key, code COLLATE "C", row)
> (%(key)s::text COLLATE "C", {natural.sql(_CODE)}, {_CODE} COLLATE "C", %(row)s)
"""
_TEXT = "strpos(lower(code || ' ' || name || ' ' || client), %(text)s) > 0"
_AREA = """
latitude::float BETWEEN %(south)s AND %(north)s AND longitude::float BETWEEN %(west)s AND %(east)s
"""


def _chosen(wanted: "Wanted") -> Iterable[str]:
    yield SHOW[wanted.show]
    if wanted.text:
        yield _TEXT
    if wanted.client is not None:
        yield "client_id = %(client)s"
    if wanted.area is not None:
        yield _AREA


def given(wanted: "Wanted") -> Mapping[str, Any]:
    """The values that the statement asks for."""
    found: dict[str, Any] = {"latest": wanted.now.date(), "text": wanted.text.lower()}
    found["client"] = wanted.client
    if wanted.area is not None:
        found |= dict(zip(("south", "west", "north", "east"), wanted.area, strict=True))
    if wanted.after is not None:
        found |= dict(zip(("key", "code", "row"), wanted.after, strict=True))
    return found


def array(dates: Iterable[date]) -> str:
    """Dates as the text of an array."""
    return "{" + ",".join(map(str, dates)) + "}"
