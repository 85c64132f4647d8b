"""Second factors at rest: encrypted, under keys that can be exchanged; taken away when lost."""

from functools import lru_cache

from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, MultiFernet
from django.conf import settings
from django.db import transaction

from records.errors import NotFound
from records.models import Membership, User
from records.services import audit

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


def forget(username: str, operator: str, reason: str, using: str) -> bool:
    """Take a person's second factor away, who then sets up another; False where there was none.

    The audit of every organization that the person belongs to says who did it, and why.
    """
    with transaction.atomic(using=using):
        user = User.objects.using(using).filter(username__iexact=username).first()
        if user is None:
            raise NotFound("there is nobody of this user name")
        gone, _ = Authenticator.objects.using(using).filter(user=user).delete()
        held = Membership.objects.using(using).filter(user=user, ended_at=None)
        for member in held if gone else ():
            audit.write_by_operator(
                member.organization_id, operator, "second factor removed",
                audit.About("person", user.id, str(user)), reason=reason, using=using,
            )  # fmt: skip
    return bool(gone)
