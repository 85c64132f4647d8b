"""Sessions of who is let go end for good: they do not come back with the person."""

from django.db import migrations, models

# An office has a session of nobody; it ends those of its own people alone.
END_SESSIONS = """
CREATE FUNCTION end_sessions_of(identity uuid) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  UPDATE records_user u SET sessions_ended_at = clock_timestamp()
   WHERE u.id = identity AND EXISTS (
     SELECT FROM records_membership m
      WHERE m.user_id = u.id AND m.organization_id = app_org() AND m.ended_at IS NULL)
$$;
"""


class Migration(migrations.Migration):
    dependencies = [("records", "0026_that_a_token_was_used_is_noted_apart")]

    operations = [
        migrations.AddField("user", "sessions_ended_at", models.DateTimeField(editable=False, null=True)),
        migrations.RunSQL(END_SESSIONS, "DROP FUNCTION end_sessions_of(uuid)"),
    ]
