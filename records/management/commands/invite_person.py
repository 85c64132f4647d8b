"""Lets the first person into an organization: with them an installation begins.

invite_person EMAIL --name NAME --role office --new-organization NAME
              --address https://book.example --by NAME --reason WORDS
prints a link to choose a password, good once and for a week, to be handed over. The organization
reads in its audit who was invited, by whom, and why.
"""

from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from records.errors import BookError
from records.management.by_operator import ask_by_and_reason, by_and_reason, owner, words
from records.models import Organization
from records.services import organizations, people


class Command(BaseCommand):
    """Runs as the tables' owner: the service itself adds people for an office alone."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whom, into which organization, and where the service answers."""
        parser.add_argument("email")
        parser.add_argument("--name", required=True, help="the person's full name")
        parser.add_argument("--role", required=True, choices=["office", "technician", "client"])
        parser.add_argument("--address", required=True, help="https://… that the service is at")
        where = parser.add_mutually_exclusive_group(required=True)
        where.add_argument("--organization", type=UUID, help="id of one that is there")
        where.add_argument("--new-organization", help="name of one to be added")
        ask_by_and_reason(parser, reason="why this person is let in")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the link."""
        using, base = owner(), _address(options["address"])
        by, reason = by_and_reason(options)
        given = {name: options[name] for name in ("name", "email", "role")}
        try:
            with transaction.atomic(using=using):  # no organization without its first person
                invitation = people.invite_by_operator(
                    _organization(options, using), given, lambda path: base + path,
                    by=by, reason=reason, using=using,
                )  # fmt: skip
        except BookError as error:
            told = "; ".join(f"{each.pointer}: {each.detail}" for each in error.problems)
            raise CommandError(told or error.detail) from error
        self.stdout.write(f"{invitation.link}")


def _address(given: str) -> str:
    """Where the service answers; a link to elsewhere would be handed over unseen."""
    if not given.startswith(("https://", "http://")):
        raise CommandError(f"--address: expected https://…, got {given}")
    return given.rstrip("/")


def _organization(options: dict[str, Any], using: str) -> Organization:
    if options["new_organization"] is None:
        return organizations.known(options["organization"], using)
    name = words(options, "new_organization")
    return Organization.objects.using(using).create(name=name)
