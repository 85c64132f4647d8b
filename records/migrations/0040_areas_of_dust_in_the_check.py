"""The check of the database follows: other choices alone change no table.

What was valid is valid still; `0043` has the database know it.
"""

from django.db import migrations

AREAS = (
    "none", "zone_0", "zone_1", "zone_2", "class1_div1", "class1_div2",
    "zone_20", "zone_21", "zone_22", "class2_div1", "class2_div2", "unknown",
)
QUOTED = ", ".join(f"'{word}'" for word in AREAS)
CHECK = f"""
ALTER TABLE records_site
  DROP CONSTRAINT records_site_hazardous_area_check,
  ADD CONSTRAINT records_site_hazardous_area_check CHECK (hazardous_area IN ({QUOTED})) NOT VALID;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0039_hazardous_areas_of_dust'),
    ]

    operations = [
        migrations.RunSQL(CHECK, migrations.RunSQL.noop),
    ]
