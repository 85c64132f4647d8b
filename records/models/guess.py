"""How often something was tried, so that nobody tries for ever."""

from django.db import models


class Guess(models.Model):
    """Guesses of one kind by one address or at one account, since the window began."""

    pk = models.CompositePrimaryKey("what", "whom")
    what = models.CharField(max_length=40)
    whom = models.BinaryField(max_length=32, help_text="A digest: names are not kept.")
    count = models.PositiveIntegerField()
    until = models.DateTimeField(db_index=True)
