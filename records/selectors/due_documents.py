"""Due items, their reasons and proposals in words."""

from datetime import date
from typing import Any

from calculations.due_dates import GRACE
from calculations.intervals import IntervalStep
from calculations.tasks.catalogue import BY_ID
from calculations.tasks.proposing import SOURCE, Proposal, propose
from calculations.tasks.task import Interval
from records.selectors.due_items import Item

Document = dict[str, Any]


def document(item: Item) -> Document:
    """A due item as it is told."""
    task = BY_ID[item.task]
    return {
        "site": item.site,
        "station": item.code,
        "client": item.client_id,
        "kind": item.kind,
        "piece": item.piece,
        "tag": item.tag,
        "serial": item.serial or None,
        "pump_set": item.pump_set,
        "task": item.task,
        "title": task.title,
        "as_of": str(item.today),
        "state": item.state,
        "due_on": _day(item.due_on),
        "why": why(item),
        "months": None if task.once else item.months,
        "default_months": None if task.once else item.default_months,
        "interval_setting": item.setting,
        "last": _last(item),
        "not_possible": _not_possible(item),
    }


def _day(day: date | None) -> str | None:
    return None if day is None else str(day)


def _last(item: Item) -> Document | None:
    """What the date counts from."""
    if item.good_id is None:
        return None
    return {
        "id": item.good_id,
        "record": item.good_record,
        "number": item.good_number,
        "performed_on": str(item.good_on),
        "as_found": item.as_found,
    }


def _not_possible(item: Item) -> Document | None:
    if item.tried_result != "not_possible":
        return None
    return {
        "on": str(item.tried_on),
        "reason": item.tried_reason,
        "record": item.tried_record,
        "number": item.tried_number,
    }


# -- why that date ------------------------------------------------------------------------------


def why(item: Item) -> str:
    """Why it is due on that day, in words."""
    return " ".join(filter(None, (_counted(item), _interval(item), _outside(item), _tried(item))))


def _counted(item: Item) -> str:
    if item.good_id is not None:
        done, task = f"record {item.good_number} of {item.good_on}", BY_ID[item.task]
        if task.once:
            until = "replaced or rewound" if task.with_winding else "replaced"
            return f"Done for this {_word(item)} by {done}; due again when it is {until}."
        if task.follows:
            return f"Started up by {done}: the first follow-up is due {_months(item)} later, once."
        return f"{task.good} by {done}; due again after {_months(item)}."
    if item.replaced:
        before = f", verified before on {item.earlier_on}" if item.earlier_on else ""
        return (
            f"What it rests on was replaced or changed{before}: due at once, from"
            f" {max(filter(None, (item.since, item.earlier_on)))} on."
        )
    start = max(item.since, item.taken_over)
    return f"Never verified: due within {GRACE} months of {start}, when it was taken over or came."


def _word(item: Item) -> str:
    return str(item.kind).replace("_", " ")


def _months(item: Item) -> str:
    return "1 month" if item.months == 1 else f"{item.months} months"


def _interval(item: Item) -> str:
    task = BY_ID[item.task]
    if item.good_id is None or task.once or task.follows:
        return ""
    if item.halved:
        half = f"As found {task.found_bad}: half of {item.base_months} months"
        rests = ", and what was read since the last good date rests on it"
        return f"{half}{rests if task.of == 'sensor' else ''}."
    if item.setting is None:
        return "Interval by common practice."
    return f"Interval set by {item.set_by_name}: {item.setting_reason}"


def _outside(item: Item) -> str:
    if item.outside_on is None:
        return ""
    at = f"on {item.outside_on} (record {item.outside_number})"
    return f"{BY_ID[item.task].bad} {at}: due from that day."


def _tried(item: Item) -> str:
    if item.tried_on is None:
        return ""
    at = f"on {item.tried_on} (record {item.tried_number})"
    return {
        "not_judged": f"Tried {at}, but what was written down does not show how it was left.",
        "not_possible": f"Not possible {at}: {item.tried_reason}",
    }.get(str(item.tried_result), "")


# -- proposals ----------------------------------------------------------------------------------


def proposal(item: Item) -> Proposal:
    """What history says of the interval of an item."""
    return propose(
        task=BY_ID[item.task],
        bounds=Interval(
            min(max(item.default_months, item.shortest), item.longest),
            shortest=item.shortest,
            longest=item.longest,
        ),
        months=item.base_months,
        ratio=item.ratio,
        found_outside=item.as_found == "outside",
    )


def proposal_document(item: Item) -> Document:
    """A proposal as it is told; its id is that of what was found."""
    found = proposal(item)
    told = ("site", "station", "client", "kind", "piece", "tag", "pump_set", "task", "title")
    known = document(item)
    return {name: known[name] for name in told} | {
        "id": item.good_id,
        "record": item.good_record,
        "number": item.good_number,
        "performed_on": str(item.good_on),
        "as_found": item.as_found,
        "months": item.base_months,
        "step": "shorten" if found.step is IntervalStep.REDUCE else "lengthen",
        "proposed_months": found.months,
        "shortest": item.shortest,
        "longest": item.longest,
        "arithmetic": found.arithmetic,
        "source": SOURCE,
    }


def task_document(task_id: str) -> Document:
    """A task of the catalogue."""
    task = BY_ID[task_id]
    return {
        "id": task.id,
        "title": task.title,
        "of": task.of,
        "counted": task.counted,
        "safety": task.safety,
        "once": task.once,
        "intervals": [_interval_document(each) for each in task.intervals],
        "otherwise": _interval_document(task.otherwise),
        "source": task.source,
    }


def _interval_document(interval: Interval) -> Document:
    return {
        "months": interval.months,
        "when": list(interval.when),
        "unless": list(interval.unless),
        "shortest": interval.shortest,
        "longest": interval.longest,
        "evidence": interval.evidence,
    }
