"""Second factors at rest: encrypted, under keys that can be exchanged."""

from functools import lru_cache

from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, MultiFernet
from django.conf import settings
from django.db import transaction

# What an authenticator app and a sheet of recovery codes are made from.
SECRETS = ("secret", "seed")


def encrypt(text: str) -> str:
    """Under the first key of MFA_KEY."""
    return _box(tuple(settings.MFA_KEYS)).encrypt(text.encode()).decode()


def decrypt(text: str) -> str:
    """Under whichever key of MFA_KEY it was encrypted with; `InvalidToken` for none of them."""
    return _box(tuple(settings.MFA_KEYS)).decrypt(text.encode()).decode()


@lru_cache(maxsize=4)
def _box(keys: tuple[str, ...]) -> MultiFernet:
    return MultiFernet([Fernet(key) for key in keys])


def encrypt_again(using: str = "default") -> int:
    """Encrypt every secret anew under the first key, so that the others can be dropped.

    Answers how many authenticators that were.
    """
    box = _box(tuple(settings.MFA_KEYS))
    with transaction.atomic(using=using):
        held = Authenticator.objects.using(using).select_for_update()
        rows = [row for row in held if any(name in row.data for name in SECRETS)]
        for row in rows:
            known = {name: row.data[name] for name in SECRETS if name in row.data}
            row.data |= {name: box.rotate(each.encode()).decode() for name, each in known.items()}
            row.save(update_fields=["data"])
    return len(rows)


def forget(user_id: object, using: str = "default") -> int:
    """Take a person's second factor away, who then sets up another; answers how many rows."""
    gone, _ = Authenticator.objects.using(using).filter(user_id=user_id).delete()
    return int(gone)
