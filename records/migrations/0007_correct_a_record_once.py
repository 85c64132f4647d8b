"""Of two drafts that correct the same record one is sealed."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0006_files_under_way_in_parts")]

    operations = [
        migrations.AddConstraint(
            model_name="record",
            constraint=models.UniqueConstraint(
                fields=("corrects",), name="record_is_corrected_once"
            ),
        ),
    ]
