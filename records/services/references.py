"""What an event's document refers to must exist, and belong to its pump set."""

from collections.abc import Iterator, Mapping
from typing import Any

from calculations.inputs.reading import Problem, pointer

Document = Mapping[str, Any]


def problems(document: Document, snapshot: Document) -> list[Problem]:
    """Every reference of the document that the snapshot does not know."""
    return [
        *_unknown(_sensors(document), _names(snapshot["sensors"], "tag"), _NOT_A_SENSOR),
        *_unknown(_instruments(document), _names(snapshot["instruments"], "serial"), _NOT_ONE),
        *_unknown(_vessels(document), _names(snapshot["vessels"], "tag"), _NOT_A_VESSEL),
    ]


def not_kept(document: Document, digests: set[str], traces: set[str]) -> list[Problem]:
    """Every digest and trace that the document states and of which no bytes were kept.

    A digest on a sealed record says that these bytes are there: nobody's word stands for them.
    """
    return [
        *_unknown(_digests(document), digests, _NO_FILE),
        *_unknown(_traces(document), traces, _NO_TRACE),
    ]


_NO_FILE = "no file of this SHA-256 was sent: send it to the event, or leave the digest out"
_NO_TRACE = "no trace of this id was sent: send it to the event, or leave it out"
_NOT_A_SENSOR = "there is no such sensor at this site, or it belongs to another pump set"
_NOT_ONE = "there is no such instrument among yours"
_NOT_A_VESSEL = "there is no such vessel at this site"


def _unknown(
    references: Iterator[tuple[str, str]], known: set[str], words: str
) -> Iterator[Problem]:
    for place, name in references:
        if name not in known:
            yield Problem(place, "unknown_id", words)


def _names(resources: list[Document], also: str) -> set[str]:
    return {each[key] for each in resources for key in ("id", also) if each.get(key)}


def _sensors(document: Document) -> Iterator[tuple[str, str]]:
    for index, name in enumerate(document.get("sensors") or ()):
        yield pointer("sensors", index), name
    for index, each in enumerate(document.get("sensor_verifications") or ()):
        if each.get("sensor"):
            yield pointer("sensor_verifications", index, "sensor"), each["sensor"]


def _digests(document: Document) -> Iterator[tuple[str, str]]:
    if digest := (document.get("settings_file") or {}).get("sha256"):
        yield pointer("settings_file", "sha256"), digest.lower()
    for name in ("attachments", "traces"):
        for index, each in enumerate(document.get(name) or ()):
            if each.get("sha256"):
                yield pointer(name, index, "sha256"), each["sha256"].lower()


def _traces(document: Document) -> Iterator[tuple[str, str]]:
    for index, each in enumerate(document.get("step_tests") or ()):
        if each.get("trace"):
            yield pointer("step_tests", index, "trace"), each["trace"].lower()


def _vessels(document: Document) -> Iterator[tuple[str, str]]:
    for index, each in enumerate(document.get("vessel_checks") or ()):
        if each.get("vessel"):
            yield pointer("vessel_checks", index, "vessel"), each["vessel"]


def _instruments(document: Document) -> Iterator[tuple[str, str]]:
    for index, name in enumerate(document.get("instruments") or ()):
        yield pointer("instruments", index), name
    for index, each in enumerate(document.get("sensor_verifications") or ()):
        if each.get("instrument"):
            yield pointer("sensor_verifications", index, "instrument"), each["instrument"]
    for index, point in enumerate(document.get("duty_points") or ()):
        for position, name in enumerate(point.get("instruments") or ()):
            yield pointer("duty_points", index, "instruments", position), name
