"""The audit has a word for a second factor that the operator takes away, and none that is unused."""

import records.models.fields
from django.db import migrations

ACTIONS = (
    "added", "changed", "taken out of service", "finding answered", "file added", "file removed",
    "signed", "signature withdrawn", "signature void", "withdrawn", "sealed", "limit set",
    "limit removed", "token made", "token revoked", "enrolment code made", "device enrolled",
    "person invited", "role changed", "person removed", "second factor removed",
    "operator admitted", "operator dismissed", "operator looked", "contractor appointed",
    "appointment ended",
)

CHECK = f"""
ALTER TABLE records_auditentry
  DROP CONSTRAINT records_auditentry_action_check,
  ADD CONSTRAINT records_auditentry_action_check CHECK (action IN {ACTIONS});
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0010_readings_stand_beside_each_record'),
    ]

    operations = [
        migrations.AlterField(
            'auditentry', 'action',
            records.models.fields.WordField(choices=[(word, word) for word in ACTIONS]),
        ),
        migrations.RunSQL(CHECK, migrations.RunSQL.noop),
    ]
