"""Spreadsheets that come in: what was read of them, until it is written or given up."""

from typing import Any, Literal

from django.db import models

from records.models.base import new_id
from records.models.fields import DocumentField, WordField
from records.models.people import Organization, User

State = Literal["columns", "to check", "checked", "to write", "written", "stopped"]
Verdict = Literal["created", "changed", "same", "refused"]


class Import(models.Model):
    """A file, how its columns are read, and how far it is.

    `columns`: somebody says what they mean. `to check` and `to write`: the background's turn.
    `checked`: every row has been tried. `stopped`: what was wrong stands in `problem`.
    """

    row = models.BigAutoField(primary_key=True)
    id = models.UUIDField(default=new_id, editable=False)
    contractor = models.ForeignKey(
        Organization, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    created_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    asked_by = models.ForeignKey(
        User, on_delete=models.PROTECT, related_name="+", null=True, db_index=False,
        help_text="Who had it checked or written last: in whose place the background does it.",
    )  # fmt: skip
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    name = models.TextField(help_text="What the file was called.")
    sha256 = models.BinaryField(max_length=32, help_text="Of the file, which is kept under it.")
    size = models.PositiveIntegerField()
    state = WordField(State, default="columns")
    layout: Any = DocumentField(default=list, help_text="Sheets, and what their columns mean.")
    layout_digest = models.BinaryField(max_length=32, help_text="Same headings, same digest.")
    notes: Any = models.JSONField(default=list, help_text="What was noticed while opening it.")
    counts: Any = models.JSONField(default=dict, help_text="Rows by verdict, when checked.")
    done = models.PositiveIntegerField(default=0, help_text="Rows so far of what is under way.")
    attempts = models.PositiveSmallIntegerField(default=0)
    held_since = models.DateTimeField(
        null=True, help_text="Since when another office's file keeps it waiting, while it does."
    )
    problem = models.TextField(default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["contractor", "id"], name="import_id_in_contractor"),
            models.UniqueConstraint(fields=["row", "contractor"],
                                    name="import_with_its_contractor"),
        ]  # fmt: skip
        indexes = [
            models.Index(fields=["contractor", "-row"], name="imports_newest_first"),
            models.Index(fields=["state"], name="imports_under_way",
                         condition=models.Q(state__in=["to check", "to write"])),
        ]  # fmt: skip


class ImportLine(models.Model):
    """What becomes of one row of a file; one that is written names what it was checked against."""

    row = models.BigAutoField(primary_key=True)
    # Lines go with their import; the database's own key carries the contractor along.
    of = models.ForeignKey(Import, on_delete=models.CASCADE, related_name="lines", db_index=False)
    contractor = models.ForeignKey(
        Organization, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    position = models.PositiveIntegerField(help_text="In the order of writing.")
    sheet = models.TextField()
    number = models.PositiveIntegerField(help_text="Of the row in its sheet.")
    kind = models.TextField()
    name = models.TextField(help_text="Station and tag.")
    verdict = WordField(Verdict)
    subject = models.UUIDField(null=True)
    revision = models.PositiveIntegerField(null=True, help_text="Of what is changed.")
    document: Any = DocumentField(null=True, help_text="To be added, or a merge patch.")
    told: Any = models.JSONField(default=list, help_text="What is refused, or from what to what.")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["of", "position"], name="import_line_once"),
        ]
        indexes = [
            models.Index(fields=["of", "verdict", "position"], name="import_lines_by_verdict"),
        ]
