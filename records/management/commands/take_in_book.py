"""Takes in a client's whole book, as another installation wrote it with take_out_book.

take_in_book FILE --contractor ID --by NAME --reason WORDS [--check]
             [--fingerprint KID …] [--heads FILE]

Everything is checked first: seals, links, heads, files, what the tables say beside what is sealed,
what could not be entered here, and what is here already. Then all of it is written, or nothing; the
same file again changes nothing. The contractor looks after the stations from today: one that is
here, or the one in the file. What others performed stays theirs, and is handed on to it.
"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError

from records.errors import BookError
from records.management.by_operator import ask_by_and_reason, by_and_reason, owner
from records.services import taking_in
from records.services.times import instant


class Command(BaseCommand):
    """Runs as the tables' owner: no role of the service writes for other organizations."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which file, who goes on with the work, on whose word, and what to trust."""
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--contractor", type=UUID, required=True, help="id of who looks after the stations here"
        )
        ask_by_and_reason(parser, reason="on whose word, and why")
        parser.add_argument("--check", action="store_true", help="say what would be done, and stop")
        parser.add_argument(
            "--fingerprint", action="append", default=[], metavar="KID",
            help="trust this key alone and those it endorses, as printed on a record's PDF",
        )  # fmt: skip
        parser.add_argument("--heads", type=Path, help="heads.json that the client kept")

    def handle(self, *args: Any, **options: Any) -> None:
        """Say what was checked, and what became of it."""
        by, reason = by_and_reason(options)
        wanted = taking_in.Wanted(
            contractor=options["contractor"],
            operator=by,
            reason=reason,
            fingerprints=tuple(options["fingerprint"]),
            heads=options["heads"],
            only_check=options["check"],
        )
        try:
            taken = taking_in.take_in(options["file"], wanted, owner())
        except BookError as error:
            raise CommandError(error.detail) from error
        except OSError as error:
            raise CommandError(f"{error.filename or options['file']}: {error.strerror}") from error
        self.stdout.write(taken.checked.rstrip())
        if taken.before:
            self.stdout.write(f"This book was taken in at {instant(taken.before)}: nothing is new.")
            return
        self._tell(taken, "would be added" if options["check"] else "added")

    def _tell(self, taken: taking_in.Taken, done: str) -> None:
        for name, (new, here) in taken.counts.items():
            if new or here:
                also = f", {here} here already" if here else ""
                self.stdout.write(f"{name.replace('_', ' ')}: {new} {done}{also}")
        if taken.not_accepted:
            words = "answers of drafts accept a finding there: here nobody has, so that it is open"
            self.stdout.write(f"{taken.not_accepted} {words}")
        self.stdout.write(f"{taken.client}, from {taken.service}: {', '.join(taken.sites)}")
