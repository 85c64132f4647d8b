"""The one statement that due items come from: pieces in service × tasks × what was done last.

Nothing of it is kept. Stations come in the order of their rows, so that a part of a long list
costs what it holds, and a whole one is read while it is sent.
"""

from collections.abc import Iterable
from functools import cache

from calculations.due_dates import GRACE, SOON
from calculations.tasks.catalogue import TASKS
from calculations.tasks.task import Interval, Task
from records import natural

NUMBERS = {task.id: number for number, task in enumerate(TASKS)}
"""Tasks in the catalogue's order, which lists keep."""

FULFILS = "('inside', 'begun')"


def known(alias: str, at: str = "here") -> str:
    """Of what stood, the rows that were known when the day ended."""
    return (
        f"{alias}.known_from <= {at}.cut"
        f" AND ({alias}.known_until IS NULL OR {alias}.known_until > {at}.cut)"
    )


def in_service(alias: str, at: str = "here") -> str:
    """Of those, the ones in service that day."""
    return (
        f"({alias}.in_service_from IS NULL OR {alias}.in_service_from <= {at}.today)"
        f" AND ({alias}.out_of_service_on IS NULL OR {alias}.out_of_service_on > {at}.today)"
    )


# Which thing a result is of: serial numbers tell where both are known, else the id does.
_SAME_THING = """
(CASE WHEN p.kind = 'pump_set' THEN true
      WHEN x.serial <> '' AND p.serial <> '' THEN x.serial = p.serial
      ELSE x.piece IS NOT DISTINCT FROM p.piece END
 AND (NOT task.rests_on_drive
      OR CASE WHEN x.drive_serial <> '' AND p.drive_serial <> ''
              THEN x.drive_serial = p.drive_serial
              ELSE x.drive IS NOT DISTINCT FROM p.drive END)
 AND (NOT task.with_firmware
      OR x.firmware = '' OR p.firmware = '' OR x.firmware = p.firmware)
 AND (NOT task.with_winding OR p.rewound_on IS NULL OR x.performed_on >= p.rewound_on))
"""

_X = """
x.row, x.id, x.record_id, x.result, x.performed_on, x.sealed_at, x.as_found, x.ratio, x.reason,
x.serial
"""

# What was done at a place by then, the newest first. What a later record corrects counts no more.
_DONE = """
FROM records_performedtask x
WHERE x.site_id = here.site_id AND x.task = task.id AND x.tag = p.tag
  AND (x.{party} = %(organization)s {handed})
  AND x.sealed_at <= here.cut AND x.performed_on <= here.today
  AND x.record_id <> ALL (here.corrected)
"""
_NEWEST_FIRST = "ORDER BY x.performed_on DESC, x.sealed_at DESC, x.row DESC LIMIT 1"

_STATIONS = """
SELECT s.site_id, s.piece AS site, s.tag AS code, s.traits, s.contractor_id, s.client_id,
       substr(s.traits[1], 6) AS station_kind, zone.today, zone.cut,
       ARRAY(SELECT c.corrects_id FROM records_record c
              WHERE c.site_id = s.site_id AND c.corrects_id IS NOT NULL
                AND c.sealed_at <= zone.cut) AS corrected,
       ARRAY(SELECT i.task FROM records_intervalsetting i
              WHERE i.contractor_id = s.contractor_id AND i.client_id = s.client_id
                AND i.set_at <= zone.cut
                AND (i.ended_at IS NULL OR i.ended_at > zone.cut)) AS tasks_set,
       coalesce((SELECT max(a.from_day) FROM records_appointment a
                  WHERE a.site_id = s.site_id AND a.contractor_id = s.contractor_id
                    AND a.from_day <= zone.today), s.registered_on) AS taken_over
  FROM records_piecestanding s
  JOIN unnest(%(zones)s::text[], %(days)s::date[], %(cuts)s::timestamptz[])
       AS zone (time_zone, today, cut) USING (time_zone)
 WHERE s.kind = 'site' AND s.{party} = %(organization)s
   AND {known} AND {in_service} {stations}
 ORDER BY s.site_id
"""

