"""The check of areas holds for stations of before as well; read without keeping anybody out."""

from django.db import migrations

VALID = "ALTER TABLE records_site VALIDATE CONSTRAINT records_site_hazardous_area_check"


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0042_what_was_rewound_before_is_taken_down'),
    ]

    operations = [
        migrations.RunSQL(VALID, migrations.RunSQL.noop),
    ]
