"""What a sealed record did of each verification task, how often tasks are due, what stood when.

Due dates follow from these three and are kept nowhere. The register tells what stands now; of
each piece a row is kept besides for as long as it was known so, by a trigger, so that any past day
can be asked what it said. The table of tasks of before was never written, and goes.
"""

import django.contrib.postgres.fields
import django.db.models.deletion
import records.models.base
import records.models.fields
from django.conf import settings
from django.db import migrations, models

from records.migrations._guards import rows_are


STANDING = {
    "records_site": "site", "records_pump": "pump", "records_motor": "motor",
    "records_drive": "drive", "records_sensor": "sensor", "records_vessel": "vessel",
    "records_pumpset": "pump_set",
}

# Pieces are told by their ids; words that tasks ask for are those of `calculations.tasks`.
STANDS = """
CREATE FUNCTION keep_what_stands() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
DECLARE
  word text := TG_ARGV[0];
  given jsonb := to_jsonb(NEW);
  before records_piecestanding%ROWTYPE;
  told records_piecestanding%ROWTYPE;
  rating jsonb;
BEGIN
  told.contractor_id := NEW.contractor_id;
  told.client_id := NEW.client_id;
  told.kind := word;
  told.piece := NEW.id;
  told.site_id := coalesce(given ->> 'site_id', given ->> 'row');
  told.tag := coalesce(given ->> 'tag', given ->> 'code');
  told.serial := coalesce(given ->> 'serial', '');
  told.firmware := coalesce(given ->> 'firmware', '');
  told.time_zone := coalesce(given ->> 'time_zone', '');
  told.in_service_from := NEW.in_service_from;
  told.out_of_service_on := NEW.out_of_service_on;
  told.registered_on := NEW.created_at::date;
  told.known_from := least(NEW.created_at, clock_timestamp());
  IF word = 'site' THEN
    told.traits := ARRAY['site.' || (given ->> 'kind'), 'liquid.' || (given ->> 'liquid_kind')];
  ELSIF word = 'sensor' THEN
    told.traits := ARRAY['sensor.' || (given ->> 'quantity')];
  ELSIF word = 'pump' THEN
    told.traits := CASE WHEN given ->> 'type' LIKE 'submersible%' THEN '{pump.submersible}'
                        ELSE '{}' END::text[];
  ELSIF word = 'motor' THEN
    rating := given -> 'ratings' -> (given ->> 'rating_in_use')::integer -> 'power';
    told.traits := array_remove(ARRAY[
      CASE WHEN (given ->> 'immersed')::boolean THEN 'motor.immersed' END,
      CASE WHEN (given ->> 'leak_sensor')::boolean THEN 'motor.leak_sensor' END,
      CASE WHEN given ->> 'thermal_sensor' NOT IN ('none', 'unknown')
           THEN 'motor.thermal_sensor' END,
      CASE WHEN (rating ->> 'value')::numeric * CASE rating ->> 'unit'
             WHEN 'W' THEN 0.001 WHEN 'kW' THEN 1 WHEN 'MW' THEN 1000
             WHEN 'hp' THEN 0.745699872 WHEN 'hp_metric' THEN 0.73549875 END >= 75
           THEN 'motor.large' END], NULL);
  ELSIF word = 'pump_set' THEN
    told.traits := array_remove(ARRAY[
      CASE WHEN given ->> 'drive_id' IS NOT NULL THEN 'set.with_drive' END,
      CASE WHEN given ->> 'regulating_sensor_id' IS NOT NULL THEN 'set.regulated' END,
      CASE WHEN coalesce(given ->> 'group', '') <> '' THEN 'set.grouped' END], NULL);
    SELECT id INTO told.pump FROM records_pump WHERE row = (given ->> 'pump_id')::bigint;
    SELECT id INTO told.motor FROM records_motor WHERE row = (given ->> 'motor_id')::bigint;
    SELECT id INTO told.drive FROM records_drive WHERE row = (given ->> 'drive_id')::bigint;
  ELSE
    told.traits := '{}';
  END IF;
  SELECT * INTO before FROM records_piecestanding
   WHERE site_id = told.site_id AND kind = word AND piece = told.piece AND known_until IS NULL;
  IF FOUND THEN
    told.known_from := clock_timestamp();
    told.row := before.row;
    before.known_from := told.known_from;
    IF told IS NOT DISTINCT FROM before THEN
      RETURN NULL;
    END IF;
    UPDATE records_piecestanding SET known_until = told.known_from WHERE row = before.row;
  END IF;
  told.row := nextval(pg_get_serial_sequence('public.records_piecestanding', 'row'));
  INSERT INTO records_piecestanding OVERRIDING SYSTEM VALUE VALUES (told.*);
  RETURN NULL;
END $$;
"""


