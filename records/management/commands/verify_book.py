"""Checks the whole book: every seal, link and key, every file by its digest.

verify_book [--heads FILE]

The same checks as verify.py's, of every record; besides, that each file that the book names is
there as it was. Ends with an error where anything is wrong.
"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.management.by_operator import owner
from records.services import whole_book
from records.verifier.telling import Unusable


class Command(BaseCommand):
    """Runs as the tables' owner: no role of the service reads all of it."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What somebody kept from before."""
        parser.add_argument("--heads", type=Path, help="heads.json of a bundle, or a record's JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        """Say what was checked."""
        heads: Path | None = options["heads"]
        try:
            kept = heads.read_bytes() if heads else None
            wrong = whole_book.verify(owner(), kept)
        except (OSError, Unusable) as error:
            raise CommandError(str(error)) from error
        if wrong:
            raise CommandError(f"{wrong} checks failed: what is printed above says which.")
