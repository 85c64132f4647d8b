"""Gives a station to another contractor, from today, on its client's word.

appoint --client ID --code CODE --contractor ID --by NAME --reason WORDS

The register goes over. Events and sealed records stay with the contractor that performed them;
--hand-on-records lets the new one read the station's records, as the client may.
"""

from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from records.errors import BookError
from records.services import appointments


class Command(BaseCommand):
    """Runs as the tables' owner: no office gives a station to itself or to another."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which station, whom it goes to, and on whose word."""
        parser.add_argument("--client", type=UUID, required=True, help="id of the client")
        parser.add_argument("--code", required=True, help="code of its station")
        parser.add_argument("--contractor", type=UUID, required=True, help="id of the new one")
        parser.add_argument("--by", required=True, help="your own name, for both audits")
        parser.add_argument("--reason", required=True, help="on whose word, and why")
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
        using = "owner" if "owner" in settings.DATABASES else "default"
        said = {name: " ".join(options[name].split()) for name in ("by", "reason")}
        if not all(said.values()):
            raise CommandError("--by and --reason: expected words")
        wanted = appointments.Change(
            client=options["client"],
            code=options["code"],
            contractor=options["contractor"],
            operator=said["by"],
            reason=said["reason"],
            hand_on_records=options["hand_on_records"],
            leave_drafts=options["leave_drafts"],
        )
        try:
            done = appointments.appoint(wanted, using)
        except BookError as error:
            raise CommandError(error.detail) from error
        self.stdout.write(
            f"{done.site.code}: {done.after} in place of {done.before};"
            f" {done.records_handed_on} records handed on, {done.drafts_left} drafts left"
        )
