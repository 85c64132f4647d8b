"""Motors whose plate says already when they were rewound are taken down anew, with that day.

By itself, so that what stands can be read meanwhile, and after their stations, as everybody does
who changes what stands there.
"""

from django.db import migrations

HELD = """
SELECT FROM records_site
 WHERE row IN (SELECT site_id FROM records_motor WHERE rewound_on IS NOT NULL)
 ORDER BY row FOR KEY SHARE
"""
ANEW = "UPDATE records_motor SET id = id WHERE rewound_on IS NOT NULL"


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0041_a_new_winding_is_verified_anew'),
    ]

    operations = [
        migrations.RunSQL([HELD, ANEW], migrations.RunSQL.noop),
    ]
