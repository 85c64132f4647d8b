"""Equipment in service at a site: pumps, motors, drives, sensors, vessels."""

from typing import Any

from django.db import models
from django.db.models import Q

from calculations.inputs import drive, motor, pump, sensor
from records.models.base import BLANK, Registered, in_service_dates
from records.models.fields import QuantityField, WordField
from records.models.site import Site


class Equipment(Registered):
    """A piece at a tag. The tag is its place, the serial number is the thing itself."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    tag = models.TextField()
    in_service_from = models.DateField(null=True)
    out_of_service_on = models.DateField(null=True)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.tag


def equipment_constraints(kind: str) -> list[Any]:
    """One tag, one kind, one site: at most one in service; never out before in."""
    return [
        models.UniqueConstraint(fields=["contractor", "id"], name=f"{kind}_id_in_contractor"),
        models.UniqueConstraint(
            fields=["site", "tag"],
            condition=Q(out_of_service_on=None),
            name=f"one_{kind}_in_service_at_a_tag",
        ),
        models.UniqueConstraint(
            fields=["row", "site", "contractor", "client"], name=f"{kind}_with_its_site"
        ),
        models.CheckConstraint(condition=~Q(tag__regex=BLANK), name=f"{kind}_has_a_tag"),
        in_service_dates(kind),
    ]


class Pump(Equipment):
    """A pump as its plate, curve and manual describe it."""

    serial = models.TextField(null=True)
    maker_text = models.TextField(null=True)
    model_text = models.TextField(null=True)
    type = WordField(pump.PumpType)
    rated_speed = QuantityField(pump.Pump)
    rated_flow = QuantityField(pump.Pump)
    rated_head = QuantityField(pump.Pump)
    stages = models.PositiveSmallIntegerField(null=True)
    suction_sides = models.PositiveSmallIntegerField(null=True)
    impeller_diameter = QuantityField(pump.Pump)
    impeller_diameter_max = QuantityField(pump.Pump)
    curve_points = models.JSONField(null=True)
    curve_origin = WordField(pump.CurveOrigin, null=True)
    best_efficiency_flow = QuantityField(pump.Pump)
    minimum_continuous_flow = QuantityField(pump.Pump)
    minimum_frequency_permitted = QuantityField(pump.Pump)
    maximum_speed_permitted = QuantityField(pump.Pump)
    bearing_frequency = QuantityField(pump.Pump)
    bearing_time_limit = QuantityField(pump.Pump)
    maximum_working_pressure = QuantityField(pump.Pump)
    maximum_starts_per_hour = models.PositiveSmallIntegerField(null=True)
    inertia = QuantityField(pump.Pump)
    acceptance_grade = WordField(pump.AcceptanceGrade, null=True)
    bore_suction = QuantityField(pump.Pump)
    bore_discharge = QuantityField(pump.Pump)

    class Meta(Equipment.Meta):
        constraints = equipment_constraints("pump")


class Motor(Equipment):
    """A motor with every rating on its plate."""

    serial = models.TextField(null=True)
    maker_text = models.TextField(null=True)
    model_text = models.TextField(null=True)
    kind = WordField(motor.MotorKind)
    phases = models.PositiveSmallIntegerField()
    poles = models.PositiveSmallIntegerField(null=True)
    ratings = models.JSONField()
    rating_in_use = models.PositiveSmallIntegerField()
    extended_constant_torque = models.BooleanField(null=True)
    service_factor = QuantityField(motor.Motor)
    service_factor_current = QuantityField(motor.Motor)
    inverter_service_factor = QuantityField(motor.Motor)
    efficiency_class = WordField(motor.EfficiencyClass, null=True)
    year_built = models.PositiveSmallIntegerField(null=True)
    rewound_on = models.DateField(null=True)
    design_letter = WordField(motor.DesignLetter, null=True)
    duty = WordField(motor.Duty, null=True)
    duty_minutes = QuantityField(motor.Motor)
    insulation_class = WordField(motor.InsulationClass, null=True)
    temperature_rise_class = WordField(motor.InsulationClass, null=True)
    enclosure = WordField(motor.Enclosure, null=True)
    explosion_protection = WordField(motor.ExplosionProtection, null=True)
    cooling = WordField(motor.Cooling, null=True)
    immersed = models.BooleanField()
    close_coupled = models.BooleanField(null=True)
    vertical = models.BooleanField(null=True)
    outside_diameter = QuantityField(motor.Motor)
    minimum_liquid_level = QuantityField(motor.Motor)
    ambient_rated = QuantityField(motor.Motor)
    altitude_rated = QuantityField(motor.Motor)
    inverter_suitability = WordField(motor.InverterSuitability, null=True)
    peak_voltage_limit = QuantityField(motor.Motor)
    bearing_current_protection = WordField(motor.BearingCurrentProtection, null=True)
    thermal_sensor = WordField(motor.ThermalSensor, null=True)
    thermal_sensor_count = models.PositiveSmallIntegerField(null=True)
    leak_sensor = models.BooleanField(null=True)
    maximum_frequency = QuantityField(motor.Motor)
    maximum_starts_per_hour = models.PositiveSmallIntegerField(null=True)
    back_emf = QuantityField(motor.Motor)
    stator_resistance = QuantityField(motor.Motor)
    d_inductance = QuantityField(motor.Motor)
    q_inductance = QuantityField(motor.Motor)
    inertia = QuantityField(motor.Motor)

    class Meta(Equipment.Meta):
        constraints = equipment_constraints("motor")


class Drive(Equipment):
    """A variable-speed drive, its filter and cable."""

    serial = models.TextField(null=True)
    firmware = models.TextField(null=True)
    maker_text = models.TextField(null=True)
    model_text = models.TextField(null=True)
    input_phases = WordField(drive.InputPhases)
    input_voltage_min = QuantityField(drive.Drive)
    input_voltage_max = QuantityField(drive.Drive)
    input_voltage_tolerance = QuantityField(drive.Drive)
    rated_current_normal_duty = QuantityField(drive.Drive)
    rated_current_heavy_duty = QuantityField(drive.Drive)
    rated_current_single_phase_supply = QuantityField(drive.Drive)
    rated_input_current = QuantityField(drive.Drive)
    rated_power = QuantityField(drive.Drive)
    overload_percent = QuantityField(drive.Drive)
    overload_seconds = QuantityField(drive.Drive)
    carrier_at_rating = QuantityField(drive.Drive)
    carrier_derating_per_khz = QuantityField(drive.Drive)
    altitude_limit = QuantityField(drive.Drive)
    derating_start_altitude = QuantityField(drive.Drive)
    derating_per_100m = QuantityField(drive.Drive)
    ambient_rated = QuantityField(drive.Drive)
    ambient_max = QuantityField(drive.Drive)
    derating_per_K = QuantityField(drive.Drive)
    short_circuit_rating = QuantityField(drive.Drive)
    enclosure = WordField(drive.DriveEnclosure, null=True)
    enclosure_cooling = WordField(drive.EnclosureCooling, null=True)
    ambient_at_drive = QuantityField(drive.Drive)
    input_reactor = models.BooleanField(null=True)
    dc_choke = models.BooleanField(null=True)
    harmonic_filter = models.BooleanField(null=True)
    output_filter_fitted = WordField(drive.OutputFilter, null=True)
    filter_carrier_min = QuantityField(drive.Drive)
    filter_carrier_max = QuantityField(drive.Drive)
    filter_maximum_frequency = QuantityField(drive.Drive)
    filter_voltage_drop = QuantityField(drive.Drive)
    motor_cable_length = QuantityField(drive.Drive)
    motor_cable_conductor = QuantityField(drive.Drive)
    motor_cable_conductors_in_parallel = models.PositiveSmallIntegerField(null=True)
    motor_cable_shielded = models.BooleanField(null=True)
    maximum_motor_cable_length = QuantityField(drive.Drive)
    output_capacitors = models.BooleanField(null=True)
    output_switch = models.BooleanField(null=True)
    output_switch_interlocked = models.BooleanField(null=True)
    functional_safety_stop = WordField(drive.SafetyStop, null=True)

    class Meta(Equipment.Meta):
        constraints = equipment_constraints("drive")


class Sensor(Equipment):
    """A transmitter as configured."""

    serial = models.TextField(null=True)
    maker_text = models.TextField(null=True)
    model_text = models.TextField(null=True)
    quantity = WordField(sensor.SensorQuantity)
    reference = WordField(sensor.PressureReference, null=True)
    lower_range_value = QuantityField(sensor.Sensor)
    upper_range_value = QuantityField(sensor.Sensor)
    range_limit_low = QuantityField(sensor.Sensor)
    range_limit_high = QuantityField(sensor.Sensor)
    overpressure_limit = QuantityField(sensor.Sensor)
    output = WordField(sensor.SignalKind)
    volume_per_pulse = QuantityField(sensor.Sensor)
    wiring = WordField(sensor.Wiring, null=True)
    power_source = models.TextField(null=True)
    supply_voltage_minimum = QuantityField(sensor.Sensor)
    loop_supply_voltage = QuantityField(sensor.Sensor)
    loop_load = QuantityField(sensor.Sensor)
    tolerance_percent_of_span = QuantityField(sensor.Sensor)
    damping_time = QuantityField(sensor.Sensor)
    location = WordField(sensor.SensorLocation)
    tapping_elevation = QuantityField(sensor.Sensor)
    zero_elevation = QuantityField(sensor.Sensor)
    process_isolation = models.BooleanField(null=True)
    meter_kind = WordField(sensor.MeterKind, null=True)
    bore = QuantityField(sensor.Sensor)
    straight_upstream_diameters = QuantityField(sensor.Sensor)
    straight_downstream_diameters = QuantityField(sensor.Sensor)
    low_flow_cutoff = QuantityField(sensor.Sensor)

    class Meta(Equipment.Meta):
        constraints = equipment_constraints("sensor")


class Vessel(Equipment):
    """A hydropneumatic or surge vessel."""

    serial = models.TextField(null=True)
    maker_text = models.TextField(null=True)
    model_text = models.TextField(null=True)
    kind = WordField(sensor.VesselKind)
    location = WordField(sensor.VesselLocation)
    volume = QuantityField(sensor.Vessel)
    maximum_pressure = QuantityField(sensor.Vessel)
    pre_charge_pressure_design = QuantityField(sensor.Vessel)

    class Meta(Equipment.Meta):
        constraints = equipment_constraints("vessel")
