"""Makes the service's signing key known to the book, so that its seals can be checked."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from records.services import keys


class Command(BaseCommand):
    """Registers the public half of SIGNING_KEY_FILE; again changes nothing."""

    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        """Runs as the tables' owner: the service itself cannot add keys."""
        using = "owner" if "owner" in settings.DATABASES else "default"
        row, new = keys.register(keys.signing_key(), using=using)
        self.stdout.write(f"{'registered' if new else 'already known'}: {row.kid}")
