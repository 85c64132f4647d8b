"""Runs several of Django's commands in one process: starting Django takes longer than most do.

python -m deploy.commands migrate --database=owner -- load_demo --json FILE
"""

import os
import sys

import django
from django.core.management import call_command

BETWEEN = "--"


def split(words: list[str]) -> list[list[str]]:
    """Answer the commands that stand between the separators."""
    commands: list[list[str]] = [[]]
    for word in words:
        if word == BETWEEN:
            commands.append([])
        else:
            commands[-1].append(word)
    return commands


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    django.setup()
    for name, *words in split(sys.argv[1:]):
        call_command(name, *words)