# What stands at a station, with the pump set that it is in and with that one's drive. OFFSET 0:
# else they are looked for anew for each task of a piece.
_PIECES = """
SELECT p.kind, p.piece, p.tag, {p_tag_key} AS tag_key, p.serial, p.firmware,
       p.in_service_from, p.registered_on,
       p.rewound_on, j.tag AS pump_set,
       d.piece AS drive, d.serial AS drive_serial, d.since AS drive_since,
       here.traits || p.traits || coalesce(j.traits, '{{}}') || coalesce(m.traits, '{{}}') AS traits
  FROM records_piecestanding p
  LEFT JOIN LATERAL (
       SELECT j.tag, j.motor, j.drive, j.traits FROM records_piecestanding j
        WHERE j.site_id = here.site_id AND j.kind = 'pump_set' AND j.{party} = %(organization)s
          AND CASE p.kind WHEN 'pump_set' THEN j.piece WHEN 'pump' THEN j.pump
                          WHEN 'motor' THEN j.motor WHEN 'drive' THEN j.drive END = p.piece
          AND {j_known} AND {j_in_service} ORDER BY j.tag LIMIT 1) j ON true
  LEFT JOIN LATERAL (
       SELECT m.traits FROM records_piecestanding m
        WHERE m.site_id = here.site_id AND m.kind = 'motor' AND m.piece = j.motor
          AND m.{party} = %(organization)s AND {m_known} LIMIT 1) m ON true
  LEFT JOIN LATERAL (
       SELECT d.piece, d.serial, coalesce(d.in_service_from, d.registered_on) AS since
         FROM records_piecestanding d
        WHERE d.site_id = here.site_id AND d.kind = 'drive' AND d.piece = j.drive
          AND d.{party} = %(organization)s AND {d_known} LIMIT 1) d ON true
 WHERE p.site_id = here.site_id AND p.kind <> 'site' AND p.{party} = %(organization)s
   AND {p_known} AND {p_in_service} {pieces}
OFFSET 0
"""

