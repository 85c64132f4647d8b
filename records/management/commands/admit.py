"""Lets somebody who runs the service look into an organization's book, for a reason and a time.

admit USERNAME --organization ID --by NAME --reason WORDS [--hours N | --end]

The organization reads in its audit who was admitted, by whom, why, until when, and every request.
The account has a second factor and belongs to no organization; nothing is changed with it.
"""

from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError

from records.errors import BookError
from records.management.by_operator import ask_by_and_reason, by_and_reason, owner
from records.models.people import LONGEST_ADMISSION
from records.services import operators
from records.services.times import instant

MOST_HOURS = int(LONGEST_ADMISSION.total_seconds()) // 3600


class Command(BaseCommand):
    """Runs as the tables' owner: nobody lets anybody in from inside the service."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Who, where, for how long, and why."""
        parser.add_argument("username")
        parser.add_argument("--organization", type=UUID, required=True, help="its id")
        ask_by_and_reason(parser, reason="what has to be looked at, and why")
        how = parser.add_mutually_exclusive_group()
        how.add_argument("--hours", type=int, default=4, help=f"1 to {MOST_HOURS}; 4 if left out")
        how.add_argument("--end", action="store_true", help="end it before its time")

    def handle(self, *args: Any, **options: Any) -> None:
        """Say until when."""
        using = owner()
        by, reason = by_and_reason(options)
        if not 1 <= options["hours"] <= MOST_HOURS:
            raise CommandError(f"--hours: expected 1 to {MOST_HOURS}")
        wanted = operators.Wanted(options["username"], options["organization"], by, reason)
        try:
            if options["end"]:
                operators.dismiss(wanted, using)
                self.stdout.write("ended")
            else:
                until = operators.admit(wanted, options["hours"], using)
                self.stdout.write(f"admitted until {instant(until)}")
        except BookError as error:
            raise CommandError(error.detail) from error
