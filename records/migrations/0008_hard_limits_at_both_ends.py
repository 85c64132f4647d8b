"""Heights, resistances and shares have a hard limit at both ends."""

from django.db import migrations

import records.models.fields


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0007_correct_a_record_once"),
    ]

    operations = [
        migrations.AlterField(
            model_name="drive",
            name="overload_seconds",
            field=records.models.fields.QuantityField(
                above="0 s", blank=True, high="3600 s", kinds=("time",), null=True
            ),
        ),
        migrations.AlterField(
            model_name="instrument",
            name="digits",
            field=records.models.fields.QuantityField(
                blank=True, high="1000 1", kinds=("count",), low="0 1", null=True
            ),
        ),
        migrations.AlterField(
            model_name="instrument",
            name="percent_of_range",
            field=records.models.fields.QuantityField(
                blank=True, high="100 %", kinds=("ratio",), low="0 %", null=True
            ),
        ),
        migrations.AlterField(
            model_name="instrument",
            name="percent_of_reading",
            field=records.models.fields.QuantityField(
                blank=True, high="100 %", kinds=("ratio",), low="0 %", null=True
            ),
        ),
        migrations.AlterField(
            model_name="motor",
            name="back_emf",
            field=records.models.fields.QuantityField(
                above="0 V/krpm", blank=True, high="500000 V/krpm", kinds=("back_emf",), null=True
            ),
        ),
        migrations.AlterField(
            model_name="motor",
            name="d_inductance",
            field=records.models.fields.QuantityField(
                above="0 mH", blank=True, high="100000 mH", kinds=("inductance",), null=True
            ),
        ),
        migrations.AlterField(
            model_name="motor",
            name="duty_minutes",
            field=records.models.fields.QuantityField(
                above="0 s", blank=True, high="24 h", kinds=("time",), null=True
            ),
        ),
        migrations.AlterField(
            model_name="motor",
            name="inertia",
            field=records.models.fields.QuantityField(
                above="0 kg.m2", blank=True, high="1000000 kg.m2", kinds=("inertia",), null=True
            ),
        ),
        migrations.AlterField(
            model_name="motor",
            name="minimum_liquid_level",
            field=records.models.fields.QuantityField(
                blank=True, high="10000 m", kinds=("length",), low="-10000 m", null=True
            ),
        ),
        migrations.AlterField(
            model_name="motor",
            name="q_inductance",
            field=records.models.fields.QuantityField(
                above="0 mH", blank=True, high="100000 mH", kinds=("inductance",), null=True
            ),
        ),
        migrations.AlterField(
            model_name="motor",
            name="stator_resistance",
            field=records.models.fields.QuantityField(
                above="0 ohm", blank=True, high="10 kohm", kinds=("resistance",), null=True
            ),
        ),
        migrations.AlterField(
            model_name="sensor",
            name="tapping_elevation",
            field=records.models.fields.QuantityField(
                blank=True, high="10000 m", kinds=("length",), low="-10000 m", null=True
            ),
        ),
        migrations.AlterField(
            model_name="sensor",
            name="volume_per_pulse",
            field=records.models.fields.QuantityField(
                above="0 L", blank=True, high="1000 m3", kinds=("volume",), null=True
            ),
        ),
        migrations.AlterField(
            model_name="sensor",
            name="zero_elevation",
            field=records.models.fields.QuantityField(
                blank=True, high="10000 m", kinds=("length",), low="-10000 m", null=True
            ),
        ),
        migrations.AlterField(
            model_name="site",
            name="inlet_invert",
            field=records.models.fields.QuantityField(
                blank=True, high="10000 m", kinds=("length",), low="-10000 m", null=True
            ),
        ),
        migrations.AlterField(
            model_name="site",
            name="overflow_level",
            field=records.models.fields.QuantityField(
                blank=True, high="10000 m", kinds=("length",), low="-10000 m", null=True
            ),
        ),
        migrations.AlterField(
            model_name="site",
            name="suction_level_high",
            field=records.models.fields.QuantityField(
                blank=True, high="10000 m", kinds=("length",), low="-10000 m", null=True
            ),
        ),
        migrations.AlterField(
            model_name="site",
            name="suction_level_low",
            field=records.models.fields.QuantityField(
                blank=True, high="10000 m", kinds=("length",), low="-10000 m", null=True
            ),
        ),
        migrations.AlterField(
            model_name="site",
            name="wet_well_floor",
            field=records.models.fields.QuantityField(
                blank=True, high="10000 m", kinds=("length",), low="-10000 m", null=True
            ),
        ),
    ]
