"""Whether a contractor was handed any records is asked before its list of them."""

import django.contrib.postgres.indexes
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0010_operators_are_admitted'),
    ]

    operations = [
        migrations.AddIndex(
            model_name='record',
            index=django.contrib.postgres.indexes.GinIndex(fields=['handed_to'], name='record_handed_to'),
        ),
    ]
