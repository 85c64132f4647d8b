"""The dated joining of pump, motor, drive and sensors, and the instruments of the contractor."""

from typing import Any

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from calculations.inputs import pump_set, sensor
from records.models.base import BLANK, Registered, in_service_dates
from records.models.equipment import Drive, Motor, Pump, Sensor
from records.models.fields import QuantityField, WordField
from records.models.site import Site


def _part(model: type[models.Model], null: bool = False) -> Any:
    return models.ForeignKey(model, on_delete=models.PROTECT, related_name="+", null=null)


def _in_one_set(part: str, unless: Q | None = None) -> models.UniqueConstraint:
    """A piece turns in one pump set at a time."""
    return models.UniqueConstraint(
        fields=[part],
        condition=Q(out_of_service_on=None) & (unless or Q()),
        name=f"one_set_in_service_a_{part}",
    )


class PumpSet(Registered):
    """What belongs together from a day on; without a drive it runs at fixed speed."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="pump_sets")
    tag = models.TextField()
    pump = _part(Pump)
    motor = _part(Motor)
    drive = _part(Drive, null=True)
    drive_shared_with = models.JSONField(default=list)
    regulating_sensor = _part(Sensor, null=True)
    suction_sensor = _part(Sensor, null=True)
    flow_meter = _part(Sensor, null=True)
    level_sensor = _part(Sensor, null=True)
    discharge_switch = _part(Sensor, null=True)
    group = models.TextField(null=True)
    position_in_group = models.PositiveSmallIntegerField(null=True)
    discharge_header = models.TextField(null=True)
    bypass = WordField(pump_set.Bypass, null=True)
    bypass_own_overload = models.BooleanField(null=True)
    transmission = WordField(pump_set.Transmission, null=True)
    transmission_ratio = QuantityField(pump_set.PumpSet)
    eye_elevation = QuantityField(pump_set.PumpSet)
    in_service_from = models.DateField(null=True)
    out_of_service_on = models.DateField(null=True)
    former_contractors: Any = ArrayField(
        models.UUIDField(), default=list, help_text="Their own events still name this pump set."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["contractor", "id"], name="pump_set_id_in_contractor"),
            models.UniqueConstraint(
                fields=["site", "tag"],
                condition=Q(out_of_service_on=None),
                name="one_pump_set_in_service_at_a_tag",
            ),
            models.UniqueConstraint(
                fields=["row", "site", "client"], name="pump_set_with_its_site"
            ),
            *(_in_one_set(part) for part in ("pump", "motor")),
            _in_one_set("drive", Q(drive_shared_with=[])),
            models.CheckConstraint(condition=~Q(tag__regex=BLANK), name="pump_set_has_a_tag"),
            in_service_dates("pump_set"),
        ]

    def __str__(self) -> str:
        return self.tag


class Instrument(Registered):
    """Test equipment of one contractor, with what its certificate says."""

    kind = WordField(sensor.InstrumentKind)
    serial = models.TextField()
    maker_text = models.TextField(null=True)
    model_text = models.TextField(null=True)
    range_low = QuantityField(sensor.Instrument)
    range_high = QuantityField(sensor.Instrument)
    percent_of_range = QuantityField(sensor.Instrument)
    percent_of_reading = QuantityField(sensor.Instrument)
    digits = QuantityField(sensor.Instrument)
    resolution = QuantityField(sensor.Instrument)
    uncertainty = QuantityField(sensor.Instrument)
    coverage_factor = QuantityField(sensor.Instrument)
    calibrated_on = models.DateField(null=True)
    due_on = models.DateField(null=True)
    certificate = models.TextField(null=True)
    out_of_service_on = models.DateField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["contractor", "id"], name="instrument_id_in_contractor"
            ),
            models.UniqueConstraint(
                fields=["contractor", "serial"], name="instrument_serial_in_organization"
            ),
            models.CheckConstraint(
                condition=Q(calibrated_on=None)
                | Q(due_on=None)
                | Q(due_on__gte=F("calibrated_on")),
                name="instrument_due_after_calibration",
            ),
            models.CheckConstraint(
                condition=~Q(serial__regex=BLANK), name="instrument_has_a_serial"
            ),
        ]

    def __str__(self) -> str:
        return str(self.serial)
