"""Second factors, as whoever runs the service sees to them.

second_factor forget NAME --by NAME --reason WORDS: takes a person's away, who has lost app and
recovery codes. Make sure that it is that person who asks; the audit tells their organization.
second_factor encrypt: encrypts all of them anew under the first key of MFA_KEY, so that the others
can be dropped.
"""

from argparse import ArgumentParser
from typing import Any

from cryptography.fernet import InvalidToken
from django.core.management.base import BaseCommand, CommandError

from records.errors import BookError
from records.management.by_operator import ask_by_and_reason, by_and_reason, owner
from records.services import second_factor


class Command(BaseCommand):
    """Runs as the tables' owner where there is one."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What to do, and of whom."""
        what = parser.add_subparsers(dest="what", required=True)
        forget = what.add_parser("forget", help="take a lost one away")
        forget.add_argument("name", help="user name")
        ask_by_and_reason(forget, reason="who asked for it, and how you know")
        what.add_parser("encrypt", help="encrypt all of them under the first key")

    def handle(self, *args: Any, **options: Any) -> None:
        """Do it and say how much it was."""
        if options["what"] == "encrypt":
            self.stdout.write(f"{_encrypt_again(owner())} encrypted anew")
            return
        by, reason = by_and_reason(options)
        try:
            gone = second_factor.forget(options["name"], by, reason, owner())
        except BookError as error:
            raise CommandError(error.detail) from error
        self.stdout.write(f"{options['name']}: {'taken away' if gone else 'there was none'}")


def _encrypt_again(using: str) -> int:
    try:
        return second_factor.encrypt_again(using)
    except InvalidToken:
        raise CommandError(
            "MFA_KEY: expected every key that is in use; one of the second factors is encrypted"
            " under another"
        ) from None
