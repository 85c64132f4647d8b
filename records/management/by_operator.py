"""What commands of whoever runs the service have in common."""

from argparse import ArgumentParser
from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError


def owner() -> str:
    """The connection of the tables' owner, where there is one."""
    return "owner" if "owner" in settings.DATABASES else "default"


def ask_by_and_reason(parser: ArgumentParser, *, reason: str) -> None:
    """`--by` and `--reason`, as the audit tells them to the organization."""
    parser.add_argument("--by", required=True, help="your own name, for the audit")
    parser.add_argument("--reason", required=True, help=reason)


def by_and_reason(options: Mapping[str, Any]) -> tuple[str, str]:
    """Who does it, and why; `CommandError` where either is blank."""
    by, reason = (words(options, name) for name in ("by", "reason"))
    return by, reason


def words(options: Mapping[str, Any], name: str) -> str:
    """An option's words; `CommandError` where there are none."""
    said = " ".join(options[name].split())
    if not said:
        raise CommandError(f"--{name.replace('_', '-')}: expected words")
    return said
