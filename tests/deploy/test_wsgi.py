"""What is ready before workers are forked: they share it, and nobody's first page waits for it."""

import os
import subprocess
import sys

from tests import database

ASKED = (
    "import deploy.wsgi\n"
    "from records.pages import rules\n"
    "made = rules.rows.cache_info().misses\n"
    "rules.rows('entered')\n"
    "print(made, rules.rows.cache_info().misses)\n"
)


def test_the_rules_are_rendered_when_the_door_is_imported(
    transactional_db: None, service_environment: dict[str, str]
) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", ASKED], cwd=database.PROJECT, check=True, capture_output=True,
        text=True, env={**os.environ, **service_environment},
    )  # fmt: skip
    assert ran.stdout == "1 1\n"
