"""What the database itself refuses: rows of strangers, broken chains, changes of what is sealed."""

from django.db import migrations

COPIED_PARTIES = {
    # table: (column, parent table, copied columns)
    "records_pump": ("site_id", "records_site", ("contractor_id", "client_id")),
    "records_motor": ("site_id", "records_site", ("contractor_id", "client_id")),
    "records_drive": ("site_id", "records_site", ("contractor_id", "client_id")),
    "records_sensor": ("site_id", "records_site", ("contractor_id", "client_id")),
    "records_vessel": ("site_id", "records_site", ("contractor_id", "client_id")),
    "records_pumpset": ("site_id", "records_site", ("contractor_id", "client_id")),
    "records_sitesummary": ("site_id", "records_site", ("contractor_id", "client_id")),
    "records_verificationtask": ("site_id", "records_site", ("contractor_id", "client_id")),
    # An event stays with the contractor that performed it, whoever looks after the site later.
    "records_event": ("site_id", "records_site", ("client_id",)),
    "records_finding": ("event_id", "records_event", ("contractor_id", "client_id")),
    "records_answer": ("event_id", "records_event", ("contractor_id", "client_id")),
    "records_signature": ("event_id", "records_event", ("contractor_id", "client_id")),
    "records_attachment": ("event_id", "records_event", ("contractor_id", "client_id")),
    "records_trace": ("event_id", "records_event", ("contractor_id", "client_id")),
    "records_record": ("event_id", "records_event", ("contractor_id", "client_id")),
}

PARTS_OF_A_SET = {
    "pump": "pump_id",
    "motor": "motor_id",
    "drive": "drive_id",
    "sensor": (
        "regulating_sensor_id",
        "suction_sensor_id",
        "flow_meter_id",
        "level_sensor_id",
        "discharge_switch_id",
    ),
}


def parties_stay_together():
    for table, (column, parent, copied) in COPIED_PARTIES.items():
        columns = ", ".join((column, *copied))
        theirs = ", ".join(("row", *copied))
        yield (
            f"ALTER TABLE {table} ADD CONSTRAINT {table.removeprefix('records_')}_same_parties"
            f" FOREIGN KEY ({columns}) REFERENCES {parent} ({theirs}) ON UPDATE CASCADE"
        )


def parts_stand_at_the_same_site():
    for part, columns in PARTS_OF_A_SET.items():
        yield (
            f"ALTER TABLE records_{part} ADD CONSTRAINT {part}_at_its_site UNIQUE (row, site_id)"
        )
        for column in (columns,) if isinstance(columns, str) else columns:
            yield (
                f"ALTER TABLE records_pumpset ADD CONSTRAINT pump_set_{column.removesuffix('_id')}"
                f"_at_the_same_site FOREIGN KEY ({column}, site_id)"
                f" REFERENCES records_{part} (row, site_id)"
            )
    yield (
        "ALTER TABLE records_pumpset ADD CONSTRAINT pump_set_at_its_site UNIQUE (row, site_id);"
        "ALTER TABLE records_event ADD CONSTRAINT event_pump_set_at_the_same_site"
        " FOREIGN KEY (pump_set_id, site_id) REFERENCES records_pumpset (row, site_id)"
    )


FUNCTIONS = """
CREATE FUNCTION app_org() RETURNS uuid
LANGUAGE sql STABLE PARALLEL SAFE
AS $$ SELECT nullif(current_setting('app.org', true), '')::uuid $$;

-- Sign-in comes before an organization is known: one answer for one digest, nothing to list.
CREATE FUNCTION find_token(given bytea)
RETURNS TABLE (token_id uuid, user_id uuid, user_name text, organization_id uuid,
               organization_name text, role text, scopes text[])
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  UPDATE records_token SET last_used_at = now()
   WHERE digest = given AND revoked_at IS NULL AND expires_at > now()
     AND (last_used_at IS NULL OR last_used_at < now() - interval '1 minute');
  SELECT t.id, u.id, coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, t.role, t.scopes
    FROM records_token t
    JOIN records_user u ON u.id = t.user_id AND u.is_active
    JOIN records_organization o ON o.id = t.organization_id
    JOIN records_membership m ON m.user_id = u.id AND m.organization_id = o.id
   WHERE t.digest = given AND t.revoked_at IS NULL AND t.expires_at > now()
$$;

CREATE FUNCTION memberships_of(given uuid)
RETURNS TABLE (user_name text, organization_id uuid, organization_name text, role text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, m.role
    FROM records_membership m
    JOIN records_user u ON u.id = m.user_id AND u.is_active
    JOIN records_organization o ON o.id = m.organization_id
   WHERE m.user_id = given
   ORDER BY m.since
$$;
"""

CHAIN = """
CREATE FUNCTION refuse_broken_chain() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
DECLARE
  before records_record%ROWTYPE;
BEGIN
  SELECT * INTO before FROM records_record
   WHERE site_id = NEW.site_id ORDER BY number DESC LIMIT 1;
  IF EXISTS (SELECT FROM records_event WHERE row = NEW.event_id AND state = 'withdrawn') THEN
    RAISE EXCEPTION 'event is withdrawn' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  IF NEW.number <> coalesce(before.number, 0) + 1 THEN
    RAISE EXCEPTION 'record number % does not follow % at this site', NEW.number,
      coalesce(before.number, 0) USING ERRCODE = 'check_violation';
  END IF;
  IF NEW.previous_digest IS DISTINCT FROM before.digest THEN
    RAISE EXCEPTION 'record does not link to the one before it at this site'
      USING ERRCODE = 'check_violation';
  END IF;
  IF NEW.digest <> sha256(NEW.canonical) THEN
    RAISE EXCEPTION 'digest is not that of the canonical text' USING ERRCODE = 'check_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER record_links_to_the_one_before BEFORE INSERT ON records_record
  FOR EACH ROW EXECUTE FUNCTION refuse_broken_chain();

CREATE FUNCTION refuse_change() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  RAISE EXCEPTION '% of % is refused: it is kept as it is', TG_OP, TG_TABLE_NAME
    USING ERRCODE = 'integrity_constraint_violation';
END $$;
"""

