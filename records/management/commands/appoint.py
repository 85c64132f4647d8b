"""Gives a station to another contractor, from today, on its client's word.

appoint --client ID --code CODE --contractor ID --by NAME --reason WORDS

The register goes over. Events and sealed records stay with the contractor that performed them;
--hand-on-records lets the new one read the station's records, as the client may.
"""

from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError

from records.errors import BookError
from records.management.by_operator import ask_by_and_reason, by_and_reason, owner
from records.services import appointments


class Command(BaseCommand):
    """Runs as the tables' owner: no office gives a station to itself or to another."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which station, whom it goes to, and on whose word."""
        parser.add_argument("--client", type=UUID, required=True, help="id of the client")
        parser.add_argument("--code", required=True, help="code of its station")
        parser.add_argument("--contractor", type=UUID, required=True, help="id of the new one")
        ask_by_and_reason(parser, reason="on whose word, and why")
        parser.add_argument(
            "--hand-on-records", action="store_true", help="let the new one read sealed records"
        )
        parser.add_argument(
            "--leave-drafts",
            action="store_true",
            help="visits that are not sealed stay with the old one, to be read and withdrawn",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Say what became of it."""
        by, reason = by_and_reason(options)
        wanted = appointments.Change(
            client=options["client"],
            code=options["code"],
            contractor=options["contractor"],
            operator=by,
            reason=reason,
            hand_on_records=options["hand_on_records"],
            leave_drafts=options["leave_drafts"],
        )
        try:
            done = appointments.appoint(wanted, owner())
        except BookError as error:
            raise CommandError(error.detail) from error
        self.stdout.write(
            f"{done.site.code}: {done.after} in place of {done.before};"
            f" {done.records_handed_on} records handed on, {done.drafts_left} drafts left"
        )
