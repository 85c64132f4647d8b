"""Entries of one day are found without reading all that came after them."""

from django.contrib.postgres.operations import AddIndexConcurrently
from django.db import migrations, models

# One that gave up waiting leaves half an index, which the next try takes away.
AWAY = "DROP INDEX CONCURRENTLY IF EXISTS {}"


class Migration(migrations.Migration):
    atomic = False  # what is built beside those who write is built outside of a transaction

    dependencies = [("records", "0031_conductors_that_share_a_current")]

    operations = [
        migrations.RunSQL(AWAY.format("audit_by_time"), migrations.RunSQL.noop),
        AddIndexConcurrently(
            "auditentry", models.Index(fields=["contractor", "at"], name="audit_by_time")
        ),
    ]
