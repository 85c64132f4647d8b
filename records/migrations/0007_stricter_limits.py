"""Heights, resistances and shares have a hard limit at both ends; a record is corrected once."""

from django.db import migrations, models

from records.models.fields import QuantityField


def quantity(kind, **limits):
    return QuantityField(blank=True, kinds=(kind,), null=True, **limits)


def height():
    return quantity("length", low="-10000 m", high="10000 m")


def inductance():
    return quantity("inductance", above="0 mH", high="100000 mH")


def share():
    return quantity("ratio", low="0 %", high="100 %")


LIMITED = {
    "site": {
        "inlet_invert": height(),
        "overflow_level": height(),
        "suction_level_high": height(),
        "suction_level_low": height(),
        "wet_well_floor": height(),
    },
    "motor": {
        "back_emf": quantity("back_emf", above="0 V/krpm", high="500000 V/krpm"),
        "d_inductance": inductance(),
        "q_inductance": inductance(),
        "duty_minutes": quantity("time", above="0 s", high="24 h"),
        "inertia": quantity("inertia", above="0 kg.m2", high="1000000 kg.m2"),
        "minimum_liquid_level": height(),
        "stator_resistance": quantity("resistance", above="0 ohm", high="10 kohm"),
    },
    "drive": {"overload_seconds": quantity("time", above="0 s", high="3600 s")},
    "sensor": {
        "tapping_elevation": height(),
        "zero_elevation": height(),
        "volume_per_pulse": quantity("volume", above="0 L", high="1000 m3"),
    },
    "instrument": {
        "digits": quantity("count", low="0 1", high="1000 1"),
        "percent_of_range": share(),
        "percent_of_reading": share(),
    },
}


class Migration(migrations.Migration):
    dependencies = [("records", "0006_contractors_change")]

    operations = [
        *(
            migrations.AlterField(model, name, field)
            for model, fields in LIMITED.items()
            for name, field in fields.items()
        ),
        # Of two drafts that correct the same record one is sealed.
        migrations.AddConstraint(
            "record",
            models.UniqueConstraint(fields=("corrects",), name="record_is_corrected_once"),
        ),
    ]
