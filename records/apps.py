"""The Django app that keeps the book."""

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate


class RecordsConfig(AppConfig):
    """Registers the models, and builds the wall after every migration."""

    name = "records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the wall rebuilt whenever the tables may have changed."""
        post_migrate.connect(_build_wall, sender=self)


def _build_wall(using: str, plan: Any = None, **_: Any) -> None:
    from records import wall

    wall.build(connections[using])
