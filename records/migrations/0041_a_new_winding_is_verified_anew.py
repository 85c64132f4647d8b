"""A new winding of a motor makes due again what was proven of the old one.

The row of what stands says when the winding was renewed, once the motor is written; the next
migration writes those whose plate says it already.
"""

from importlib import import_module

from django.db import migrations, models

STANDS = import_module("records.migrations.0013_verification_tasks_are_due_again").STANDS
WITH_WINDING = STANDS.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION", 1).replace(
    "  ELSIF word = 'motor' THEN\n",
    "  ELSIF word = 'motor' THEN\n    told.rewound_on := given ->> 'rewound_on';\n",
    1,
)


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0040_areas_of_dust_in_the_check'),
    ]

    operations = [
        migrations.AddField(
            model_name='piecestanding',
            name='rewound_on',
            field=models.DateField(help_text='Of a motor.', null=True),
        ),
        migrations.RunSQL(WITH_WINDING, STANDS.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION", 1)),
    ]
