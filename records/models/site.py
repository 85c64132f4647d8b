"""A pump station, and the state of it at a glance."""

from typing import Any

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from calculations.inputs import site
from records.models.base import BLANK, Registered, in_service_dates
from records.models.fields import DegreesField, QuantityField, WordField

# Codes stand in file names, addresses and spreadsheets.
CODE = r"^[A-Za-z0-9._-]+( [A-Za-z0-9._-]+)*$"
LONGEST_CODE = 60


class Site(Registered):
    """A pump station of one client, looked after by one contractor at a time.

    `revision` is that of its own document. `register_revision` counts the changes of all that
    stands there: a draft is written only where it is as it was when the draft was judged.
    """

    client = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    register_revision = models.PositiveIntegerField(default=0, db_default=0)
    code = models.TextField()
    name = models.TextField()
    kind = WordField(site.SiteKind)
    latitude = DegreesField(90, null=True)
    longitude = DegreesField(180, null=True)
    elevation = QuantityField(site.Site)
    time_zone = models.TextField()
    electrical_practice = WordField(site.ElectricalPractice)
    supply_source = WordField(site.SupplySource, null=True)
    supply_nominal_voltage = QuantityField(site.Site)
    supply_frequency = QuantityField(site.Site)
    supply_phases = models.PositiveSmallIntegerField()
    supply_earthing = WordField(site.SupplyEarthing, null=True)
    available_fault_current = QuantityField(site.Site)
    datum_description = models.TextField(null=True)
    liquid_kind = WordField(site.LiquidKind)
    liquid_temperature_min = QuantityField(site.Site)
    liquid_temperature_max = QuantityField(site.Site)
    liquid_density = QuantityField(site.Site)
    liquid_vapour_pressure_absolute = QuantityField(site.Site)
    suction_kind = WordField(site.SuctionKind)
    suction_level_low = QuantityField(site.Site)
    suction_level_high = QuantityField(site.Site)
    suction_pressure_low = QuantityField(site.Site)
    suction_pressure_high = QuantityField(site.Site)
    suction_loss = QuantityField(site.Site)
    suction_loss_at_flow = QuantityField(site.Site)
    wet_well_area = QuantityField(site.Site)
    wet_well_floor = QuantityField(site.Site)
    inlet_invert = QuantityField(site.Site)
    overflow_level = QuantityField(site.Site)
    inflow_minimum = QuantityField(site.Site)
    inflow_average = QuantityField(site.Site)
    inflow_peak = QuantityField(site.Site)
    static_water_depth = QuantityField(site.Site)
    pumping_water_depth = QuantityField(site.Site)
    pumping_water_depth_at_flow = QuantityField(site.Site)
    well_depth = QuantityField(site.Site)
    pump_setting_depth = QuantityField(site.Site)
    casing_inside_diameter = QuantityField(site.Site)
    cooling_shroud = models.BooleanField(null=True)
    tested_yield = QuantityField(site.Site)
    static_lift_low = QuantityField(site.Site)
    static_lift_high = QuantityField(site.Site)
    system_design_flow = QuantityField(site.Site)
    system_design_head = QuantityField(site.Site)
    system_curve_points = models.JSONField(null=True)
    zero_demand_possible = models.BooleanField(null=True)
    minimum_flow_path = WordField(site.MinimumFlowPath, null=True)
    discharge_pressure_limit = QuantityField(site.Site)
    relief_valve_setting = QuantityField(site.Site)
    minimum_service_pressure = QuantityField(site.Site)
    pipeline = models.JSONField(null=True)
    wave_speed_override = QuantityField(site.Site)
    surge_protection = WordField(site.SurgeProtection, null=True)
    check_valve_kind = WordField(site.CheckValveKind, null=True)
    hazardous_area = WordField(site.HazardousArea, null=True)
    confined_space = models.BooleanField(null=True)
    in_service_from = models.DateField(null=True)
    out_of_service_on = models.DateField(null=True)
    former_contractors: Any = ArrayField(
        models.UUIDField(), default=list, help_text="Their own events still name this station."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["contractor", "id"], name="site_id_in_contractor"),
            models.UniqueConstraint(fields=["client", "code"], name="site_code_in_client"),
            # What the composite foreign keys of everything at the site refer to.
            models.UniqueConstraint(
                fields=["row", "contractor", "client"], name="site_with_its_parties"
            ),
            models.UniqueConstraint(fields=["row", "client"], name="site_with_its_client"),
            models.CheckConstraint(
                condition=Q(supply_phases__in=(1, 3)), name="site_phases_1_or_3"
            ),
            models.CheckConstraint(condition=Q(code__regex=CODE), name="site_code_is_plain"),
            models.CheckConstraint(condition=~Q(name__regex=BLANK), name="site_has_a_name"),
            in_service_dates("site"),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class SiteSummary(models.Model):
    """The state of one site in one row, kept in the transactions that change it.

    It is the head of the site's chain of records as well: sealing locks it.
    """

    site = models.OneToOneField(Site, on_delete=models.PROTECT, primary_key=True)
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    client = models.ForeignKey("records.Organization", on_delete=models.PROTECT, related_name="+")
    open_stop = models.PositiveIntegerField(default=0)
    open_review = models.PositiveIntegerField(default=0)
    open_note = models.PositiveIntegerField(default=0)
    drafts = models.PositiveIntegerField(default=0)
    last_event_at = models.DateTimeField(null=True)
    last_number = models.PositiveIntegerField(default=0)
    last_digest = models.BinaryField(max_length=32, null=True)
    last_sealed_at = models.DateTimeField(null=True)
    due_dates: Any = ArrayField(
        models.DateField(), null=True, help_text="Of every due item, in order, as the contractor."
    )
    client_due_dates: Any = ArrayField(
        models.DateField(), null=True, help_text="The same as the client, who may see more records."
    )
    due_changes_on = models.DateField(null=True, help_text="They hold until this day begins.")
    due_edition = models.TextField(default="", help_text="Of the statement they come from.")

    class Meta:
        indexes = [
            models.Index(fields=["site"], condition=Q(due_dates=None), name="due_dates_missing"),
            models.Index(
                fields=["due_changes_on"],
                condition=Q(due_changes_on__isnull=False),
                name="due_dates_change",
            ),
        ]


class DueMark(models.Model):
    """Something has changed that a site's due dates come from: those that are kept hold no more.

    Triggers write it, and whoever keeps the dates anew takes away those it has seen. Rows are
    added and not changed, so that nobody waits for anybody.
    """

    row = models.BigAutoField(primary_key=True)
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    client = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
