"""A device makes a key that it cannot give away, and signs with it where there is no signal."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from records.migrations._guards import refusal, rows_are

OWN = refusal(
    "refuse_key_of_another_token",
    "NOT EXISTS (SELECT FROM records_token t WHERE t.id = NEW.token_id"
    " AND t.user_id = NEW.user_id AND t.organization_id = NEW.organization_id"
    " AND 'sign' = ANY (t.scopes) AND t.revoked_at IS NULL)",
    "a key belongs to the person of a token that signs",
)
GUARDS = ";\n".join(
    (
        *rows_are("records_devicekey", "kept"),
        OWN.strip(),
        "CREATE TRIGGER key_is_of_its_token BEFORE INSERT ON records_devicekey"
        " FOR EACH ROW EXECUTE FUNCTION refuse_key_of_another_token()",
    )
)


class Migration(migrations.Migration):
    dependencies = [("records", "0021_spreadsheets_come_in")]

    operations = [
        migrations.AddField(
            model_name='signature',
            name='device',
            field=models.JSONField(help_text='Where a device signed: statement, digest, signature, public key.', null=True),
        ),
        migrations.CreateModel(
            name='DeviceKey',
            fields=[
                ('token', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='device_key', serialize=False, to='records.token')),
                ('kid', models.TextField(help_text='RFC 7638 thumbprint.')),
                ('public_jwk', models.JSONField()),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('organization', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('organization', 'kid'), name='device_key_is_one_devices')],
            },
        ),
        migrations.RunSQL(GUARDS, migrations.RunSQL.noop),
    ]
