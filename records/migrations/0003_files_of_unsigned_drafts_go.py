"""A wrong upload of a draft that nobody has signed can be removed; no other file, and none changes."""

from django.db import migrations

FILES = ("attachment", "trace")

REFUSE = """
CREATE FUNCTION refuse_removal_of_what_was_signed() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  IF EXISTS (SELECT FROM records_event WHERE row = OLD.event_id AND state <> 'draft')
     OR EXISTS (SELECT FROM records_signature
                 WHERE event_id = OLD.event_id AND void_since IS NULL) THEN
    RAISE EXCEPTION 'event is signed, sealed or withdrawn'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN OLD;
END $$;
"""


def removable_until_signed():
    for part in FILES:
        table = f"records_{part}"
        yield f"DROP TRIGGER {table}_is_kept ON {table}"
        yield (
            f"CREATE TRIGGER {table}_is_not_changed BEFORE UPDATE ON {table}"
            " FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
        yield (
            f"CREATE TRIGGER {part}_of_signed_event_is_kept BEFORE DELETE ON {table}"
            " FOR EACH ROW EXECUTE FUNCTION refuse_removal_of_what_was_signed()"
        )


class Migration(migrations.Migration):
    dependencies = [("records", "0002_guards")]

    operations = [
        migrations.RunSQL([REFUSE, *removable_until_signed()], migrations.RunSQL.noop),
    ]