# The last OFFSET 0: else the planner reads all that was ever done at a station into a hash for
# that one question, which few items ask.
_ITEMS = """
SELECT here.site, here.code, here.client_id, here.contractor_id, here.today,
       here.taken_over, p.kind, p.piece, p.tag, p.tag_key, p.serial, p.pump_set,
       task.number, task.id AS task, task.once, task.follows, task.safety,
       bound.months IS NOT NULL AS by_default,
       coalesce(bound.months, task.months) AS default_months,
       coalesce(bound.shortest, task.shortest) AS shortest,
       coalesce(bound.longest, task.longest) AS longest,
       setting.id AS setting, setting.reason AS setting_reason, setting.set_by_name,
       setting.set_at, base.months AS base_months, halved.outside AS halved,
       CASE WHEN halved.outside THEN greatest(base.months / 2, 1) ELSE base.months END AS months,
       tried.record_id AS tried_record_id, tried.result AS tried_result,
       tried.performed_on AS tried_on, tried.reason AS tried_reason,
       good.id AS good_id, good.record_id AS good_record_id, good.performed_on AS good_on,
       good.result AS good_result, good.as_found, good.ratio, good.sealed_at AS good_sealed_at,
       outside.performed_on AS outside_on, outside.record_id AS outside_record_id,
       since.day AS since, earlier.performed_on AS earlier_on, since.replaced
  FROM ({standing}) p
  JOIN {catalogue} ON task.kind = p.kind {tasks}
  CROSS JOIN LATERAL (SELECT {default} AS of OFFSET 0) chosen
  CROSS JOIN LATERAL (
       SELECT chosen.of[1] AS months, chosen.of[2] AS shortest, chosen.of[3] AS longest) bound
  LEFT JOIN LATERAL (
       SELECT {x}, x.result IN {fulfils} AND {same} AS fulfils
         {done} {newest_first}) newest ON true
  LEFT JOIN LATERAL (
       SELECT newest.row, newest.id, newest.record_id, newest.result, newest.performed_on,
              newest.sealed_at, newest.as_found, newest.ratio, newest.reason, newest.serial
        WHERE newest.fulfils
       UNION ALL
       (SELECT {x} {done} AND newest.fulfils IS FALSE AND x.result IN {fulfils} AND {same}
        {newest_first})) good ON true
  LEFT JOIN LATERAL (
       SELECT newest.record_id, newest.result, newest.performed_on, newest.reason
        WHERE newest.fulfils IS FALSE) tried ON true
  LEFT JOIN LATERAL (
       SELECT x.performed_on, x.record_id {done} AND newest.fulfils IS FALSE
          AND x.result = 'outside' AND {same}
          AND (good.row IS NULL OR (x.performed_on, x.sealed_at, x.row)
                                   > (good.performed_on, good.sealed_at, good.row))
        ORDER BY x.performed_on, x.sealed_at, x.row LIMIT 1) outside ON true
  LEFT JOIN LATERAL (
       SELECT x.performed_on {done} AND good.row IS NULL AND newest.row IS NOT NULL
          AND x.result IN {fulfils} {newest_first}) earlier ON true
  LEFT JOIN LATERAL (SELECT * FROM (
       SELECT i.id, i.months, i.reason, i.set_by_name, i.set_at FROM records_intervalsetting i
        WHERE i.contractor_id = here.contractor_id AND i.client_id = here.client_id
          AND i.task = task.id AND i.set_at <= here.cut
          AND (i.ended_at IS NULL OR i.ended_at > here.cut)
          AND (i.station_kind IS NULL OR i.station_kind = here.station_kind)
          AND (i.site_id IS NULL OR i.site_id = here.site_id AND i.piece = p.piece)
        ORDER BY i.piece IS NULL, i.station_kind IS NULL, i.row DESC LIMIT 1) nearest
        WHERE task.id = ANY (here.tasks_set) OFFSET 0) setting ON true
  CROSS JOIN LATERAL (
       SELECT CASE WHEN task.safety
                   THEN least(setting.months, coalesce(bound.months, task.months))
                   ELSE coalesce(setting.months, bound.months, task.months) END AS months) base
  CROSS JOIN LATERAL (
       SELECT coalesce(good.as_found = 'outside'
                       AND (setting.set_at IS NULL OR setting.set_at <= good.sealed_at), false)
              AS outside) halved
  CROSS JOIN LATERAL (
       SELECT greatest(coalesce(p.in_service_from, p.registered_on),
                       CASE WHEN task.rests_on_drive THEN p.drive_since END,
                       rewound.day) AS day,
              CASE WHEN good.row IS NOT NULL THEN false
                   WHEN earlier.performed_on IS NOT NULL THEN true
                   WHEN rewound.day > greatest(coalesce(p.in_service_from, p.registered_on),
                                               here.taken_over) THEN true
                   ELSE EXISTS (
                        SELECT FROM records_piecestanding o
                         WHERE o.site_id = here.site_id AND o.kind = p.kind AND o.tag = p.tag
                           AND o.kind <> 'pump_set' AND o.piece <> p.piece
                           AND o.{party} = %(organization)s
                           AND o.out_of_service_on <= here.today AND {o_known}) END
              AS replaced
         FROM (SELECT CASE WHEN task.with_winding THEN p.rewound_on END AS day) rewound) since
 WHERE CASE WHEN task.follows THEN good.result IS NOT DISTINCT FROM 'begun'
            ELSE bound.months IS NOT NULL
                 OR newest.row IS NOT NULL
                    AND (newest.result <> 'not_possible'
                         OR EXISTS (SELECT {done} AND x.result <> 'not_possible' OFFSET 0)) END
 ORDER BY p.tag_key, p.tag, task.number
"""

