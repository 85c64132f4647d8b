"""Spreadsheets of stations and equipment come in: read, checked, then written at once."""

import django.db.models.deletion
import records.models.base
import records.models.fields
from django.conf import settings
from django.db import migrations, models

ACTIONS = (
    "added", "changed", "taken out of service", "finding answered", "file added", "file removed",
    "signed", "signature withdrawn", "signature void", "withdrawn", "sealed", "limit set",
    "limit removed", "interval set", "interval removed", "report schedule set",
    "report schedule ended", "report asked for", "calendar made", "calendar revoked", "token made",
    "token revoked", "enrolment code made", "device enrolled", "person invited", "role changed",
    "person removed", "second factor removed", "operator admitted", "operator dismissed",
    "operator looked", "contractor appointed", "appointment ended", "book taken out",
    "book taken in",
    "spreadsheet imported",
)
KINDS = (
    "site", "pump", "motor", "drive", "sensor", "vessel", "pump set", "instrument",
    "organization", "event", "rule setting", "interval setting", "report schedule", "report",
    "calendar", "token", "person",
    "spreadsheet",
)


def listed(column, words):
    """A column's check with all its words."""
    name = f"records_auditentry_{column}_check"
    quoted = ", ".join(f"'{word}'" for word in words)
    return f"""
ALTER TABLE records_auditentry DROP CONSTRAINT {name};
ALTER TABLE records_auditentry ADD CONSTRAINT {name} CHECK ({column} IN ({quoted}));
"""


# Lines belong to whom their import belongs to.
LINES = """
ALTER TABLE records_importline ADD CONSTRAINT import_line_with_its_contractor
  FOREIGN KEY (of_id, contractor_id) REFERENCES records_import (row, contractor_id)
  ON DELETE CASCADE;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0020_what_was_done_last_is_found_at_once'),
    ]

    operations = [
        migrations.AlterField(
            model_name='auditentry',
            name='action',
            field=records.models.fields.WordField(choices=[(word, word) for word in ACTIONS]),
        ),
        migrations.AlterField(
            model_name='auditentry',
            name='kind',
            field=records.models.fields.WordField(choices=[(word, word) for word in KINDS]),
        ),
        migrations.CreateModel(
            name='Import',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.TextField(help_text='What the file was called.')),
                ('sha256', models.BinaryField(help_text='Of the file, which is kept under it.', max_length=32)),
                ('size', models.PositiveIntegerField()),
                ('state', records.models.fields.WordField(choices=[('columns', 'columns'), ('to check', 'to check'), ('checked', 'checked'), ('to write', 'to write'), ('written', 'written'), ('stopped', 'stopped')], default='columns')),
                ('layout', models.JSONField(default=list, help_text='Sheets, and what their columns mean.')),
                ('layout_digest', models.BinaryField(help_text='Same headings, same digest.', max_length=32)),
                ('notes', models.JSONField(default=list, help_text='What was noticed while opening it.')),
                ('counts', models.JSONField(default=dict, help_text='Rows by verdict, when checked.')),
                ('done', models.PositiveIntegerField(default=0, help_text='Rows so far of what is under way.')),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('problem', models.TextField(default='')),
                ('contractor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('created_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='ImportLine',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('position', models.PositiveIntegerField(help_text='In the order of writing.')),
                ('sheet', models.TextField()),
                ('number', models.PositiveIntegerField(help_text='Of the row in its sheet.')),
                ('kind', models.TextField()),
                ('name', models.TextField(help_text='Station and tag.')),
                ('verdict', records.models.fields.WordField(choices=[('created', 'created'), ('changed', 'changed'), ('same', 'same'), ('refused', 'refused')])),
                ('subject', models.UUIDField(null=True)),
                ('revision', models.PositiveIntegerField(help_text='Of what is changed.', null=True)),
                ('document', models.JSONField(help_text='To be added, or a merge patch.', null=True)),
                ('told', models.JSONField(default=list, help_text='What is refused, or from what to what.')),
                ('contractor', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('of', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='records.import')),
            ],
        ),
        migrations.AddIndex(
            model_name='import',
            index=models.Index(fields=['contractor', '-row'], name='imports_newest_first'),
        ),
        migrations.AddIndex(
            model_name='import',
            index=models.Index(condition=models.Q(('state__in', ['to check', 'to write'])), fields=['state'], name='imports_under_way'),
        ),
        migrations.AddConstraint(
            model_name='import',
            constraint=models.UniqueConstraint(fields=('contractor', 'id'), name='import_id_in_contractor'),
        ),
        migrations.AddIndex(
            model_name='importline',
            index=models.Index(fields=['of', 'verdict', 'position'], name='import_lines_by_verdict'),
        ),
        migrations.AddConstraint(
            model_name='importline',
            constraint=models.UniqueConstraint(fields=('of', 'position'), name='import_line_once'),
        ),
        migrations.AddConstraint(
            model_name='import',
            constraint=models.UniqueConstraint(fields=('row', 'contractor'), name='import_with_its_contractor'),
        ),
        migrations.RunSQL(
            listed("action", ACTIONS) + listed("kind", KINDS) + LINES, migrations.RunSQL.noop
        ),
    ]
