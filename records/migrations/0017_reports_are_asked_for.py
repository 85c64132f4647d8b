"""Reports are wanted by schedules, asked for, made and mailed; due dates have calendars.

The table of reports of before was never written, and goes.
"""

import django.contrib.postgres.fields
import django.db.models.deletion
import records.models.base
import records.models.fields
from django.conf import settings
from django.db import migrations, models

from records.migrations._guards import rows_are

ACTIONS = (
    "added", "changed", "taken out of service", "finding answered", "file added", "file removed",
    "signed", "signature withdrawn", "signature void", "withdrawn", "sealed", "limit set",
    "limit removed", "interval set", "interval removed", "report schedule set",
    "report schedule ended", "report asked for", "calendar made", "calendar revoked", "token made",
    "token revoked", "enrolment code made", "device enrolled", "person invited", "role changed",
    "person removed", "second factor removed", "operator admitted", "operator dismissed",
    "operator looked", "contractor appointed", "appointment ended", "book taken out",
    "book taken in",
)
SUBJECTS = (
    "site", "pump", "motor", "drive", "sensor", "vessel", "pump set", "instrument",
    "organization", "event", "rule setting", "interval setting", "report schedule", "report",
    "calendar", "token", "person",
)


def words(table, column, listed):
    """The check of a closed list that has grown."""
    quoted = ", ".join(f"'{word}'" for word in listed)
    return (
        f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_check;"
        f"ALTER TABLE {table} ADD CONSTRAINT {table}_{column}_check CHECK ({column} IN ({quoted}))"
    )


# A schedule is ended, and counts its periods forward; a report is made once, a mail sent once.
KEPT = """
CREATE FUNCTION refuse_change_of_schedule() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF (to_jsonb(NEW) - '{ended_at,ended_by_id,ended_by_name,next_begins,due_at}'::text[])
     <> (to_jsonb(OLD) - '{ended_at,ended_by_id,ended_by_name,next_begins,due_at}'::text[])
     OR NEW.next_begins < OLD.next_begins OR NEW.due_at < OLD.due_at
     OR OLD.ended_at IS NOT NULL
        AND (NEW.ended_at, NEW.ended_by_id) IS DISTINCT FROM (OLD.ended_at, OLD.ended_by_id) THEN
    RAISE EXCEPTION 'a report schedule is only ended, and counts its periods forward'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER schedule_is_only_ended BEFORE UPDATE ON records_reportschedule
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_schedule();

CREATE FUNCTION refuse_change_of_report() RETURNS trigger
LANGUAGE plpgsql
AS $$
DECLARE
  work text[] := '{done,total,worked_at,attempts,last_error,made_at,summary,pdf_sha256,pdf_size,
                   xlsx_sha256,xlsx_size,json_sha256,json_size}';
BEGIN
  IF OLD.made_at IS NOT NULL OR (to_jsonb(NEW) - work) <> (to_jsonb(OLD) - work) THEN
    RAISE EXCEPTION 'a report is made once, of what was asked for'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER report_is_made_once BEFORE UPDATE ON records_report
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_report();

CREATE FUNCTION refuse_change_of_report_mail() RETURNS trigger
LANGUAGE plpgsql
AS $$
DECLARE
  work text[] := '{sent_at,attempts,last_error}';
BEGIN
  IF OLD.sent_at IS NOT NULL OR (to_jsonb(NEW) - work) <> (to_jsonb(OLD) - work) THEN
    RAISE EXCEPTION 'a mail that was sent stays so' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER report_mail_is_sent_once BEFORE UPDATE ON records_reportmail
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_report_mail();

CREATE TRIGGER report_is_asked_for AFTER INSERT OR UPDATE OF made_at ON records_report
  FOR EACH STATEMENT EXECUTE FUNCTION wake_relay();
"""

# One reports to those that one works for.
KEYS = """
ALTER TABLE records_reportschedule ADD CONSTRAINT schedule_for_a_client
  FOREIGN KEY (contractor_id, client_id) REFERENCES records_clientele (contractor_id, client_id);
ALTER TABLE records_report ADD CONSTRAINT report_for_a_client
  FOREIGN KEY (contractor_id, client_id) REFERENCES records_clientele (contractor_id, client_id);
"""

