"""People sign in: counted guesses, memberships that end, persons added by an office."""

import django.db.models.functions.text
from django.db import migrations, models

# As before, but for memberships that have ended, and roles that have changed.
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

CREATE OR REPLACE FUNCTION memberships_of(given uuid)
RETURNS TABLE (user_name text, organization_id uuid, organization_name text, role text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, m.role
    FROM records_membership m
    JOIN records_user u ON u.id = m.user_id AND u.is_active
    JOIN records_organization o ON o.id = m.organization_id
   WHERE m.user_id = given AND m.ended_at IS NULL
   ORDER BY m.since
$$;
"""

PEOPLE = """
-- An office adds people, but neither powers nor passwords that anybody knows.
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
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0004_keep_an_audit'),
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
        migrations.AddField('membership', 'ended_at', models.DateTimeField(null=True)),
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
        migrations.RunSQL(LOOK_UP, migrations.RunSQL.noop),
        migrations.RunSQL(
            PEOPLE,
            'DROP FUNCTION add_person(uuid, text, text, text, text);'
            'DROP FUNCTION invite_again(uuid, text)',
        ),
    ]
