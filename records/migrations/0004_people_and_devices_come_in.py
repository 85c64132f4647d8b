"""People and devices come in: counted guesses, memberships that end, admissions, codes of devices."""

import datetime
import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.expressions
import django.db.models.functions.text
import records.models.base
import records.models.fields
from django.conf import settings
from django.db import migrations, models

from records.migrations._guards import refusal, rows_are

# Sign-in comes before an organization is known: one answer for one question, nothing to list.
# A token and a code of a device end with the membership and the role that they were made in.
LOOK_UP = """
CREATE OR REPLACE FUNCTION find_token(given bytea)
RETURNS TABLE (token_id uuid, user_id uuid, user_name text, organization_id uuid,
               organization_name text, role text, scopes text[])
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  UPDATE records_token SET last_used_at = now()
   WHERE digest = given AND revoked_at IS NULL AND expires_at > now()
     AND (last_used_at IS NULL OR last_used_at < now() - interval '1 minute');
  SELECT t.id, u.id, coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, t.role, t.scopes
    FROM records_token t
    JOIN records_user u ON u.id = t.user_id AND u.is_active
    JOIN records_organization o ON o.id = t.organization_id
    JOIN records_membership m ON m.user_id = u.id AND m.organization_id = o.id
     AND m.ended_at IS NULL AND m.role = t.role
   WHERE t.digest = given AND t.revoked_at IS NULL AND t.expires_at > now()
$$;

-- Whoever runs the service and is admitted just now is there as well, with the reason.
DROP FUNCTION memberships_of(uuid);
CREATE FUNCTION memberships_of(given uuid)
RETURNS TABLE (user_name text, organization_id uuid, organization_name text, role text,
               admitted text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, let_in.role, let_in.admitted
    FROM (SELECT user_id, organization_id, role, '' AS admitted, since
            FROM records_membership WHERE user_id = given AND ended_at IS NULL
          UNION ALL
          SELECT user_id, organization_id, 'office', reason, since
            FROM records_admission
           WHERE user_id = given AND ended_at IS NULL AND until > now()) AS let_in
    JOIN records_user u ON u.id = let_in.user_id AND u.is_active
    JOIN records_organization o ON o.id = let_in.organization_id
   ORDER BY let_in.since
$$;

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
"""

# An office adds people, but neither powers nor passwords that anybody knows, and sees its own.
PEOPLE = """
CREATE FUNCTION add_person(identity uuid, given_username text, given_name text, given_email text,
                           given_password text)
RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  IF app_org() IS NULL OR given_password NOT LIKE '!%' THEN
    RAISE EXCEPTION 'a person is added by an office, without a password'
      USING ERRCODE = 'check_violation';
  END IF;
  INSERT INTO records_user (id, username, full_name, email, password, first_name, last_name,
                            is_staff, is_superuser, is_active, date_joined)
  VALUES (identity, given_username, given_name, given_email, given_password, '', '',
          false, false, true, now());
END $$;

-- Whether somebody of the own organization still has no password: then the former link ends.
CREATE FUNCTION invite_again(identity uuid, given_password text) RETURNS boolean
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  IF given_password NOT LIKE '!%' THEN
    RAISE EXCEPTION 'an invitation holds no password' USING ERRCODE = 'check_violation';
  END IF;
  UPDATE records_user u SET password = given_password
   WHERE u.id = identity AND u.password LIKE '!%' AND u.is_active AND EXISTS (
     SELECT FROM records_membership m WHERE m.user_id = u.id AND m.organization_id = app_org());
  RETURN FOUND;
END $$;

-- Who signs in with an address, wherever: of strangers an office learns no more.
CREATE FUNCTION person_of(address text) RETURNS uuid
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT id FROM records_user WHERE lower(email) = address
  UNION ALL
  SELECT id FROM records_user WHERE lower(username) = address
  LIMIT 1
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

# A membership opens its person's name and address: an office makes one for whom it adds just then.
BELONGS_ELSEWHERE = """app_org() IS NOT NULL AND (
       EXISTS (SELECT FROM records_membership WHERE user_id = NEW.user_id)
       OR EXISTS (SELECT FROM records_user WHERE id = NEW.user_id AND password NOT LIKE '!%'))"""

MEMBERS = """
CREATE TRIGGER no_member_from_elsewhere BEFORE INSERT ON records_membership
  FOR EACH ROW EXECUTE FUNCTION refuse_member_from_elsewhere();
"""

CLIENTS_READ = """
UPDATE records_token SET scopes = '{read}' WHERE role = 'client' AND NOT scopes <@ '{read}'
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0003_files_of_drafts'),
        ('account', '0009_emailaddress_unique_primary_email'),
        ('mfa', '0003_authenticator_type_uniq'),
    ]

    operations = [
        migrations.CreateModel(
            name='Guess',
            fields=[
                ('pk', models.CompositePrimaryKey('what', 'whom', blank=True, editable=False, primary_key=True, serialize=False)),
                ('what', models.CharField(max_length=40)),
                ('whom', models.BinaryField(help_text='A digest: names are not kept.', max_length=32)),
                ('count', models.PositiveIntegerField()),
                ('until', models.DateTimeField(db_index=True)),
            ],
        ),
        migrations.AddConstraint(
            'user',
            models.UniqueConstraint(
                django.db.models.functions.text.Lower('username'), name='one_person_a_user_name'
            ),
        ),
        migrations.AddConstraint(
            'user',
            models.UniqueConstraint(
                django.db.models.functions.text.Lower('email'),
                condition=models.Q(('email', ''), _negated=True), name='one_person_an_address',
            ),
        ),
        migrations.AddField('membership', 'ended_at', models.DateTimeField(null=True)),
        migrations.CreateModel(
            name='Admission',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.TextField()),
                ('admitted_by', models.TextField()),
                ('since', models.DateTimeField()),
                ('until', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('organization', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('reason__regex', '^\\s*$'), _negated=True), models.Q(('admitted_by__regex', '^\\s*$'), _negated=True)), name='admission_says_by_whom_and_why'), models.CheckConstraint(condition=models.Q(('until__gt', models.F('since')), ('until__lte', django.db.models.expressions.CombinedExpression(models.F('since'), '+', models.Value(datetime.timedelta(days=3))))), name='admission_is_for_three_days_at_most'), models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('user',), name='one_admission_a_person')],
            },
        ),
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
        migrations.AddField('token', 'device', models.BooleanField(db_default=False, default=False)),
        migrations.RunSQL(CLIENTS_READ, migrations.RunSQL.noop),
        migrations.AddConstraint(
            model_name='token',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('role', 'client'), _negated=True), ('scopes__contained_by', ['read']), _connector='OR'), name='token_of_a_client_reads'),
        ),
        migrations.RunSQL(
            [
                LOOK_UP,
                PEOPLE,
                refusal(
                    "refuse_member_from_elsewhere", BELONGS_ELSEWHERE,
                    "this person was known before, or belongs elsewhere",
                ),
                MEMBERS,
                *rows_are("records_admission", "not_deleted", "not_emptied"),
            ],
            migrations.RunSQL.noop,
        ),
    ]
