"""What was done last of a task is the first row of an index: nothing is sorted for it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0019_sites_tags_and_numbers_are_looked_for")]

    operations = [
        migrations.AddIndex(
            "performedtask",
            models.Index(
                fields=["site", "task", "tag", "-performed_on", "-sealed_at", "-row"],
                name="performed_newest",
            ),
        ),
        migrations.RemoveIndex("performedtask", "performed_last"),
    ]
