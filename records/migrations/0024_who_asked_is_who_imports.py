"""A spreadsheet is checked and written in the place of whoever asked for that, not of its sender."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0023_nobody_waits_to_be_let_in")]

    operations = [
        migrations.AddField(
            "import",
            "asked_by",
            models.ForeignKey(
                settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True,
                db_index=False,
                help_text="Who had it checked or written last: in whose place the background does"
                " it.",
            ),
        )  # fmt: skip
    ]
