"""A device enrols with a code; a client's people make tokens that read."""

import datetime
import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.expressions
import records.models.base
import records.models.fields
from django.conf import settings
from django.db import migrations, models

# The framework takes other words for a matter of forms: the database's own check is ours to change.
ENROLLED = """
DO $$
DECLARE
  known text := (SELECT pg_get_constraintdef(oid) FROM pg_constraint
                  WHERE conname = 'records_auditentry_action_check');
BEGIN
  ALTER TABLE records_auditentry DROP CONSTRAINT records_auditentry_action_check;
  EXECUTE 'ALTER TABLE records_auditentry ADD CONSTRAINT records_auditentry_action_check '
    || replace(known, 'ARRAY[', 'ARRAY[''enrolment code made''::text, ''device enrolled''::text, ');
END $$;
"""

CLIENTS_READ = """
UPDATE records_token SET scopes = '{read}' WHERE role = 'client' AND NOT scopes <@ '{read}'
"""

USE = """
-- Whose device comes in with a code, which is good no more: of many at once the first alone. The
-- code ends with its person's role, and with the membership of the office that made it.
CREATE FUNCTION use_enrolment(given bytea)
RETURNS TABLE (user_id uuid, user_name text, organization_id uuid, organization_name text,
               role text, scopes text[], created_by uuid)
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  UPDATE records_enrolment e SET used_at = now()
    FROM records_user u, records_organization o, records_membership m, records_membership maker
   WHERE e.digest = given AND e.used_at IS NULL AND e.expires_at > now()
     AND u.id = e.user_id AND u.is_active AND o.id = e.organization_id
     AND m.user_id = e.user_id AND m.organization_id = e.organization_id
     AND m.ended_at IS NULL AND m.role = e.role
     AND maker.user_id = e.created_by_id AND maker.organization_id = e.organization_id
     AND maker.ended_at IS NULL AND (maker.user_id = e.user_id OR maker.role = 'office')
  RETURNING u.id, coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, e.role, e.scopes,
            e.created_by_id
$$;

-- Who of the own organization has set up an authenticator app.
CREATE FUNCTION members_with_second_factor() RETURNS SETOF uuid
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT m.user_id FROM records_membership m
   WHERE m.organization_id = app_org() AND m.ended_at IS NULL AND EXISTS (
     SELECT FROM mfa_authenticator a WHERE a.user_id = m.user_id AND a.type = 'totp')
$$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0011_look_up_what_was_handed_on'),
    ]

    operations = [
        migrations.CreateModel(
            name='Enrolment',
            fields=[
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('role', records.models.fields.WordField(choices=[('office', 'office'), ('technician', 'technician'), ('client', 'client')])),
                ('scopes', django.contrib.postgres.fields.ArrayField(base_field=records.models.fields.WordField(choices=[('read', 'read'), ('write', 'write'), ('sign', 'sign'), ('manage', 'manage')]), size=None)),
                ('digest', models.BinaryField(max_length=32, unique=True)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('expires_at', models.DateTimeField(db_index=True)),
                ('used_at', models.DateTimeField(null=True)),
                ('created_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('organization', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('expires_at__gt', models.F('created_at')), ('expires_at__lte', django.db.models.expressions.CombinedExpression(models.F('created_at'), '+', models.Value(datetime.timedelta(seconds=660))))), name='enrolment_is_for_minutes'), models.CheckConstraint(condition=models.Q(('scopes__contained_by', ['read', 'write']), models.Q(('created_by', models.F('user')), ('scopes__contained_by', ['read', 'write', 'sign'])), _connector='OR'), name='enrolment_that_signs_is_made_by_its_person')],
            },
        ),
        migrations.AddField(
            model_name='token',
            name='device',
            field=models.BooleanField(db_default=False, default=False),
        ),
        migrations.AlterField(
            model_name='auditentry',
            name='action',
            field=records.models.fields.WordField(choices=[('added', 'added'), ('changed', 'changed'), ('taken out of service', 'taken out of service'), ('finding answered', 'finding answered'), ('file added', 'file added'), ('file removed', 'file removed'), ('signed', 'signed'), ('signature withdrawn', 'signature withdrawn'), ('signature void', 'signature void'), ('withdrawn', 'withdrawn'), ('sealed', 'sealed'), ('limit set', 'limit set'), ('limit removed', 'limit removed'), ('token made', 'token made'), ('token revoked', 'token revoked'), ('enrolment code made', 'enrolment code made'), ('device enrolled', 'device enrolled'), ('person invited', 'person invited'), ('person joined', 'person joined'), ('role changed', 'role changed'), ('person removed', 'person removed'), ('operator admitted', 'operator admitted'), ('operator dismissed', 'operator dismissed'), ('operator looked', 'operator looked'), ('contractor appointed', 'contractor appointed'), ('appointment ended', 'appointment ended')]),
        ),
        migrations.RunSQL(CLIENTS_READ, migrations.RunSQL.noop),
        migrations.AddConstraint(
            model_name='token',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('role', 'client'), _negated=True), ('scopes__contained_by', ['read']), _connector='OR'), name='token_of_a_client_reads'),
        ),
        migrations.RunSQL([ENROLLED], migrations.RunSQL.noop),
        migrations.RunSQL(
            USE,
            'DROP FUNCTION use_enrolment(bytea); DROP FUNCTION members_with_second_factor()',
        ),
    ]
