"""Second factors, as whoever runs the service sees to them.

second_factor forget NAME: takes a person's away, who has lost app and recovery codes. Make sure
that it is that person who asks. second_factor encrypt: encrypts all of them anew under the first
key of MFA_KEY, so that the others can be dropped.
"""

from argparse import ArgumentParser
from typing import Any

from cryptography.fernet import InvalidToken
from django.core.management.base import BaseCommand, CommandError

from records.management.by_operator import owner
from records.models import User
from records.services import second_factor


class Command(BaseCommand):
    """Runs as the tables' owner where there is one."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What to do, and of whom."""
        parser.add_argument("what", choices=["forget", "encrypt"])
        parser.add_argument("name", nargs="?", default="", help="user name, for forget")

    def handle(self, *args: Any, **options: Any) -> None:
        """Do it and say how much it was."""
        using = owner()
        if options["what"] == "encrypt":
            self.stdout.write(f"{_encrypt_again(using)} encrypted anew")
            return
        user = User.objects.using(using).filter(username__iexact=options["name"]).first()
        if user is None:
            raise CommandError("there is nobody of this user name")
        gone = second_factor.forget(user.pk, using)
        self.stdout.write(f"{user.username}: {'taken away' if gone else 'there was none'}")


def _encrypt_again(using: str) -> int:
    try:
        return second_factor.encrypt_again(using)
    except InvalidToken:
        raise CommandError(
            "MFA_KEY: expected every key that is in use; one of the second factors is encrypted"
            " under another"
        ) from None
