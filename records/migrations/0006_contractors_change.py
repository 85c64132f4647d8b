"""A station gets another contractor: events stay with the old one, records are handed on.

What several contractors share is nobody's alone: neither a client's name, nor who works for whom.
"""

import django.contrib.postgres.indexes
from django.contrib.postgres.fields import ArrayField
from django.db import migrations, models

from records.migrations._guards import refusal, rows_are


TABLES = {
    "records_site": "former_contractors",
    "records_pumpset": "former_contractors",
    "records_record": "handed_to",
    "records_recorddocument": "handed_to",
    "records_recordedvalue": "handed_to",
}


def contractors(**options):
    return ArrayField(base_field=models.UUIDField(), default=list, size=None, **options)


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
CREATE TRIGGER records_record_is_only_handed_on BEFORE UPDATE ON records_record
  FOR EACH ROW EXECUTE FUNCTION refuse_change_but_handing_on();

DROP TRIGGER document_is_made_once ON records_recorddocument;
CREATE TRIGGER document_is_made_once BEFORE UPDATE ON records_recorddocument
  FOR EACH ROW WHEN (OLD.sha256 IS NOT NULL) EXECUTE FUNCTION refuse_change_but_handing_on();
DROP FUNCTION refuse_change_of_made_document();
"""

# Work is done where one is appointed; what is left over from before can only be withdrawn.
NOT_APPOINTED = """NEW.state <> 'withdrawn' AND NOT EXISTS (
       SELECT FROM records_site WHERE row = NEW.site_id AND contractor_id = NEW.contractor_id)"""

APPOINTED = """
CREATE TRIGGER event_is_where_one_is_appointed BEFORE INSERT OR UPDATE ON records_event
  FOR EACH ROW EXECUTE FUNCTION refuse_event_where_not_appointed();
"""

# Whoever runs the service acts without an organization, and may rename and pair them.
SHARED = """app_org() IS NOT NULL AND app_org() <> OLD.id AND EXISTS (
       SELECT FROM records_clientele
        WHERE client_id = OLD.id AND contractor_id <> app_org())"""

NAMED = """
CREATE TRIGGER shared_client_keeps_its_name BEFORE UPDATE OF name ON records_organization
  FOR EACH ROW WHEN (NEW.name IS DISTINCT FROM OLD.name)
  EXECUTE FUNCTION refuse_name_of_a_shared_client();
"""

# A pair opens the other's name, and is what a site and a limit of it rest on: an office makes one
# with an organization that it adds just then.
STRANGER = """app_org() IS NOT NULL AND app_org() <> NEW.client_id
     AND EXISTS (SELECT FROM records_organization WHERE id = NEW.client_id)
     AND NOT EXISTS (SELECT FROM records_clientele
                      WHERE client_id = NEW.client_id AND contractor_id = NEW.contractor_id)"""

PAIRED = """
CREATE TRIGGER no_pair_with_a_stranger BEFORE INSERT ON records_clientele
  FOR EACH ROW EXECUTE FUNCTION refuse_pair_with_a_stranger();
"""

GUARDS = [
    HANDED,
    *rows_are("records_record", "not_deleted"),
    refusal(
        "refuse_event_where_not_appointed", NOT_APPOINTED,
        "another contractor looks after this station",
    ),
    APPOINTED,
    refusal(
        "refuse_name_of_a_shared_client", SHARED, "a client of several contractors keeps its name"
    ),
    NAMED,
    refusal(
        "refuse_pair_with_a_stranger", STRANGER, "the organization is another one''s client"
    ),
    PAIRED,
]


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0005_keep_an_audit'),
    ]

    operations = [
        migrations.AddField('site', 'former_contractors', contractors(help_text='Their own events still name this station.')),
        migrations.AddField('pumpset', 'former_contractors', contractors(help_text='Their own events still name this pump set.')),
        migrations.AddField('record', 'handed_to', contractors()),
        migrations.AddField('recorddocument', 'handed_to', contractors()),
        migrations.AddField('recordedvalue', 'handed_to', contractors()),
        # Whether a contractor was handed any records is asked before its list of them.
        migrations.AddIndex(
            'record',
            django.contrib.postgres.indexes.GinIndex(fields=['handed_to'], name='record_handed_to'),
        ),
        migrations.RunSQL([*empty_unless_told(), *GUARDS], migrations.RunSQL.noop),
    ]
