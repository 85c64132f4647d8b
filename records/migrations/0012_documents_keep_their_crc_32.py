"""A document's CRC-32 stands beside its digest; of older ones it is counted when they are sent."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0011_a_second_factor_taken_away_is_told'),
    ]

    operations = [
        migrations.AddField(
            model_name='recorddocument',
            name='crc32',
            field=models.PositiveBigIntegerField(help_text='Of the same bytes, as a ZIP lists it; of older documents not kept.', null=True),
        ),
    ]