def registers_are_followed():
    for table, word in STANDING.items():
        yield (
            f"CREATE TRIGGER {table}_stands AFTER INSERT OR UPDATE ON {table}"
            f" FOR EACH ROW EXECUTE FUNCTION keep_what_stands('{word}')"
        )


def what_stands_now_is_taken_down():
    return [f"UPDATE {table} SET id = id" for table in STANDING]


# What was known is ended, once, and else kept as it is.
ENDED = """
CREATE FUNCTION refuse_change_of_what_stood() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF OLD.known_until IS NOT NULL OR NEW.known_until IS NULL
     OR (to_jsonb(NEW) - 'known_until') <> (to_jsonb(OLD) - 'known_until') THEN
    RAISE EXCEPTION 'what stood is only ended' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER what_stood_is_only_ended BEFORE UPDATE ON records_piecestanding
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_what_stood();

CREATE FUNCTION refuse_change_of_interval_setting() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF OLD.ended_at IS NOT NULL OR NEW.ended_at IS NULL
     OR (to_jsonb(NEW) - '{ended_at,ended_by_id,ended_by_name}'::text[])
        <> (to_jsonb(OLD) - '{ended_at,ended_by_id,ended_by_name}'::text[]) THEN
    RAISE EXCEPTION 'an interval setting can only be ended'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER interval_setting_is_only_ended BEFORE UPDATE ON records_intervalsetting
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_interval_setting();

CREATE TRIGGER performed_task_is_only_handed_on BEFORE UPDATE ON records_performedtask
  FOR EACH ROW EXECUTE FUNCTION refuse_change_but_handing_on();

ALTER TABLE records_performedtask ALTER COLUMN handed_to SET DEFAULT '{}';
"""

KEYS = """
ALTER TABLE records_record ADD CONSTRAINT record_with_its_parties
  UNIQUE (row, site_id, contractor_id, client_id);
ALTER TABLE records_performedtask ADD CONSTRAINT performed_task_same_parties
  FOREIGN KEY (record_id, site_id, contractor_id, client_id)
  REFERENCES records_record (row, site_id, contractor_id, client_id);
ALTER TABLE records_piecestanding ADD CONSTRAINT standing_at_a_site_of_the_client
  FOREIGN KEY (site_id, client_id) REFERENCES records_site (row, client_id);
ALTER TABLE records_intervalsetting ADD CONSTRAINT interval_at_a_site_of_the_client
  FOREIGN KEY (site_id, client_id) REFERENCES records_site (row, client_id);
-- Intervals are set for those that one works for.
ALTER TABLE records_intervalsetting ADD CONSTRAINT interval_for_a_client
  FOREIGN KEY (contractor_id, client_id) REFERENCES records_clientele (contractor_id, client_id);
"""

KEPT = ("records_performedtask", "records_piecestanding", "records_intervalsetting")


def words(table, column, listed):
    """The check of a closed list that has grown."""
    quoted = ", ".join(f"'{word}'" for word in listed)
    return (
        f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_check;"
        f"ALTER TABLE {table} ADD CONSTRAINT {table}_{column}_check CHECK ({column} IN ({quoted}))"
    )


ACTIONS = (
    "added", "changed", "taken out of service", "finding answered", "file added", "file removed", "signed", "signature withdrawn", "signature void", "withdrawn", "sealed", "limit set", "limit removed", "interval set", "interval removed", "token made", "token revoked", "enrolment code made", "device enrolled", "person invited", "role changed", "person removed", "second factor removed", "operator admitted", "operator dismissed", "operator looked", "contractor appointed", "appointment ended",
)
SUBJECTS = (
    "site", "pump", "motor", "drive", "sensor", "vessel", "pump set", "instrument",
    "organization", "event", "rule setting", "interval setting", "token", "person",
)

