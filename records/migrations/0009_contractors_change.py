"""A station gets another contractor: events stay with the old one, records are handed on."""

import django.contrib.postgres.fields
from django.db import migrations, models


TABLES = {
    "records_site": "former_contractors",
    "records_pumpset": "former_contractors",
    "records_record": "handed_to",
    "records_recorddocument": "handed_to",
    "records_recordedvalue": "handed_to",
}


def empty_unless_told():
    for table, column in TABLES.items():
        yield f"ALTER TABLE {table} ALTER COLUMN {column} SET DEFAULT '{{}}'"


# Handing on adds a reader: nothing else of what is sealed ever changes.
HANDED = """
CREATE FUNCTION refuse_change_but_handing_on() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF NEW.handed_to <> OLD.handed_to AND NEW.handed_to @> OLD.handed_to
     AND (to_jsonb(NEW) - 'handed_to') = (to_jsonb(OLD) - 'handed_to') THEN
    RETURN NEW;
  END IF;
  RAISE EXCEPTION '% of % is refused: it is kept as it is', TG_OP, TG_TABLE_NAME
    USING ERRCODE = 'integrity_constraint_violation';
END $$;

DROP TRIGGER records_record_is_kept ON records_record;
CREATE TRIGGER records_record_is_not_deleted BEFORE DELETE ON records_record
  FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER records_record_is_only_handed_on BEFORE UPDATE ON records_record
  FOR EACH ROW EXECUTE FUNCTION refuse_change_but_handing_on();

DROP TRIGGER document_is_made_once ON records_recorddocument;
CREATE TRIGGER document_is_made_once BEFORE UPDATE ON records_recorddocument
  FOR EACH ROW WHEN (OLD.sha256 IS NOT NULL) EXECUTE FUNCTION refuse_change_but_handing_on();
DROP FUNCTION refuse_change_of_made_document();
"""

# Work is done where one is appointed; what is left over from before can only be withdrawn.
APPOINTED = """
CREATE FUNCTION refuse_event_where_not_appointed() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  IF NEW.state <> 'withdrawn' AND NOT EXISTS (
       SELECT FROM records_site WHERE row = NEW.site_id AND contractor_id = NEW.contractor_id) THEN
    RAISE EXCEPTION 'another contractor looks after this station'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER event_is_where_one_is_appointed BEFORE INSERT OR UPDATE ON records_event
  FOR EACH ROW EXECUTE FUNCTION refuse_event_where_not_appointed();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0008_hard_limits_at_both_ends'),
    ]

    operations = [
        migrations.AddField(
            model_name='pumpset',
            name='former_contractors',
            field=django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), default=list, help_text='Their own events still name this pump set.', size=None),
        ),
        migrations.AddField(
            model_name='record',
            name='handed_to',
            field=django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), default=list, size=None),
        ),
        migrations.AddField(
            model_name='recorddocument',
            name='handed_to',
            field=django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), default=list, size=None),
        ),
        migrations.AddField(
            model_name='recordedvalue',
            name='handed_to',
            field=django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), default=list, size=None),
        ),
        migrations.AddField(
            model_name='site',
            name='former_contractors',
            field=django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), default=list, help_text='Their own events still name this station.', size=None),
        ),
        migrations.RunSQL([*empty_unless_told(), HANDED, APPOINTED], migrations.RunSQL.noop),
    ]
