"""Writes a client's whole book to one file, for another installation to take in.

take_out_book FILE --client ID --service WORDS --by NAME --reason WORDS [--drafts]

Stations, equipment, instruments that visits name, visits, sealed records as they stand with their
keys, files, limits, audit. No accounts and no tokens. What is sealed here afterwards is not in it.
"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError

from records.errors import BookError
from records.management.by_operator import ask_by_and_reason, by_and_reason, owner, words
from records.selectors.books import Wanted
from records.services import taking_out


class Command(BaseCommand):
    """Runs as the tables' owner: no role of the service reads all of it."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whose book, where to, on whose word."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--client", type=UUID, required=True, help="id of the client")
        parser.add_argument(
            "--service", required=True, help="what this installation is called: https://…"
        )
        ask_by_and_reason(parser, reason="on whose word, and why")
        parser.add_argument(
            "--drafts",
            action="store_true",
            help="with visits that are not sealed: the contractor's, where it moves as well",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Say what went into it."""
        by, reason = by_and_reason(options)
        wanted = Wanted(options["client"], words(options, "service"), options["drafts"])
        try:
            book = taking_out.take_out(wanted, options["file"], by, reason, owner())
        except BookError as error:
            raise CommandError(error.detail) from error
        except OSError as error:
            raise CommandError(f"{options['file']}: {error.strerror}") from error
        told = ", ".join(f"{count} {path[7:-6]}" for path, count in book.counts.items() if count)
        self.stdout.write(f"{book.client.name}: {told.replace('_', ' ')}")
        for head in book.heads:
            self.stdout.write(f"{head['code']}: record {head['number']}, SHA-256 {head['digest']}")
