"""What is shown once is made once: a form that comes a second time makes no second secret."""

from typing import Any, TypeVar
from uuid import UUID

from django.db import IntegrityError, models, transaction
from psycopg.errors import UniqueViolation

from records.errors import Conflict

Row = TypeVar("Row", bound=models.Model)
_MADE = (
    "this form came before, and what it made was shown then: it stands in the list. "
    "Where it was not copied, revoke it and make another"
)


def create(
    model: type[Row], identity: UUID | None, *, using: str = "default", **columns: Any
) -> Row:
    """A row whose secret is told in this answer alone; `identity` is the id of the form.

    `Conflict` where that form has made one already: its secret is not known any more.
    """
    rows = model._default_manager.using(using)
    if identity is None:
        return rows.create(**columns)
    try:
        with transaction.atomic(using=using):
            return rows.create(id=identity, **columns)
    except IntegrityError as error:
        if not _is_taken(error):
            raise
        raise Conflict(_MADE) from None


def _is_taken(error: IntegrityError) -> bool:
    """Whether the id was used before, were it by another house, whose rows nobody sees here."""
    cause = error.__cause__
    return isinstance(cause, UniqueViolation) and (cause.diag.constraint_name or "").endswith(
        "_pkey"
    )
