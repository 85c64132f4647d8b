"""Lets the first person into an organization: with them an installation begins.

invite_person --new-organization NAME --role office --name NAME --address https://book.example EMAIL
prints a link to choose a password, good once and for a week, to be handed over.
"""

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from records.errors import BookError
from records.models import Organization
from records.services import people


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
        where.add_argument("--organization", help="id of one that is there")
        where.add_argument("--new-organization", help="name of one to be added")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the link."""
        using = "owner" if "owner" in settings.DATABASES else "default"
        base = options["address"].rstrip("/")
        given = {name: options[name] for name in ("name", "email", "role")}
        try:
            invitation = people.invite_by_operator(
                _organization(options, using), given, lambda path: base + path, using
            )
        except BookError as error:
            told = "; ".join(f"{each.pointer}: {each.detail}" for each in error.problems)
            raise CommandError(told or error.detail) from error
        self.stdout.write(f"{invitation.link}")


def _organization(options: dict[str, Any], using: str) -> Organization:
    rows = Organization.objects.using(using)
    if options["new_organization"]:
        return rows.create(name=options["new_organization"])
    try:
        return rows.get(id=options["organization"])
    except (Organization.DoesNotExist, ValidationError):
        raise CommandError("there is no organization of this id") from None