# What was left outside is due from that day until it is left inside. The number of the station
# comes from outside of what is computed for it: so an order by it needs no look at stations that
# come later.
_DATED = """
SELECT here.site_id, item.*, due.due_on,
       CASE WHEN due.due_on IS NULL THEN 'current'
            WHEN due.due_on < item.today THEN 'overdue'
            WHEN item.good_id IS NULL THEN 'never_verified'
            WHEN due.due_on <= (item.today + make_interval(months => {soon}))::date
            THEN 'due_soon' ELSE 'current' END AS state
  FROM ({stations}) here
 CROSS JOIN LATERAL ({items}) item
 CROSS JOIN LATERAL (
       SELECT least(
              CASE WHEN item.good_id IS NOT NULL AND item.once THEN NULL
                   WHEN item.good_id IS NOT NULL
                   THEN (item.good_on + make_interval(months => item.months))::date
                   WHEN item.replaced THEN greatest(item.since, item.earlier_on)
                   ELSE (greatest(item.since, item.taken_over)
                         + make_interval(months => {grace}))::date END,
              item.outside_on) AS due_on) due
"""


def statement(
    *, party: str, handed: bool, stations: str = "", pieces: str = "", tasks: str = ""
) -> str:
    """Every due item of an organization, in order; the rest are conditions that narrow it.

    `party` is the column by which rows are the organization's own; `handed` says that others'
    records may have been handed on to it.
    """
    also = "OR x.handed_to @> ARRAY[%(organization)s]::uuid[]" if handed else ""
    done = _DONE.format(party=party, handed=also)
    aliases = {f"{each}_known": known(each) for each in "jmdop"}
    here = _STATIONS.format(
        party=party, known=known("s", "zone"), in_service=in_service("s", "zone"),
        stations=stations,
    )  # fmt: skip
    standing = _PIECES.format(
        party=party, pieces=pieces, j_in_service=in_service("j"), p_in_service=in_service("p"),
        p_tag_key=natural.sql("p.tag"), **aliases,
    )  # fmt: skip
    items = _ITEMS.format(
        party=party, x=_X, same=_SAME_THING, done=done, newest_first=_NEWEST_FIRST,
        fulfils=FULFILS, standing=standing, tasks=tasks, default=_default(),
        catalogue=_catalogue(), **aliases,
    )  # fmt: skip
    return _DATED.format(stations=here, items=items, soon=SOON, grace=GRACE)


@cache
def _catalogue() -> str:
    """The tasks as a table; every word in it is our own."""
    tasks = ", ".join(_task(number, task) for number, task in enumerate(TASKS))
    names = "number, id, kind, safety, once, follows, rests_on_drive, with_firmware, with_winding"
    return f"(VALUES {tasks}) AS task ({names}, months, shortest, longest)"


def _task(number: int, task: Task) -> str:
    flags = (task.safety, task.once, task.follows, task.rests_on_drive, task.with_firmware,
             task.with_winding)  # fmt: skip
    said = ", ".join(str(flag).lower() for flag in flags)
    return f"({number}, '{task.id}', '{task.of}', {said}, {_months(task.otherwise)})"


@cache
def _default() -> str:
    """The first default interval that fits, with its bounds, by the task and the traits."""
    cases = (
        f"WHEN {number} THEN CASE {' '.join(map(_when, task.intervals))} END"
        for number, task in enumerate(TASKS)
        if task.intervals
    )
    return f"CASE task.number {' '.join(cases)} END"


def _when(interval: Interval) -> str:
    fits = [f"p.traits @> {_array(interval.when)}"] if interval.when else []
    if interval.unless:
        fits.append(f"NOT p.traits && {_array(interval.unless)}")
    return f"WHEN {' AND '.join(fits) or 'true'} THEN ARRAY[{_months(interval)}]"


def _months(interval: Interval) -> str:
    return f"{interval.months}, {interval.shortest}, {interval.longest}"


def _array(words: Iterable[str]) -> str:
    return "ARRAY[" + ", ".join(f"'{word}'" for word in words) + "]::text[]"
