"""The forms on a draft's page: who may answer, sign, seal and withdraw, and what they are shown."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.urls import reverse

from records import permissions
from records.documents.blocks import Block, heading
from records.documents.contents import sealed
from records.errors import Conflict
from records.models import Event, Finding, Signature
from records.models.base import new_id
from records.pages.entrance.ways import where_to_show_more
from records.pages.sent import Sent
from records.pages.sheets import anchor_of_finding
from records.permissions import Actor
from records.services import findings, not_possible, signatures

Form = dict[str, Any]

SIGNING = "your-signature"
"""Where on the page somebody signs."""

# What the forms call their fields.
LABELS = {"/text": "Answer", "/reason": "Reason", "/tasks": "What could not be done"}
MEANINGS = {
    "performed": "The work was performed as it stands here",
    "reviewed": "I have reviewed it, as a second person",
    "witnessed": "I was there and saw it",
}


def choices_of(actor: Actor, event: Event) -> list[signatures.Choice]:
    """How somebody could sign, to be asked before the page's content is read.

    Each query sees what was committed until then. A digest that is older than the page can only
    be refused; a later one would cover what is not on it.
    """
    may = permissions.may(actor, "events.sign") and not _closed(event)
    return signatures.choices(actor, event) if may else []


def _closed(event: Event) -> str:
    try:
        event.refuse_unless_draft()
    except Conflict as why:
        return why.detail
    return ""


@dataclass(frozen=True)
class Forms:
    """What somebody can do with a draft; each form by its address, beside what came back."""

    actor: Actor
    event: Event
    found: list[Finding]
    obstacles: list[Form]
    choices: Sequence[signatures.Choice]
    """Of `choices_of`, called before anything that the page shows was read."""
    sent: Sent | None = None
    placed: dict[str, str] = field(default_factory=dict)
    """Where on the page each form stands, by its address."""

    def on(self, blocks: Iterable[Block]) -> Iterator[Block]:
        """The page's blocks, each finding with its forms."""
        by_id = {} if self.closed else {str(each.id): each for each in self.found}
        for block in blocks:
            finding = by_id.get(block["id"]) if block["kind"] == "finding" else None
            yield block | {"forms": self._of_finding(finding)} if finding else block

    def to_close(self) -> Iterator[Block]:
        """Signing, sealing and withdrawing, as blocks of their own."""
        if self._may("events.sign"):
            yield {"kind": "signing", **self._signing()}
        if self._may("events.seal"):
            yield heading("Seal")
            form = self._form("seal-event", "seal") | {"confirm_at": self._confirm_at("seal")}
            yield {"kind": "sealing", **form, "shown": self.event.etag}

    def to_withdraw(self) -> Iterator[Block]:
        """Withdrawing."""
        if self.event.state == "draft" and permissions.may(self.actor, "events.withdraw"):
            yield heading("Withdraw this draft")
            form = self._form("withdraw-event", "withdraw-this-draft")
            yield {"kind": "withdrawing", **form, "shown": self.event.etag}

    @property
    def closed(self) -> str:
        """Why nothing can be done with it, in words; nothing where it can."""
        return _closed(self.event)

    def _may(self, action: str) -> bool:
        return not self.closed and permissions.may(self.actor, action)

    def _form(self, name: str, at: str, *more: UUID) -> Form:
        """A form's address, where on the page it stands, and what came back to it."""
        action = reverse(name, args=[self.event.id, *more])
        self.placed[action] = at
        back = self.sent if self.sent is not None and self.sent.to == action else None
        given = back.form if back else {}
        return {"action": f"{action}#{at}", "at": at, "back": back, "given": given}

    def _confirm_at(self, at: str) -> str:
        """Where the person confirms who they are, before they are back at this place."""
        return where_to_show_more(self.actor, f"{reverse('event', args=[self.event.id])}#{at}")

    # -- findings ----------------------------------------------------------------------------------

    def _of_finding(self, finding: Finding) -> Form:
        forms: Form = {"next": self._next_open(finding)}
        if self._may("findings.answer"):
            forms["answer"] = self._answer(finding)
        tasks = not_possible.tasks_of(finding)
        if tasks and findings.is_open(finding) and self._may("events.write"):
            forms["not_possible"] = self._not_possible(finding, tasks)
        return forms

    def _answer(self, finding: Finding) -> Form:
        at = anchor_of_finding(str(finding.id))
        return self._form("answer-finding", at, finding.id) | {
            "id": new_id(),
            "shown": findings.state_of(finding),
            "open": findings.is_open(finding),
            "wanted": findings.needs_answer(finding),
            "accepts": findings.may_accept(self.actor, finding),
            "correct_only": bool(finding.document.get("correct_only")),
        }

    def _not_possible(self, finding: Finding, tasks: tuple[str, ...]) -> Form:
        form = self._form("not-possible", anchor_of_finding(str(finding.id)), finding.id)
        back: Sent | None = form["back"]
        ticked = back.form.getlist("tasks") if back else []
        return form | {
            "id": new_id(),
            "shown": self.event.revision,
            "tasks": [(task, task in ticked or len(tasks) == 1) for task in tasks],
        }

    def _next_open(self, finding: Finding) -> Form | None:
        """The next finding that is open, after this one: its place and its number on the page."""
        for index in range(self.found.index(finding) + 1, len(self.found)):
            if findings.is_open(self.found[index]):
                return {"at": anchor_of_finding(str(self.found[index].id)), "number": index + 1}
        return None

    # -- signing -----------------------------------------------------------------------------------

    def _signing(self) -> Form:
        return self._form("sign-event", SIGNING) | {
            "confirm_at": self._confirm_at(SIGNING),
            "choices": [
                {
                    **each._asdict(),
                    "id": new_id(),
                    "words": MEANINGS[each.meaning],
                    "covers": sealed.COVERS[each.meaning],
                }
                for each in self.choices
            ],
            "own": [self._own(each) for each in signatures.valid(self.event) if self._is_own(each)],
            "covered": self._covered(),
            "open": [each for each in self.obstacles if each["anchor"] != "signatures"],
        }

    def _is_own(self, signed: Signature) -> bool:
        return bool(signed.by_id == self.actor.user_id)

    def _own(self, signed: Signature) -> Form:
        return self._form("take-back", SIGNING, signed.id) | {"meaning": signed.meaning}

    def _covered(self) -> Form:
        """How much a signature is over."""
        return {
            "revision": self.event.revision,
            "catalogue": self.event.catalogue,
            "findings": len(self.found),
            "answered": sum(findings.valid_answer(each) is not None for each in self.found),
            "limits": len(self.event.judgement["limits_changed"]),
        }
