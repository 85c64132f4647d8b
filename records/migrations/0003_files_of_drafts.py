"""Files of drafts: they come in parts, and a wrong one goes while nobody has signed."""

import django.db.models.deletion
import records.models.base
import records.models.fields
from django.conf import settings
from django.db import migrations, models

from records.migrations._guards import refusal, rows_are

# The parts go with their upload, and carry its parties. Photographs and archives do not shrink.
TOGETHER = """
ALTER TABLE records_upload ADD CONSTRAINT upload_same_parties
  FOREIGN KEY (event_id, contractor_id, client_id)
  REFERENCES records_event (row, contractor_id, client_id) ON UPDATE CASCADE;
ALTER TABLE records_uploadpart ADD CONSTRAINT uploadpart_same_parties
  FOREIGN KEY (upload_id, contractor_id, client_id)
  REFERENCES records_upload (row, contractor_id, client_id) ON UPDATE CASCADE ON DELETE CASCADE;
ALTER TABLE records_uploadpart ALTER COLUMN content SET STORAGE EXTERNAL;
"""

SIGNED = """EXISTS (SELECT FROM records_event WHERE row = OLD.event_id AND state <> 'draft')
     OR EXISTS (SELECT FROM records_signature
                 WHERE event_id = OLD.event_id AND void_since IS NULL)"""


def removable_until_signed():
    yield refusal(
        "refuse_removal_of_what_was_signed", SIGNED, "event is signed, sealed or withdrawn",
        answer="OLD",
    )
    for part in ("attachment", "trace"):
        table = f"records_{part}"
        yield f"DROP TRIGGER {table}_is_kept ON {table}"
        yield from rows_are(table, "not_changed")
        yield (
            f"CREATE TRIGGER {part}_of_signed_event_is_kept BEFORE DELETE ON {table}"
            " FOR EACH ROW EXECUTE FUNCTION refuse_removal_of_what_was_signed()"
        )


class Migration(migrations.Migration):
    dependencies = [("records", "0002_guards")]

    operations = [
        migrations.CreateModel(
            name='Upload',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False)),
                ('kind', records.models.fields.WordField(choices=[('attachment', 'attachment'), ('trace', 'trace')])),
                ('purpose', records.models.fields.WordField(choices=[('motor_plate', 'motor plate'), ('drive_plate', 'drive plate'), ('terminal_links', 'terminal links'), ('sensor_plate', 'sensor plate'), ('gauge', 'gauge'), ('wiring', 'wiring'), ('settings_file', 'settings file'), ('certificate', 'certificate'), ('other', 'other')], null=True)),
                ('name', models.TextField(default='')),
                ('size', models.PositiveBigIntegerField(help_text='Bytes that were announced.')),
                ('sha256', models.BinaryField(help_text='As announced.', max_length=32)),
                ('received', models.PositiveBigIntegerField(default=0)),
                ('parts', models.PositiveIntegerField(default=0)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('completed_at', models.DateTimeField(null=True)),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('created_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('event', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='records.event')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('event', 'id'), name='upload_id_in_event'), models.UniqueConstraint(fields=('row', 'contractor', 'client'), name='upload_with_its_parties'), models.CheckConstraint(condition=models.Q(('received__lte', models.F('size'))), name='upload_no_longer_than_announced'), models.CheckConstraint(condition=models.Q(('completed_at', None), ('received', models.F('size')), _connector='OR'), name='complete_upload_has_all_its_bytes'), models.CheckConstraint(condition=models.Q(('kind', 'trace'), ('purpose__isnull', False), _connector='OR'), name='attachment_under_way_has_a_purpose')],
                'indexes': [models.Index(condition=models.Q(('completed_at', None)), fields=['contractor'], name='uploads_under_way'), models.Index(fields=['changed_at'], name='upload_by_last_change')],
            },
        ),
        migrations.CreateModel(
            name='UploadPart',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False)),
                ('starts_at', models.PositiveBigIntegerField()),
                ('content', models.BinaryField()),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('upload', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.upload')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('upload', 'starts_at'), name='upload_part_once')],
            },
        ),
        migrations.RunSQL([TOGETHER, *removable_until_signed()], migrations.RunSQL.noop),
    ]
