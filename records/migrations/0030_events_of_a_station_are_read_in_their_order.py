"""A station's newest events are found without reading all of its others.

The index of the foreign key alone gave them in no order; the new one takes its place.
"""

from django.contrib.postgres.operations import AddIndexConcurrently
import django.db.models.deletion
from django.db import migrations, models

# One that gave up waiting leaves half an index, which the next try takes away.
AWAY = "DROP INDEX CONCURRENTLY IF EXISTS {}"
OF_THE_KEY = "records_event_site_id_0e700dc8"
BACK = f"CREATE INDEX CONCURRENTLY IF NOT EXISTS {OF_THE_KEY} ON records_event (site_id)"


class Migration(migrations.Migration):
    atomic = False  # what is built beside those who write is built outside of a transaction

    dependencies = [("records", "0029_whether_records_were_handed_on_is_looked_up")]

    operations = [
        migrations.RunSQL(AWAY.format("event_newest_of_site"), migrations.RunSQL.noop),
        AddIndexConcurrently(
            "event", models.Index(fields=["site", "-row"], name="event_newest_of_site")
        ),
        migrations.SeparateDatabaseAndState(
            [migrations.RunSQL(AWAY.format(OF_THE_KEY), BACK)],
            [
                migrations.AlterField(
                    "event",
                    "site",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="events",
                        to="records.site",
                    ),
                )
            ],
        ),
    ]
