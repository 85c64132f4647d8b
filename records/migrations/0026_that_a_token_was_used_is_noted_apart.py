"""Who a token speaks for is read; that it was used is noted apart, once its request is over.

As long as a request held the row of its own token, who revoked that one waited for its end, and of
two people of the office who let each other go at once the database ended one.
"""

from django.db import migrations

FIND_TOKEN = """
CREATE OR REPLACE FUNCTION find_token(given bytea)
RETURNS TABLE (token_id uuid, user_id uuid, user_name text, organization_id uuid,
               organization_name text, role text, scopes text[])
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT t.id, u.id, coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, t.role, t.scopes
    FROM records_token t
    JOIN records_user u ON u.id = t.user_id AND u.is_active
    JOIN records_organization o ON o.id = t.organization_id
    JOIN records_membership m ON m.user_id = u.id AND m.organization_id = o.id
     AND m.ended_at IS NULL AND m.role = t.role
   WHERE t.digest = given AND t.revoked_at IS NULL AND t.expires_at > now()
$$;
"""

# Of several requests at once one writes, and the others do not wait for it.
NOTE_USE = """
CREATE FUNCTION note_use_of_token(given bytea) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  UPDATE records_token SET last_used_at = now()
   WHERE id = (SELECT id FROM records_token
                 WHERE digest = given AND revoked_at IS NULL AND expires_at > now()
                   AND (last_used_at IS NULL OR last_used_at < now() - interval '1 minute')
                   FOR NO KEY UPDATE SKIP LOCKED);
$$;
"""
AWAY = "DROP FUNCTION note_use_of_token(bytea);"


class Migration(migrations.Migration):
    dependencies = [("records", "0025_seldom_events_are_found_at_once")]

    operations = [
        migrations.RunSQL(FIND_TOKEN, migrations.RunSQL.noop),
        migrations.RunSQL(NOTE_USE, AWAY),
    ]
