"""Keys follow one another: each seals in its own time, and is endorsed by the one before."""

from django.db import migrations, models
from django.db.models import F, Q

# A key's time is counted in whole seconds, as that of a seal is.
WHOLE_SECONDS = """
DROP TRIGGER records_signingkey_is_kept ON records_signingkey;
UPDATE records_signingkey SET valid_from = date_trunc('second', valid_from);
"""

KEYS = """
CREATE FUNCTION refuse_key_out_of_line() RETURNS trigger
LANGUAGE plpgsql
AS $$
DECLARE
  last records_signingkey%ROWTYPE;
BEGIN
  SELECT * INTO last FROM records_signingkey ORDER BY valid_from DESC, created_at DESC LIMIT 1;
  IF NEW.endorsed_by_id <> last.kid OR NEW.valid_from < last.valid_from THEN
    RAISE EXCEPTION 'the key does not follow the last one' USING ERRCODE = 'check_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER key_follows_the_last_one BEFORE INSERT ON records_signingkey
  FOR EACH ROW EXECUTE FUNCTION refuse_key_out_of_line();

-- A key changes in one way only: it ends with the first second of the next one, once.
CREATE FUNCTION refuse_change_of_key() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF OLD.valid_until IS NOT NULL OR NEW.valid_until IS NULL
     OR (to_jsonb(NEW) - 'valid_until') <> (to_jsonb(OLD) - 'valid_until')
     OR NOT EXISTS (SELECT FROM records_signingkey
                     WHERE kid <> NEW.kid AND valid_from = NEW.valid_until)
     OR EXISTS (SELECT FROM records_record
                 WHERE key_id = NEW.kid AND sealed_at > NEW.valid_until) THEN
    RAISE EXCEPTION 'a key only ends, with the beginning of the next one'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER key_only_ends BEFORE UPDATE ON records_signingkey
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_key();

CREATE TRIGGER records_signingkey_is_kept BEFORE DELETE ON records_signingkey
  FOR EACH ROW EXECUTE FUNCTION refuse_change();

-- The key's row is held until the seal is committed: a key ends after the last of its seals.
CREATE FUNCTION refuse_seal_out_of_time() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
DECLARE
  sealing records_signingkey%ROWTYPE;
BEGIN
  SELECT * INTO sealing FROM records_signingkey WHERE kid = NEW.key_id FOR SHARE;
  IF NEW.sealed_at < sealing.valid_from
     OR greatest(NEW.sealed_at, date_trunc('second', clock_timestamp())) > sealing.valid_until THEN
    RAISE EXCEPTION 'the signing key is not valid at the time of the seal'
      USING ERRCODE = 'check_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER record_is_sealed_by_a_valid_key BEFORE INSERT ON records_record
  FOR EACH ROW EXECUTE FUNCTION refuse_seal_out_of_time();
"""


class Migration(migrations.Migration):
    dependencies = [("records", "0007_stricter_limits")]

    operations = [
        migrations.RunSQL(WHOLE_SECONDS, migrations.RunSQL.noop),
        migrations.AlterField(
            "signingkey", "valid_from",
            models.DateTimeField(help_text="First second that it seals in."),
        ),
        migrations.AlterField(
            "signingkey", "valid_until",
            models.DateTimeField(help_text="Last second that it seals in.", null=True),
        ),
        migrations.AddConstraint(
            "signingkey",
            models.UniqueConstraint(fields=("endorsed_by",), name="key_endorses_one"),
        ),
        migrations.AddConstraint(
            "signingkey",
            models.CheckConstraint(
                condition=Q(("valid_until", None), ("valid_until__gte", F("valid_from")), _connector="OR"),
                name="key_ends_after_it_begins",
            ),
        ),
        migrations.AddConstraint(
            "signingkey",
            models.CheckConstraint(
                condition=Q(
                    Q(("endorsed_by", None), ("endorsement", "")),
                    Q(("endorsed_by__isnull", False), Q(("endorsement", ""), _negated=True)),
                    _connector="OR",
                ),
                name="endorsed_key_has_its_endorsement",
            ),
        ),
        migrations.RunSQL(KEYS, migrations.RunSQL.noop),
    ]
