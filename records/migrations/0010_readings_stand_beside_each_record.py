"""The readings of each record as CSV stand beside it; of older ones `rewrite_readings` makes them."""

import django.contrib.postgres.fields
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0009_documents_as_a_client_wants_them'),
    ]

    operations = [
        migrations.CreateModel(
            name='RecordReadings',
            fields=[
                ('record', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='readings', serialize=False, to='records.record')),
                ('edition', models.PositiveSmallIntegerField(help_text='Of columns and words: EDITION then.')),
                ('lines', models.BinaryField()),
                ('handed_to', django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), default=list, size=None)),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('contractor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
            ],
        ),
    ]
