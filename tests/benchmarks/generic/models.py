"""A visit and its parts, one table each."""

import uuid
from functools import partial

from django.db import models

Number = partial(models.DecimalField, max_digits=14, decimal_places=4)
Word = partial(models.CharField, max_length=200)


class Visit(models.Model):
    """What the parts belong to."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    site = Word()
    pump_set = Word()
    kind = Word()
    performed_at = models.DateTimeField()
    performed_by = Word()
    permit_reference = Word()
    weather = Word()
    ambient_temperature = Number()
    liquid_temperature = Number()


class Part(models.Model):
    """A row that belongs to a visit."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="%(class)ss")

    class Meta:
        abstract = True


class Setting(Part):
    """One parameter of the drive."""

    name = Word()
    value = Word()
    unit = Word(blank=True)


class Measurement(Part):
    """One value that was read."""

    name = Word()
    value = Word()
    unit = Word(blank=True)


class DutyPoint(Part):
    """Readings at one steady operating point, in the units of the trade."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="duty_points")
    purpose = Word()
    flow_method = Word()
    frequency = Number()
    speed = Number()
    flow = Number()
    suction_pressure = Number()
    discharge_pressure = Number()
    suction_gauge_elevation = Number()
    discharge_gauge_elevation = Number()
    steady_for = Number()
    power_drive_output = Number()
    power_drive_input = Number()
    voltage_1 = Number()
    voltage_2 = Number()
    voltage_3 = Number()
    current_1 = Number()
    current_2 = Number()
    current_3 = Number()


class SensorCheck(Part):
    """One applied value of a sensor's check."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="sensor_checks")
    sensor = Word()
    instrument = Word()
    adjusted = Word()
    direction = Word()
    applied = Number()
    signal = Number()
    indicated = Number()


class Check(Part):
    """One thing looked at or provoked."""

    item = Word()
    expected = Word(blank=True)
    observed = Word(blank=True)
    result = Word()
