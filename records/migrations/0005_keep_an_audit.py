"""Who did what, when, from where and why: written once, whoever asks."""

import django.db.models.deletion
import django.db.models.functions.datetime
import records.models.base
import records.models.fields
from django.conf import settings
from django.db import migrations, models

from records.migrations._guards import rows_are


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0004_people_and_devices_come_in'),
    ]

    operations = [
        migrations.CreateModel(
            name='AuditEntry',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('person_name', models.TextField()),
                ('role', models.TextField(default='')),
                ('address', models.GenericIPAddressField(null=True)),
                ('action', records.models.fields.WordField(choices=[('added', 'added'), ('changed', 'changed'), ('taken out of service', 'taken out of service'), ('finding answered', 'finding answered'), ('file added', 'file added'), ('file removed', 'file removed'), ('signed', 'signed'), ('signature withdrawn', 'signature withdrawn'), ('signature void', 'signature void'), ('withdrawn', 'withdrawn'), ('sealed', 'sealed'), ('limit set', 'limit set'), ('limit removed', 'limit removed'), ('token made', 'token made'), ('token revoked', 'token revoked'), ('enrolment code made', 'enrolment code made'), ('device enrolled', 'device enrolled'), ('person invited', 'person invited'), ('person joined', 'person joined'), ('role changed', 'role changed'), ('person removed', 'person removed'), ('operator admitted', 'operator admitted'), ('operator dismissed', 'operator dismissed'), ('operator looked', 'operator looked'), ('contractor appointed', 'contractor appointed'), ('appointment ended', 'appointment ended')])),
                ('kind', records.models.fields.WordField(choices=[('site', 'site'), ('pump', 'pump'), ('motor', 'motor'), ('drive', 'drive'), ('sensor', 'sensor'), ('vessel', 'vessel'), ('pump set', 'pump set'), ('instrument', 'instrument'), ('organization', 'organization'), ('event', 'event'), ('rule setting', 'rule setting'), ('token', 'token'), ('person', 'person')])),
                ('subject', models.UUIDField()),
                ('name', models.TextField(help_text='What people call the subject: its tag, code or serial.')),
                ('before', models.JSONField(null=True)),
                ('after', models.JSONField(null=True)),
                ('reason', models.TextField(default='')),
                ('client', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('person', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.site')),
                ('token', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.token')),
            ],
            options={
                'indexes': [models.Index(fields=['contractor', '-row'], name='audit_newest_first'), models.Index(fields=['contractor', 'subject', '-row'], name='audit_of_subject'), models.Index(fields=['contractor', 'person', '-row'], name='audit_of_person'), models.Index(condition=models.Q(('site__isnull', False)), fields=['site', '-row'], name='audit_of_site')],
            },
        ),
        migrations.RunSQL(
            [*rows_are("records_auditentry", "kept", "not_emptied")], migrations.RunSQL.noop
        ),
    ]