KEPT_FOR_EVER = ("records_record", "records_answer", "records_signingkey", "records_attachment",
                 "records_trace")
NEVER_DELETED = ("records_event", "records_finding", "records_signature", "records_recorddocument",
                 "records_site", "records_pump", "records_motor", "records_drive",
                 "records_sensor", "records_vessel", "records_pumpset", "records_instrument",
                 "records_rulesetting")


def nothing_is_rewritten():
    for table in KEPT_FOR_EVER:
        yield (
            f"CREATE TRIGGER {table}_is_kept BEFORE UPDATE OR DELETE ON {table}"
            " FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
    for table in NEVER_DELETED:
        yield (
            f"CREATE TRIGGER {table}_is_not_deleted BEFORE DELETE ON {table}"
            " FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
    for table in KEPT_FOR_EVER + NEVER_DELETED:
        yield (
            f"CREATE TRIGGER {table}_is_not_emptied BEFORE TRUNCATE ON {table}"
            " FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )


SEALED = """
CREATE FUNCTION refuse_change_of_closed_event() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF OLD.state <> 'draft' THEN
    RAISE EXCEPTION 'event is %', OLD.state USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  IF NEW.contractor_id <> OLD.contractor_id OR NEW.id <> OLD.id THEN
    RAISE EXCEPTION 'an event stays with its contractor'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER closed_event_is_kept BEFORE UPDATE ON records_event
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_closed_event();

-- Findings, answers, signatures and files stay as they were when the event was sealed or
-- withdrawn.
CREATE FUNCTION refuse_part_of_closed_event() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  IF EXISTS (SELECT FROM records_event
              WHERE row IN (NEW.event_id, OLD.event_id) AND state <> 'draft') THEN
    RAISE EXCEPTION 'event is sealed or withdrawn' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE FUNCTION refuse_change_of_made_document() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF OLD.sha256 IS NOT NULL THEN
    RAISE EXCEPTION 'the document is made once' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER document_is_made_once BEFORE UPDATE ON records_recorddocument
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_made_document();

-- A signature changes in one way only: it becomes void, once.
CREATE FUNCTION refuse_change_of_signature() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF OLD.void_since IS NOT NULL OR NEW.void_since IS NULL OR NEW.digest <> OLD.digest
     OR NEW.by_id <> OLD.by_id OR NEW.meaning <> OLD.meaning OR NEW.at <> OLD.at
     OR NEW.by_name <> OLD.by_name OR NEW.event_id <> OLD.event_id THEN
    RAISE EXCEPTION 'a signature can only become void'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER signature_only_becomes_void BEFORE UPDATE ON records_signature
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_signature();

-- What was set, by whom and why, stays: a setting is ended, once.
CREATE FUNCTION refuse_change_of_rule_setting() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  IF OLD.ended_at IS NOT NULL OR NEW.ended_at IS NULL
     OR (to_jsonb(NEW) - '{ended_at,ended_by_id,ended_by_name}'::text[])
        <> (to_jsonb(OLD) - '{ended_at,ended_by_id,ended_by_name}'::text[]) THEN
    RAISE EXCEPTION 'a rule setting can only be ended'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER rule_setting_is_only_ended BEFORE UPDATE ON records_rulesetting
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_rule_setting();

-- Limits are set for those that one works for.
ALTER TABLE records_rulesetting ADD CONSTRAINT rule_setting_for_a_client
  FOREIGN KEY (contractor_id, client_id) REFERENCES records_clientele (contractor_id, client_id);
"""


def parts_of_closed_events_are_kept():
    for part in ("finding", "answer", "signature", "attachment", "trace"):
        yield (
            f"CREATE TRIGGER {part}_of_closed_event_is_kept BEFORE INSERT OR UPDATE"
            f" ON records_{part} FOR EACH ROW EXECUTE FUNCTION refuse_part_of_closed_event()"
        )


# Wakes the relay: something sealed still lacks its document.
WAKE = """
CREATE FUNCTION wake_relay() RETURNS trigger
LANGUAGE plpgsql
AS $$
BEGIN
  PERFORM pg_notify('work_to_do', '');
  RETURN NULL;
END $$;

CREATE TRIGGER document_is_asked_for AFTER INSERT ON records_recorddocument
  FOR EACH STATEMENT EXECUTE FUNCTION wake_relay();
"""


class Migration(migrations.Migration):
    dependencies = [("records", "0001_register_events_and_records")]

    operations = [
        migrations.RunSQL(
            [
                *parties_stay_together(),
                *parts_stand_at_the_same_site(),
                FUNCTIONS,
                CHAIN,
                *nothing_is_rewritten(),
                SEALED,
                *parts_of_closed_events_are_kept(),
                WAKE,
            ],
            migrations.RunSQL.noop,
        )
    ]
