"""How a client wants its documents printed: units and paper."""

import records.models.fields
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0008_keys_are_exchanged'),
    ]

    operations = [
        migrations.AddField(
            model_name='clientele',
            name='paper',
            field=records.models.fields.WordField(choices=[('usual', 'usual'), ('a4', 'a4'), ('letter', 'letter')], db_default='usual', default='usual'),
        ),
        migrations.AddField(
            model_name='clientele',
            name='units',
            field=records.models.fields.WordField(choices=[('entered', 'entered'), ('si', 'si'), ('us', 'us')], db_default='entered', default='entered'),
        ),
    ]
