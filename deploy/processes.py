"""The commands of the service's processes, in one place for demo, tests and installations."""

import sys

PYTHON = sys.executable
MANAGE = (PYTHON, "manage.py")

# Workers do not talk to each other: each would keep queues that nobody empties.
WORKER = (
    *(PYTHON, "-m", "celery", "--app=deploy.celery", "worker", "--loglevel=INFO"),
    *("--without-gossip", "--without-mingle", "--without-heartbeat"),
)

RELAY = (*MANAGE, "relay")


def web(address: str, *, workers: int, threads: int) -> tuple[str, ...]:
    """Answer the web server's command, listening on address."""
    return (
        *(PYTHON, "-m", "gunicorn", "deploy.wsgi", f"--bind={address}"),
        *(
            f"--workers={workers}",
            f"--threads={threads}",
            "--worker-class=deploy.web_worker.SharingWorker",
        ),
        "--config=python:deploy.web_server",
        "--preload",  # imported once, before the workers are forked
        "--no-control-socket",  # it would lie in the user's home, one for all services
    )
