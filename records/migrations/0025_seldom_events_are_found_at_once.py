"""Events of a state or a kind that is seldom are found without reading all that came after them."""

from django.contrib.postgres.operations import AddIndexConcurrently
from django.db import migrations, models

# One that gave up waiting leaves half an index, which the next try takes away.
AWAY = "DROP INDEX CONCURRENTLY IF EXISTS {}"


class Migration(migrations.Migration):
    atomic = False  # what is built beside those who write is built outside of a transaction

    dependencies = [("records", "0024_who_asked_is_who_imports")]

    operations = [
        migrations.RunSQL(AWAY.format("event_newest_of_state"), migrations.RunSQL.noop),
        AddIndexConcurrently(
            "event",
            models.Index(fields=["contractor", "state", "-row"], name="event_newest_of_state"),
        ),
        migrations.RunSQL(AWAY.format("event_newest_of_kind"), migrations.RunSQL.noop),
        AddIndexConcurrently(
            "event",
            models.Index(fields=["contractor", "kind", "-row"], name="event_newest_of_kind"),
        ),
    ]
