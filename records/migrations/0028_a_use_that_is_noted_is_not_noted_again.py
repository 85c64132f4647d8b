"""Whether the use of a token is noted for this minute is read with who it speaks for.

To note it is a transaction of its own after every request: now after one a minute.
"""

from django.db import migrations

IS_NOTED = """
CREATE FUNCTION use_of_token_is_noted(given bytea) RETURNS boolean
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT last_used_at >= now() - interval '1 minute' FROM records_token WHERE digest = given;
$$;
"""
AWAY = "DROP FUNCTION use_of_token_is_noted(bytea);"


class Migration(migrations.Migration):
    dependencies = [("records", "0027_sessions_end_with_a_membership")]

    operations = [migrations.RunSQL(IS_NOTED, AWAY)]
