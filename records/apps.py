"""The Django app that keeps the book."""

from collections.abc import Iterable
from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.migrations import Migration
from django.db.models.signals import post_migrate

Plan = Iterable[tuple[Migration, bool]]
"""Migrations, and whether each was undone."""


class RecordsConfig(AppConfig):
    """Registers the models, and builds the wall after every migration."""

    name = "records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the wall rebuilt whenever the tables may have changed."""
        post_migrate.connect(_build_wall, sender=self)


def _build_wall(using: str, plan: Plan = (), **_: Any) -> None:
    """Migrated back, a database keeps the wall that it has: today's may name what is there no more.

    A table that comes back by it has none, and is closed to everybody but its owner.
    """
    from records import wall

    if not any(is_undone for _, is_undone in plan):
        wall.build(connections[using])
