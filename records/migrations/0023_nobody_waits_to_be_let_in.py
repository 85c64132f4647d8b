"""That a token was used is written by one request of it; those beside it go on without waiting."""

from django.db import migrations

# The row stays locked until the request that writes it is over: a batch, or a file that comes in.
FIND_TOKEN = """
CREATE OR REPLACE FUNCTION find_token(given bytea)
RETURNS TABLE (token_id uuid, user_id uuid, user_name text, organization_id uuid,
               organization_name text, role text, scopes text[])
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  UPDATE records_token SET last_used_at = now()
   WHERE id = (SELECT id FROM records_token
                 WHERE digest = given AND revoked_at IS NULL AND expires_at > now()
                   AND (last_used_at IS NULL OR last_used_at < now() - interval '1 minute')
                   FOR NO KEY UPDATE SKIP LOCKED);
  SELECT t.id, u.id, coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, t.role, t.scopes
    FROM records_token t
    JOIN records_user u ON u.id = t.user_id AND u.is_active
    JOIN records_organization o ON o.id = t.organization_id
    JOIN records_membership m ON m.user_id = u.id AND m.organization_id = o.id
     AND m.ended_at IS NULL AND m.role = t.role
   WHERE t.digest = given AND t.revoked_at IS NULL AND t.expires_at > now()
$$;
"""


class Migration(migrations.Migration):
    dependencies = [("records", "0022_devices_sign_with_their_own_key")]

    operations = [migrations.RunSQL(FIND_TOKEN, migrations.RunSQL.noop)]
