"""Exchanges the signing key: a new one is made, endorsed by the present one, and put in its place.

rotate_signing_key

What was interrupted is finished by the next run; while one is at work a second one refuses. Where
SIGNING_KEY_FILE cannot be written, run it on a copy and put that in place. Other machines get the
new file from you: until then they answer 503 to whoever seals, and nothing is lost.
"""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from joserfc.jwk import OKPKey

from records.errors import BookError
from records.management.by_operator import owner
from records.services import keys
from records.services.times import instant
from records.whole_files import alone_in, synchronize_folder, write_whole


class Command(BaseCommand):
    """Runs as the tables' owner: the service itself cannot add keys."""

    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        """The book knows the new key before a process can seal with it."""
        using = owner()
        file = Path(settings.SIGNING_KEY_FILE)
        following = file.with_name(f"{file.name}.next")
        try:
            # Else the next key of one could be put in place by the other, and lost.
            with alone_in(file.parent):
                old = keys.signing_key()
                row = keys.rotate(old, _made(following), using)
                following.replace(file)
                synchronize_folder(file.parent)
        except BlockingIOError as error:
            words = f"another run is at work in {file.parent}: nothing was changed by this one"
            raise CommandError(words) from error
        except BookError as error:
            raise CommandError(error.detail) from error
        except (OSError, ValueError) as error:
            raise CommandError(f"{following}: {error}") from error
        self.stdout.write(
            f"{keys.key_id(old)} seals no more; {row.kid} does, from {instant(row.valid_from)} on."
            f" It lies in {file}; the one before is gone from there."
        )


def _made(file: Path) -> OKPKey:
    """The next key: made now, or by a run that broke off. It is on the disk before it is known."""
    if not file.exists():
        write_whole(file, OKPKey.generate_key("Ed25519").as_pem(private=True))
    return OKPKey.import_key(file.read_bytes())