# Whoever shows an address is whom it was made for, while that person has the role of then.
CALENDARS = """
CREATE FUNCTION find_calendar(given bytea)
RETURNS TABLE (calendar_id uuid, user_id uuid, user_name text, organization_id uuid,
               organization_name text, role text, client_id uuid)
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  UPDATE records_calendar SET last_used_at = now()
   WHERE digest = given AND revoked_at IS NULL
     AND (last_used_at IS NULL OR last_used_at < now() - interval '1 minute');
  SELECT c.id, u.id, coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, c.role, c.client
    FROM records_calendar c
    JOIN records_user u ON u.id = c.user_id AND u.is_active
    JOIN records_organization o ON o.id = c.organization_id
    JOIN records_membership m ON m.user_id = u.id AND m.organization_id = o.id
     AND m.ended_at IS NULL AND m.role = c.role
   WHERE c.digest = given AND c.revoked_at IS NULL
$$;
"""

GUARDS = [
    KEPT,
    KEYS,
    CALENDARS,
    *(
        guard
        for table in ("records_reportschedule", "records_report", "records_reportmail")
        for guard in rows_are(table, "not_deleted", "not_emptied")
    ),
    words("records_auditentry", "action", ACTIONS),
    words("records_auditentry", "kind", SUBJECTS),
]


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0016_intervals_are_found_by_their_task'),
    ]

    operations = [
        migrations.DeleteModel(name='Report'),
        migrations.AlterField(
            model_name='auditentry',
            name='action',
            field=records.models.fields.WordField(choices=[('added', 'added'), ('changed', 'changed'), ('taken out of service', 'taken out of service'), ('finding answered', 'finding answered'), ('file added', 'file added'), ('file removed', 'file removed'), ('signed', 'signed'), ('signature withdrawn', 'signature withdrawn'), ('signature void', 'signature void'), ('withdrawn', 'withdrawn'), ('sealed', 'sealed'), ('limit set', 'limit set'), ('limit removed', 'limit removed'), ('interval set', 'interval set'), ('interval removed', 'interval removed'), ('report schedule set', 'report schedule set'), ('report schedule ended', 'report schedule ended'), ('report asked for', 'report asked for'), ('calendar made', 'calendar made'), ('calendar revoked', 'calendar revoked'), ('token made', 'token made'), ('token revoked', 'token revoked'), ('enrolment code made', 'enrolment code made'), ('device enrolled', 'device enrolled'), ('person invited', 'person invited'), ('role changed', 'role changed'), ('person removed', 'person removed'), ('second factor removed', 'second factor removed'), ('operator admitted', 'operator admitted'), ('operator dismissed', 'operator dismissed'), ('operator looked', 'operator looked'), ('contractor appointed', 'contractor appointed'), ('appointment ended', 'appointment ended'), ('book taken out', 'book taken out'), ('book taken in', 'book taken in')]),
        ),
        migrations.AlterField(
            model_name='auditentry',
            name='kind',
            field=records.models.fields.WordField(choices=[('site', 'site'), ('pump', 'pump'), ('motor', 'motor'), ('drive', 'drive'), ('sensor', 'sensor'), ('vessel', 'vessel'), ('pump set', 'pump set'), ('instrument', 'instrument'), ('organization', 'organization'), ('event', 'event'), ('rule setting', 'rule setting'), ('interval setting', 'interval setting'), ('report schedule', 'report schedule'), ('report', 'report'), ('calendar', 'calendar'), ('token', 'token'), ('person', 'person')]),
        ),
        migrations.CreateModel(
            name='ReportSchedule',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False)),
                ('period', records.models.fields.WordField(choices=[('week', 'week'), ('month', 'month')])),
                ('time_zone', models.TextField()),
                ('addresses', django.contrib.postgres.fields.ArrayField(base_field=models.TextField(), default=list, size=None)),
                ('next_begins', models.DateField(help_text='First day of the period that comes next.')),
                ('due_at', models.DateTimeField()),
                ('created_digest', models.BinaryField(max_length=32)),
                ('set_by_name', models.TextField()),
                ('set_at', models.DateTimeField()),
                ('ended_by_name', models.TextField(default='')),
                ('ended_at', models.DateTimeField(null=True)),
                ('client', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('ended_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('set_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Report',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False)),
                ('period', records.models.fields.WordField(choices=[('week', 'week'), ('month', 'month'), ('day', 'day')])),
                ('period_begins', models.DateField(help_text='First day of what it tells changes of.')),
                ('as_of', models.DateField(help_text='The last day.')),
                ('time_zone', models.TextField()),
                ('since', models.DateTimeField(help_text='The moment at which the first day began.')),
                ('until', models.DateTimeField(help_text='The moment at which the last day was over.')),
                ('created_digest', models.BinaryField(default=b'', max_length=32)),
                ('asked_at', models.DateTimeField()),
                ('asked_by_name', models.TextField(default='', help_text='Empty: by its schedule.')),
                ('done', models.PositiveIntegerField(default=0, help_text='Stations read so far.')),
                ('total', models.PositiveIntegerField(null=True)),
                ('worked_at', models.DateTimeField(help_text='When that was told last.', null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('last_error', models.TextField(default='')),
                ('made_at', models.DateTimeField(null=True)),
                ('summary', models.JSONField(null=True)),
                ('pdf_sha256', models.BinaryField(max_length=32, null=True)),
                ('pdf_size', models.PositiveBigIntegerField(null=True)),
                ('xlsx_sha256', models.BinaryField(max_length=32, null=True)),
                ('xlsx_size', models.PositiveBigIntegerField(null=True)),
                ('json_sha256', models.BinaryField(max_length=32, null=True)),
                ('json_size', models.PositiveBigIntegerField(null=True)),
                ('asked_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('client', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('schedule', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.reportschedule')),
            ],
        ),
        migrations.CreateModel(
            name='Calendar',
            fields=[
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('name', models.TextField()),
                ('role', models.TextField()),
                ('client', models.UUIDField(help_text='Of this client alone.', null=True)),
                ('digest', models.BinaryField(max_length=32, unique=True)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('last_used_at', models.DateTimeField(null=True)),
                ('revoked_at', models.DateTimeField(null=True)),
                ('organization', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'indexes': [models.Index(fields=['user'], name='calendars_of_person')],
            },
        ),
        migrations.CreateModel(
            name='ReportMail',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('address', models.TextField()),
                ('sent_at', models.DateTimeField(null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('last_error', models.TextField(default='')),
                ('client', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('report', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='mails', to='records.report')),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('sent_at', None)), fields=['row'], name='mail_still_to_be_sent')],
                'constraints': [models.UniqueConstraint(fields=('report', 'address'), name='one_mail_an_address')],
            },
        ),
        migrations.AddIndex(
            model_name='reportschedule',
            index=models.Index(fields=['due_at'], name='schedules_by_next_period'),
        ),
        migrations.AddIndex(
            model_name='reportschedule',
            index=models.Index(fields=['contractor', '-row'], name='schedules_of_contractor'),
        ),
        migrations.AddConstraint(
            model_name='reportschedule',
            constraint=models.UniqueConstraint(fields=('contractor', 'id'), name='schedule_id_in_contractor'),
        ),
        migrations.AddConstraint(
            model_name='reportschedule',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('contractor', 'client'), name='one_schedule_in_force', nulls_distinct=False),
        ),
        migrations.AddConstraint(
            model_name='reportschedule',
            constraint=models.CheckConstraint(condition=models.Q(('addresses__len__lte', 20)), name='schedule_mails_to_few'),
        ),
        migrations.AddConstraint(
            model_name='reportschedule',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ended_at', None), ('ended_by', None)), models.Q(('ended_at__isnull', False), ('ended_by__isnull', False)), _connector='OR'), name='schedule_is_ended_by_somebody'),
        ),
        migrations.AddIndex(
            model_name='report',
            index=models.Index(condition=models.Q(('made_at', None)), fields=['asked_at'], name='report_still_to_be_made'),
        ),
        migrations.AddIndex(
            model_name='report',
            index=models.Index(fields=['contractor', '-row'], name='reports_of_contractor'),
        ),
        migrations.AddIndex(
            model_name='report',
            index=models.Index(fields=['client', '-row'], name='reports_of_client'),
        ),
        migrations.AddConstraint(
            model_name='report',
            constraint=models.UniqueConstraint(fields=('contractor', 'id'), name='report_id_in_contractor'),
        ),
        migrations.AddConstraint(
            model_name='report',
            constraint=models.UniqueConstraint(condition=models.Q(('period', 'day'), _negated=True), fields=('contractor', 'client', 'period', 'period_begins'), name='one_report_a_period', nulls_distinct=False),
        ),
        migrations.AddConstraint(
            model_name='report',
            constraint=models.CheckConstraint(condition=models.Q(('since__lt', models.F('until'))), name='report_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='report',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('json_sha256', None), ('made_at', None), ('pdf_sha256', None), ('summary__isnull', True), ('xlsx_sha256', None)), models.Q(('json_sha256__isnull', False), ('made_at__isnull', False), ('pdf_sha256__isnull', False), ('summary__isnull', False), ('xlsx_sha256__isnull', False)), _connector='OR'), name='report_is_made_whole'),
        ),
        migrations.RunSQL(GUARDS, migrations.RunSQL.noop),
    ]