GUARDS = [
    STANDS,
    *registers_are_followed(),
    ENDED,
    KEYS,
    *(guard for table in KEPT for guard in rows_are(table, "not_deleted", "not_emptied")),
    words("records_auditentry", "action", ACTIONS),
    words("records_auditentry", "kind", SUBJECTS),
    *what_stands_now_is_taken_down(),
]


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0012_documents_keep_their_crc_32'),
    ]

    operations = [
        migrations.AlterField(
            model_name='auditentry',
            name='action',
            field=records.models.fields.WordField(choices=[('added', 'added'), ('changed', 'changed'), ('taken out of service', 'taken out of service'), ('finding answered', 'finding answered'), ('file added', 'file added'), ('file removed', 'file removed'), ('signed', 'signed'), ('signature withdrawn', 'signature withdrawn'), ('signature void', 'signature void'), ('withdrawn', 'withdrawn'), ('sealed', 'sealed'), ('limit set', 'limit set'), ('limit removed', 'limit removed'), ('interval set', 'interval set'), ('interval removed', 'interval removed'), ('token made', 'token made'), ('token revoked', 'token revoked'), ('enrolment code made', 'enrolment code made'), ('device enrolled', 'device enrolled'), ('person invited', 'person invited'), ('role changed', 'role changed'), ('person removed', 'person removed'), ('second factor removed', 'second factor removed'), ('operator admitted', 'operator admitted'), ('operator dismissed', 'operator dismissed'), ('operator looked', 'operator looked'), ('contractor appointed', 'contractor appointed'), ('appointment ended', 'appointment ended')]),
        ),
        migrations.AlterField(
            model_name='auditentry',
            name='kind',
            field=records.models.fields.WordField(choices=[('site', 'site'), ('pump', 'pump'), ('motor', 'motor'), ('drive', 'drive'), ('sensor', 'sensor'), ('vessel', 'vessel'), ('pump set', 'pump set'), ('instrument', 'instrument'), ('organization', 'organization'), ('event', 'event'), ('rule setting', 'rule setting'), ('interval setting', 'interval setting'), ('token', 'token'), ('person', 'person')]),
        ),
        migrations.CreateModel(
            name='PerformedTask',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False, unique=True)),
                ('task', models.TextField()),
                ('kind', records.models.fields.WordField(choices=[('pump_set', 'pump set'), ('pump', 'pump'), ('motor', 'motor'), ('drive', 'drive'), ('sensor', 'sensor'), ('vessel', 'vessel')])),
                ('tag', models.TextField()),
                ('piece', models.UUIDField(null=True)),
                ('serial', models.TextField()),
                ('firmware', models.TextField()),
                ('drive', models.UUIDField(null=True)),
                ('drive_serial', models.TextField()),
                ('place', models.TextField(help_text='JSON Pointer into what was judged.')),
                ('performed_on', models.DateField(help_text='By the clock of the site.')),
                ('sealed_at', models.DateTimeField()),
                ('result', records.models.fields.WordField(choices=[('inside', 'inside'), ('outside', 'outside'), ('not_judged', 'not judged'), ('not_possible', 'not possible'), ('begun', 'begun')])),
                ('as_found', records.models.fields.WordField(choices=[('inside', 'inside'), ('outside', 'outside')], null=True)),
                ('ratio', models.FloatField(help_text='Worst error as found over the tolerance.', null=True)),
                ('reason', models.TextField(help_text='Why it was not possible.')),
                ('handed_to', django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), default=list, size=None)),
                ('client', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='performed', to='records.record')),
                ('site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.site')),
            ],
        ),
        migrations.CreateModel(
            name='IntervalSetting',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('id', models.UUIDField(default=records.models.base.new_id, editable=False)),
                ('task', models.TextField()),
                ('station_kind', records.models.fields.WordField(choices=[('booster', 'booster'), ('well', 'well'), ('raw_water', 'raw water'), ('lift_station', 'lift station'), ('reservoir_fill', 'reservoir fill'), ('irrigation', 'irrigation'), ('other', 'other'), ('unknown', 'unknown')], null=True)),
                ('piece', models.UUIDField(null=True)),
                ('tag', models.TextField(default='', help_text='Of the piece, when this was set.')),
                ('months', models.PositiveSmallIntegerField()),
                ('catalogue_months', models.PositiveSmallIntegerField()),
                ('safety', models.BooleanField()),
                ('reason', models.TextField()),
                ('created_digest', models.BinaryField(max_length=32)),
                ('set_by_name', models.TextField()),
                ('set_at', models.DateTimeField()),
                ('ended_by_name', models.TextField(default='')),
                ('ended_at', models.DateTimeField(null=True)),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('ended_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('set_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.site')),
                ('proposal', models.ForeignKey(help_text='What was found, where a proposal of it was accepted.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.performedtask')),
            ],
        ),
        migrations.CreateModel(
            name='PieceStanding',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('kind', records.models.fields.WordField(choices=[('site', 'site'), ('pump_set', 'pump set'), ('pump', 'pump'), ('motor', 'motor'), ('drive', 'drive'), ('sensor', 'sensor'), ('vessel', 'vessel')])),
                ('piece', models.UUIDField(help_text='Id of the piece.')),
                ('tag', models.TextField()),
                ('serial', models.TextField()),
                ('firmware', models.TextField()),
                ('pump', models.UUIDField(help_text='Of a pump set; so are motor and drive.', null=True)),
                ('motor', models.UUIDField(null=True)),
                ('drive', models.UUIDField(null=True)),
                ('traits', django.contrib.postgres.fields.ArrayField(base_field=models.TextField(), help_text='Words that tasks ask for.', size=None)),
                ('time_zone', models.TextField(help_text='Of a site.')),
                ('in_service_from', models.DateField(null=True)),
                ('out_of_service_on', models.DateField(null=True)),
                ('registered_on', models.DateField()),
                ('known_from', models.DateTimeField()),
                ('known_until', models.DateTimeField(help_text='Null: it is so now.', null=True)),
                ('client', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.site')),
            ],
        ),
        migrations.DeleteModel(
            name='VerificationTask',
        ),
        migrations.AddIndex(
            model_name='performedtask',
            index=models.Index(fields=['site', 'task', 'tag', '-performed_on', '-row'], name='performed_last'),
        ),
        migrations.AddIndex(
            model_name='performedtask',
            index=models.Index(fields=['contractor', '-row'], name='performed_of_contractor'),
        ),
        migrations.AddIndex(
            model_name='performedtask',
            index=models.Index(fields=['client', '-row'], name='performed_of_client'),
        ),
        migrations.AddConstraint(
            model_name='performedtask',
            constraint=models.UniqueConstraint(fields=('record', 'task', 'tag'), name='task_is_performed_once_a_record'),
        ),
        migrations.AddConstraint(
            model_name='performedtask',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('result', 'not_possible'), _negated=True), models.Q(('reason__regex', '^\\s*$'), _negated=True), _connector='OR'), name='not_possible_says_why'),
        ),
        migrations.AddConstraint(
            model_name='intervalsetting',
            constraint=models.UniqueConstraint(fields=('contractor', 'id'), name='interval_setting_id_in_contractor'),
        ),
        migrations.AddConstraint(
            model_name='intervalsetting',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('contractor', 'client', 'task', 'station_kind', 'site', 'piece'), name='one_interval_in_force', nulls_distinct=False),
        ),
        migrations.AddConstraint(
            model_name='intervalsetting',
            constraint=models.CheckConstraint(condition=models.Q(('months__gte', 1), ('months__lte', 120)), name='interval_from_1_to_120_months'),
        ),
        migrations.AddConstraint(
            model_name='intervalsetting',
            constraint=models.CheckConstraint(condition=models.Q(('safety', False), ('months__lte', models.F('catalogue_months')), _connector='OR'), name='interval_of_safety_is_not_lengthened'),
        ),
        migrations.AddConstraint(
            model_name='intervalsetting',
            constraint=models.CheckConstraint(condition=models.Q(('reason__regex', '^\\s*$'), _negated=True), name='interval_has_a_reason'),
        ),
        migrations.AddConstraint(
            model_name='intervalsetting',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('piece', None), ('site', None)), models.Q(('piece__isnull', False), ('site__isnull', False), ('station_kind', None)), _connector='OR'), name='interval_of_a_kind_or_of_a_piece'),
        ),
        migrations.AddConstraint(
            model_name='intervalsetting',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ended_at', None), ('ended_by', None)), models.Q(('ended_at__isnull', False), ('ended_by__isnull', False)), _connector='OR'), name='interval_setting_is_ended_by_somebody'),
        ),
        migrations.AddIndex(
            model_name='piecestanding',
            index=models.Index(fields=['site', 'kind', 'tag'], name='standing_at_site'),
        ),
        migrations.AddIndex(
            model_name='piecestanding',
            index=models.Index(condition=models.Q(('kind', 'site')), fields=['contractor', 'site'], name='sites_of_contractor'),
        ),
        migrations.AddIndex(
            model_name='piecestanding',
            index=models.Index(condition=models.Q(('kind', 'site')), fields=['client', 'site'], name='sites_of_client'),
        ),
        migrations.AddConstraint(
            model_name='piecestanding',
            constraint=models.UniqueConstraint(condition=models.Q(('known_until', None)), fields=('site', 'kind', 'piece'), name='piece_stands_in_one_way'),
        ),
        migrations.AddConstraint(
            model_name='piecestanding',
            constraint=models.CheckConstraint(condition=models.Q(('known_until', None), ('known_until__gte', models.F('known_from')), _connector='OR'), name='standing_ends_after_it_begins'),
        ),
        migrations.RunSQL(GUARDS, migrations.RunSQL.noop),
    ]
