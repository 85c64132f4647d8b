"""Document, readings and values of a record are of the same contractor and client as the record."""

from django.db import migrations, models

MADE = ("recorddocument", "recordreadings", "recordedvalue")


def parties_stay_together():
    for name in MADE:
        yield (
            f"ALTER TABLE records_{name} ADD CONSTRAINT {name}_same_parties"
            " FOREIGN KEY (record_id, contractor_id, client_id)"
            " REFERENCES records_record (row, contractor_id, client_id)"
        )


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0013_verification_tasks_are_due_again'),
    ]

    operations = [
        migrations.AddConstraint(
            'record',
            models.UniqueConstraint(fields=('row', 'contractor', 'client'), name='record_of_its_parties'),
        ),
        migrations.RunSQL([*parties_stay_together()], migrations.RunSQL.noop),
    ]
