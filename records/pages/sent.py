"""Forms that come back to their page, with what was entered in them and why."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import QueryDict

from records.documents import labels
from records.errors import BookError, Invalid, NotReady, SameIdOtherContent
from records.ids import is_id

_SENT_BEFORE = (
    "This form was sent before with other words: those were kept. Send it again to add what "
    "stands in it now."
)


@dataclass(frozen=True, slots=True)
class Sent:
    """A form that came back: to which address it was sent, with what, and why it is back."""

    to: str
    form: QueryDict
    words: tuple[str, ...]
    status: int = 200

    @classmethod
    def refused(
        cls, to: str, form: QueryDict, error: BookError, called: Mapping[str, str]
    ) -> "Sent":
        """A form that a service refused, in that service's words.

        `called` is what the form calls the fields that problems point to.
        """
        return cls(to, form, tuple(_words(error, called)), error.status)

    @property
    def texts(self) -> list[str]:
        """What was written, for a form that is no longer there."""
        return [text for name in ("text", "reason") if (text := self.form.get(name, "").strip())]


def _words(error: BookError, called: Mapping[str, str]) -> list[str]:
    if isinstance(error, SameIdOtherContent):
        return [_SENT_BEFORE]
    if isinstance(error, NotReady):
        return [f"{error.title}: what is still open is listed here."]
    of_the_form = isinstance(error, Invalid)  # else `detail` says it of what no field holds
    told = [
        f"{called.get(each.pointer, each.pointer)}: {each.detail}."
        for each in error.problems
        if of_the_form or each.pointer in called
    ]
    return told or [labels.sentence(error.detail) + "."]


def form_id(form: QueryDict) -> UUID | None:
    """The id that a form was given; None where it has none that can be read."""
    given = form.get("id", "")
    return UUID(given) if is_id(given) else None


def given_by(form: QueryDict, **values: Any) -> dict[str, Any]:
    """A document for a service; the id that the form was given makes a second sending harmless."""
    return values | ({"id": form["id"]} if form.get("id") else {})


def text_of(form: QueryDict, name: str) -> str:
    """A text as it was typed: browsers end lines as mails do."""
    return form.get(name, "").replace("\r\n", "\n")
