"""Indexes of foreign keys that another of their table begins with are written for nothing."""

from typing import Any

from django.contrib.postgres.operations import RemoveIndexConcurrently
from django.db import migrations, models

AWAY = "DROP INDEX CONCURRENTLY IF EXISTS {0}"
# Undone: an undoing that gave up waiting leaves half an index, which the next try takes away.
BACK = (AWAY, "CREATE INDEX CONCURRENTLY {0} ON records_{1} ({2}_id)")
# Of a key that is a text Django makes one more, for patterns that nobody looks for.
OF_PATTERNS = "records_signingkey_endorsed_by_id_54bc5654_like"
PATTERNS_BACK = [
    AWAY.format(OF_PATTERNS),
    f"CREATE INDEX CONCURRENTLY {OF_PATTERNS}"
    " ON records_signingkey (endorsed_by_id text_pattern_ops)",
]


def key(to: str, related_name: str = "+", **more: Any) -> models.Field:
    """A foreign key without an index of its own."""
    told: dict[str, Any] = {"on_delete": models.PROTECT, "related_name": related_name, **more}
    return models.ForeignKey(f"records.{to}", db_index=False, **told)


KEYS = (
    ("answer", "event", "records_answer_event_id_40521611", key("event", "%(class)ss")),
    ("attachment", "event", "records_attachment_event_id_80ac562d", key("event", "%(class)ss")),
    ("calendar", "user", "records_calendar_user_id_7ee92d63", key("user")),
    ("clientele", "contractor", "records_clientele_contractor_id_e211195b", key("organization")),
    ("devicekey", "organization", "records_devicekey_organization_id_c616d318", key("organization")),
    ("drive", "contractor", "records_drive_contractor_id_51612504", key("organization")),
    ("event", "contractor", "records_event_contractor_id_ec4ae111", key("organization")),
    ("finding", "event", "records_finding_event_id_5d4e10b3", key("event", "%(class)ss")),
    ("import", "contractor", "records_import_contractor_id_0e0f7d28", key("organization")),
    ("instrument", "contractor", "records_instrument_contractor_id_0474ff43", key("organization")),
    ("intervalsetting", "contractor", "records_intervalsetting_contractor_id_13e647bd", key("organization")),
    ("membership", "user", "records_membership_user_id_69042214", key("user", "memberships")),
    ("motor", "contractor", "records_motor_contractor_id_053b5602", key("organization")),
    ("performedtask", "record", "records_performedtask_record_id_998bec9b", key("record", "performed")),
    ("pump", "contractor", "records_pump_contractor_id_e87b49e9", key("organization")),
    ("pumpset", "contractor", "records_pumpset_contractor_id_3879cba9", key("organization")),
    ("record", "client", "records_record_client_id_4bc0288b", key("organization")),
    ("record", "contractor", "records_record_contractor_id_968b1d77", key("organization")),
    ("record", "corrects", "records_record_corrects_id_3f168fb6", key("record", "corrections", null=True)),
    ("record", "site", "records_record_site_id_e29275c7", key("site", "records")),
    ("recorddocument", "record", "records_recorddocument_record_id_54c0ec63", key("record", "documents")),
    ("recordedvalue", "record", "records_recordedvalue_record_id_a2c2283b", key("record", "values")),
    ("recordedvalue", "site", "records_recordedvalue_site_id_2a0a83e6", key("site")),
    ("report", "client", "records_report_client_id_298a4b3e", key("organization", null=True)),
    ("report", "contractor", "records_report_contractor_id_4276cb0f", key("organization")),
    ("reportmail", "report", "records_reportmail_report_id_330807ad", key("report", "mails")),
    ("reportschedule", "contractor", "records_reportschedule_contractor_id_b7edb9b5", key("organization")),
    ("rulesetting", "contractor", "records_rulesetting_contractor_id_ab204ad9", key("organization")),
    ("sensor", "contractor", "records_sensor_contractor_id_da314080", key("organization")),
    ("signature", "event", "records_signature_event_id_0475eece", key("event", "%(class)ss")),
    ("signingkey", "endorsed_by", "records_signingkey_endorsed_by_id_54bc5654", key("signingkey", "endorsed", null=True)),
    ("site", "client", "records_site_client_id_c50c3f47", key("organization")),
    ("site", "contractor", "records_site_contractor_id_42596ee6", key("organization")),
    ("trace", "event", "records_trace_event_id_48181575", key("event", "%(class)ss")),
    ("upload", "event", "records_upload_event_id_cd1a711b", key("event", "%(class)ss")),
    ("uploadpart", "upload", "records_uploadpart_upload_id_13e68e91", key("upload", on_delete=models.DO_NOTHING, db_constraint=False)),
    ("vessel", "contractor", "records_vessel_contractor_id_bd70a056", key("organization")),
)


class Migration(migrations.Migration):
    atomic = False  # what is taken away beside those who write goes outside of a transaction

    dependencies = [("records", "0032_an_audit_is_read_by_its_days")]

    operations = [
        migrations.SeparateDatabaseAndState(
            [
                migrations.RunSQL(
                    AWAY.format(index), [each.format(index, model, name) for each in BACK]
                )
            ],
            [migrations.AlterField(model, name, field)],
        )
        for model, name, index, field in KEYS
    ] + [
        migrations.RunSQL(AWAY.format(OF_PATTERNS), PATTERNS_BACK),
        RemoveIndexConcurrently("site", "site_by_client_and_code"),
        migrations.RunSQL(migrations.RunSQL.noop, AWAY.format("site_by_client_and_code")),
    ]
