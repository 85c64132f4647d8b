"""The worker's app: celery -A deploy.celery worker."""

import os
from typing import Any

from celery import Celery
from celery.signals import setup_logging, worker_init

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
app = Celery("stationbook")
app.config_from_object("deploy.settings:CELERY")
app.autodiscover_tasks(["records"])


def check_before_work(**_: Any) -> None:
    """Refuse what the web process refuses."""
    from deploy.login_role import check_at_start
    from deploy.production import refuse_defaults

    refuse_defaults()
    check_at_start()


def keep_settings(**_: Any) -> None:
    """Leave the log to LOGGING: the library would add handlers and a form of its own."""


setup_logging.connect(keep_settings)
worker_init.connect(check_before_work)
