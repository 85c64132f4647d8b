"""Makes the service's first signing key known to the book, so that its seals can be checked.

register_signing_key [--last-is-lost]

Every later key comes by rotate_signing_key. Only where the key before is lost, and can endorse
nothing, --last-is-lost lets this one in: tell your clients its fingerprint anew.
"""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.errors import BookError
from records.management.by_operator import owner
from records.services import keys


class Command(BaseCommand):
    """Registers the public half of SIGNING_KEY_FILE; again changes nothing."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whether the key before is gone."""
        parser.add_argument(
            "--last-is-lost", action="store_true", help="register without an endorsement"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Runs as the tables' owner: the service itself cannot add keys."""
        using = owner()
        lost = options["last_is_lost"]
        try:
            row, new = keys.register(keys.signing_key(), using=using, last_is_lost=lost)
        except BookError as error:
            raise CommandError(error.detail) from error
        self.stdout.write(f"{'registered' if new else 'already known'}: {row.kid}")
