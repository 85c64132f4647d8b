"""Makes the readings of sealed records anew from their texts, where columns or words have changed.

Without it they are made each time that they are sent, which takes longer. Safe to break off.
"""

from typing import Any

from django.core.management.base import BaseCommand

from records.management.by_operator import owner
from records.services import readings


class Command(BaseCommand):
    """Runs as the tables' owner: it goes through the records of all organizations."""

    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        """Say how many there were."""
        self.stdout.write(f"records whose readings were made anew: {readings.rewrite(owner())}")
