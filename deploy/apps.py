"""The Django app that holds what every process of this deployment does at its start."""

from django.apps import AppConfig
from django.db.backends.signals import connection_created


class DeployConfig(AppConfig):
    """Bind the tasks to their queue and guard the database's second wall."""

    name = "deploy"

    def ready(self) -> None:
        """Run once per process, when Django is set up."""
        from deploy import celery  # noqa: F401  # shared tasks find their queue through it
        from deploy.login_role import refuse_powerful_login

        connection_created.connect(refuse_powerful_login, dispatch_uid="refuse_powerful_login")
