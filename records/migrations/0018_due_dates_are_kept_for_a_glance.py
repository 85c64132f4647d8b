"""The dates of a site's due items stand in its summary, with marks of what has changed since.

Marks are rows that triggers add: whoever changes something waits for nobody, and nobody for it.
The columns of before were never written, and go.
"""

import django.contrib.postgres.fields
import django.db.models.deletion
from django.db import migrations, models

MARK = """
CREATE FUNCTION mark_due_dates() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  INSERT INTO records_duemark (site_id, contractor_id, client_id)
  SELECT s.row, s.contractor_id, s.client_id FROM records_site s
   WHERE s.row IN (SELECT site_id FROM changed);
  RETURN NULL;
END $$;

CREATE FUNCTION mark_due_dates_of_interval() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  INSERT INTO records_duemark (site_id, contractor_id, client_id)
  SELECT DISTINCT s.row, s.contractor_id, s.client_id
    FROM changed JOIN records_site s
      ON s.contractor_id = changed.contractor_id AND s.client_id = changed.client_id
   WHERE changed.site_id IS NULL OR changed.site_id = s.row;
  RETURN NULL;
END $$;

-- What it corrects counts no more, whatever it did itself.
CREATE FUNCTION mark_due_dates_of_corrected() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  INSERT INTO records_duemark (site_id, contractor_id, client_id)
  SELECT s.row, s.contractor_id, s.client_id FROM records_site s
   WHERE s.row IN (SELECT site_id FROM changed WHERE corrects_id IS NOT NULL);
  RETURN NULL;
END $$;
"""


def marked(table, event, function="mark_due_dates"):
    return (
        f"CREATE TRIGGER {table}_{event.lower()}_marks_due_dates AFTER {event} ON {table}"
        f" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION {function}()"
    )


GUARDS = [
    MARK,
    "ALTER TABLE records_duemark ADD CONSTRAINT mark_at_a_site_of_the_client"
    " FOREIGN KEY (site_id, client_id) REFERENCES records_site (row, client_id)",
    "ALTER TABLE records_sitesummary ALTER COLUMN due_edition SET DEFAULT ''",
    *(
        marked(table, event)
        for table in ("records_piecestanding", "records_performedtask", "records_appointment")
        for event in ("INSERT", "UPDATE")
    ),
    *(
        marked("records_intervalsetting", event, "mark_due_dates_of_interval")
        for event in ("INSERT", "UPDATE")
    ),
    marked("records_record", "INSERT", "mark_due_dates_of_corrected"),
]


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0017_reports_are_asked_for'),
    ]

    operations = [
        migrations.CreateModel(
            name='DueMark',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
            ],
        ),
        migrations.RemoveField(
            model_name='sitesummary',
            name='next_due_on',
        ),
        migrations.RemoveField(
            model_name='sitesummary',
            name='overdue',
        ),
        migrations.AddField(
            model_name='sitesummary',
            name='client_due_dates',
            field=django.contrib.postgres.fields.ArrayField(base_field=models.DateField(), help_text='The same as the client, who may see more records.', null=True, size=None),
        ),
        migrations.AddField(
            model_name='sitesummary',
            name='due_changes_on',
            field=models.DateField(help_text='They hold until this day begins.', null=True),
        ),
        migrations.AddField(
            model_name='sitesummary',
            name='due_dates',
            field=django.contrib.postgres.fields.ArrayField(base_field=models.DateField(), help_text='Of every due item, in order, as the contractor.', null=True, size=None),
        ),
        migrations.AddField(
            model_name='sitesummary',
            name='due_edition',
            field=models.TextField(default='', help_text='Of the statement they come from.'),
        ),
        migrations.AddIndex(
            model_name='sitesummary',
            index=models.Index(condition=models.Q(('due_dates', None)), fields=['site'], name='due_dates_missing'),
        ),
        migrations.AddIndex(
            model_name='sitesummary',
            index=models.Index(condition=models.Q(('due_changes_on__isnull', False)), fields=['due_changes_on'], name='due_dates_change'),
        ),
        migrations.AddField(
            model_name='duemark',
            name='client',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization'),
        ),
        migrations.AddField(
            model_name='duemark',
            name='contractor',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization'),
        ),
        migrations.AddField(
            model_name='duemark',
            name='site',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.site'),
        ),
        *map(migrations.RunSQL, GUARDS),
    ]
