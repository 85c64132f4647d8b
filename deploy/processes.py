"""The commands of the service's processes, in one place for demo, tests and installations."""

import sys

PYTHON = sys.executable
MANAGE = (PYTHON, "manage.py")

# Workers do not talk to each other: each would keep queues that nobody empties.
WORKER = (PYTHON, "-m", "celery", "--app=deploy.celery", "worker", "--without-gossip")
WORKER += ("--without-mingle", "--without-heartbeat", "--loglevel=INFO")

RELAY = (*MANAGE, "relay")


def web(address: str, *, workers: int, threads: int) -> tuple[str, ...]:
    """Answer the web server's command, listening on address."""
    return (
        *(PYTHON, "-m", "gunicorn", "deploy.wsgi", f"--bind={address}"),
        *(f"--workers={workers}", f"--threads={threads}", "--worker-class=gthread"),
    )
