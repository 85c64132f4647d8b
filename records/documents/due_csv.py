"""What is due as CSV, for the spreadsheet in which somebody plans; texts as in `readings_csv`."""

from collections.abc import Iterable, Mapping
from typing import Any

from records.documents.readings_csv import guarded, written

HEAD = (
    "Client", "Station", "Pump set", "Kind", "Tag", "Serial", "Task", "State", "Due on", "Months",
    "Last done", "Record", "Why",
)  # fmt: skip


def head() -> bytes:
    """The line that names the columns."""
    return written([HEAD])


def lines(items: Iterable[Mapping[str, Any]], clients: Mapping[str, str]) -> bytes:
    """A line for each due item as it is told; `clients` are names by their ids."""
    return written(_cells(each, clients) for each in items)


def _cells(item: Mapping[str, Any], clients: Mapping[str, str]) -> Iterable[str]:
    last = item["last"] or {}
    told = (
        clients.get(item["client"]), item["station"], item["pump_set"],
        item["kind"].replace("_", " "), item["tag"], item["serial"], item["title"], item["state"],
        item["due_on"], item["months"], last.get("performed_on"), last.get("number"), item["why"],
    )  # fmt: skip
    return ("" if each is None else guarded(str(each)) for each in told)
