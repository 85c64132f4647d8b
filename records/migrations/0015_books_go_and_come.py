"""A client's whole book goes out and comes in: with the keys of the service that sealed it."""

from django.db import migrations, models

from records.models.fields import WordField

ACTIONS = (
    "added", "changed", "taken out of service", "finding answered", "file added", "file removed",
    "signed", "signature withdrawn", "signature void", "withdrawn", "sealed", "limit set",
    "limit removed", "interval set", "interval removed", "token made", "token revoked", "enrolment code made", "device enrolled",
    "person invited", "role changed", "person removed", "second factor removed",
    "operator admitted", "operator dismissed", "operator looked", "contractor appointed",
    "appointment ended", "book taken out", "book taken in",
)
LISTED = ", ".join(f"'{action}'" for action in ACTIONS)
MORE_ACTIONS = f"""
ALTER TABLE records_auditentry DROP CONSTRAINT records_auditentry_action_check;
ALTER TABLE records_auditentry ADD CONSTRAINT records_auditentry_action_check
  CHECK (action IN ({LISTED}));
"""

# Of each service its own keys follow one another.
KEYS = """
CREATE OR REPLACE FUNCTION refuse_key_out_of_line() RETURNS trigger
LANGUAGE plpgsql
AS $$
DECLARE
  last records_signingkey%ROWTYPE;
BEGIN
  IF NEW.endorsed_by_id IS NOT NULL AND EXISTS (
       SELECT FROM records_signingkey
        WHERE kid = NEW.endorsed_by_id AND (origin = '') <> (NEW.origin = '')) THEN
    RAISE EXCEPTION 'the key follows one of another service' USING ERRCODE = 'check_violation';
  END IF;
  IF NEW.origin <> '' THEN
    RETURN NEW;
  END IF;
  SELECT * INTO last FROM records_signingkey
   WHERE origin = '' ORDER BY valid_from DESC, created_at DESC LIMIT 1;
  IF NEW.endorsed_by_id <> last.kid OR NEW.valid_from < last.valid_from THEN
    RAISE EXCEPTION 'the key does not follow the last one' USING ERRCODE = 'check_violation';
  END IF;
  RETURN NEW;
END $$;

-- The one after a key of another service may be unknown here.
CREATE OR REPLACE FUNCTION refuse_change_of_key() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF OLD.valid_until IS NOT NULL OR NEW.valid_until IS NULL
     OR (to_jsonb(NEW) - 'valid_until') <> (to_jsonb(OLD) - 'valid_until')
     OR OLD.origin = '' AND NOT EXISTS (
          SELECT FROM records_signingkey
           WHERE kid <> NEW.kid AND origin = '' AND valid_from = NEW.valid_until)
     OR EXISTS (SELECT FROM records_record
                 WHERE key_id = NEW.kid AND sealed_at > NEW.valid_until) THEN
    RAISE EXCEPTION 'a key only ends, with the beginning of the next one'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

-- What another service sealed comes in by whoever runs this one, who acts without an organization.
CREATE OR REPLACE FUNCTION refuse_seal_out_of_time() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
DECLARE
  sealing records_signingkey%ROWTYPE;
  at timestamptz := NEW.sealed_at;
BEGIN
  SELECT * INTO sealing FROM records_signingkey WHERE kid = NEW.key_id FOR SHARE;
  IF sealing.origin <> '' AND app_org() IS NOT NULL THEN
    RAISE EXCEPTION 'the signing key is another service''s' USING ERRCODE = 'check_violation';
  END IF;
  IF sealing.origin = '' THEN
    at := greatest(at, date_trunc('second', clock_timestamp()));
  END IF;
  IF NEW.sealed_at < sealing.valid_from OR at > sealing.valid_until THEN
    RAISE EXCEPTION 'the signing key is not valid at the time of the seal'
      USING ERRCODE = 'check_violation';
  END IF;
  RETURN NEW;
END $$;
"""

# What stood when comes along with a book that is taken in, by whoever runs the service; the
# register's own rows are no news then.
STANDING = {
    "records_site": "site", "records_pump": "pump", "records_motor": "motor",
    "records_drive": "drive", "records_sensor": "sensor", "records_vessel": "vessel",
    "records_pumpset": "pump_set",
}


def registers_are_followed():
    for table, word in STANDING.items():
        yield f"DROP TRIGGER {table}_stands ON {table}"
        yield (
            f"CREATE TRIGGER {table}_stands AFTER INSERT OR UPDATE ON {table} FOR EACH ROW"
            " WHEN (app_org() IS NOT NULL"
            "       OR current_setting('app.taking_in', true) IS DISTINCT FROM 'on')"
            f" EXECUTE FUNCTION keep_what_stands('{word}')"
        )


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0014_what_is_made_of_a_record_has_its_parties'),
    ]

    operations = [
        migrations.AddField(
            model_name='signingkey',
            name='origin',
            field=models.TextField(
                db_default='', default='',
                help_text='The service that it sealed for; empty: this one.',
            ),
        ),
        migrations.AlterField(
            model_name='auditentry',
            name='action',
            field=WordField(choices=[(action, action) for action in ACTIONS]),
        ),
        migrations.RunSQL([MORE_ACTIONS, KEYS, *registers_are_followed()], migrations.RunSQL.noop),
    ]
