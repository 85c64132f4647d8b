"""Limits of rules as a contractor's office has set them for a client."""

from typing import Literal

from django.db import models
from django.db.models import F, Q

from records.models.base import InForce, Row, ended_by_somebody
from records.models.fields import WordField

Tighter = Literal["lower", "higher"]


class RuleSetting(InForce, Row):
    """One limit of one rule for one client, from when it was set until it was removed.

    Rows are ended, never changed or deleted: who set what, and when, stays readable. The
    catalogue's own limit at that time stands beside it, so that the database itself can tell a
    looser limit and ask for its reason.
    """

    rule = models.TextField()
    limit = models.TextField()
    value = models.TextField(help_text="Digits as entered.")
    unit = models.TextField()
    si = models.FloatField()
    tighter = WordField(Tighter)
    catalogue_si = models.FloatField(help_text="The catalogue's own limit when this was set.")
    reason = models.TextField(default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["contractor", "id"], name="rule_setting_id_in_contractor"
            ),
            models.UniqueConstraint(
                fields=["contractor", "client", "rule", "limit"],
                condition=Q(ended_at=None),
                name="one_setting_in_force_a_limit",
            ),
            models.CheckConstraint(
                condition=Q(tighter="lower", si__lte=F("catalogue_si"))
                | Q(tighter="higher", si__gte=F("catalogue_si"))
                | ~Q(reason=""),
                name="looser_limit_has_a_reason",
            ),
            ended_by_somebody("rule_setting"),
        ]

    @property
    def looser(self) -> bool:
        """Whether it lets more pass than the catalogue's own limit did."""
        over = self.si - self.catalogue_si
        return over > 0 if self.tighter == "lower" else over < 0

    @property
    def way(self) -> str:
        """Which way it differs from the catalogue's own limit, in words."""
        if self.si == self.catalogue_si:
            return "the same"
        return "looser" if self.looser else "tighter"
