"""Fuel: what went into machines, what was delivered, and what the stick said."""

from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Fuel, FuelTank, Hand, Machine, farm_of
from scheduling.models.kept_by import earlier, keeper


class FuelFill(AppendOnlyModel):
    """Gallons put into a machine at a fill-up; without a tank they were bought elsewhere."""

    farm = farm_of()
    client_id = models.UUIDField()
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="fuel_fills")
    tank = models.ForeignKey(FuelTank, on_delete=models.PROTECT, null=True, blank=True, related_name="fills")
    fuel = models.CharField(max_length=10, choices=Fuel.choices, default=Fuel.DIESEL)
    filled_at = models.DateTimeField()
    gallons = models.DecimalField(max_digits=7, decimal_places=1)
    meter_h = models.DecimalField(max_digits=8, decimal_places=1, null=True, blank=True)
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    note = models.CharField(max_length=200, blank=True)
    is_taken_back = models.BooleanField(default=False)
    supersedes = earlier()
    recorded_by = keeper()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "filled_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_fuel_fill_per_client_id"),
            models.CheckConstraint(condition=models.Q(gallons__gt=0), name="fuel_fill_is_positive"),
            models.CheckConstraint(
                condition=models.Q(is_taken_back=False) | models.Q(supersedes__isnull=False),
                name="fuel_fill_taken_back_was_kept",
            ),
        ]


class FuelDelivery(AppendOnlyModel):
    """Gallons that a supplier put into a tank; the bill comes apart."""

    farm = farm_of()
    client_id = models.UUIDField()
    tank = models.ForeignKey(FuelTank, on_delete=models.PROTECT, related_name="deliveries")
    delivered_at = models.DateTimeField()
    gallons = models.DecimalField(max_digits=8, decimal_places=1)
    ticket_no = models.CharField(max_length=40, blank=True)
    note = models.CharField(max_length=200, blank=True)
    is_taken_back = models.BooleanField(default=False)
    supersedes = earlier()
    recorded_by = keeper()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["tank", "delivered_at", "id"]
        verbose_name_plural = "fuel deliveries"
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_fuel_delivery_per_client_id"),
            models.CheckConstraint(condition=models.Q(gallons__gt=0), name="fuel_delivery_is_positive"),
            models.CheckConstraint(
                condition=models.Q(is_taken_back=False) | models.Q(supersedes__isnull=False),
                name="fuel_delivery_taken_back_was_kept",
            ),
        ]


class TankReading(AppendOnlyModel):
    """Gallons in a tank by the stick or gauge."""

    farm = farm_of()
    client_id = models.UUIDField()
    tank = models.ForeignKey(FuelTank, on_delete=models.PROTECT, related_name="readings")
    read_at = models.DateTimeField()
    gallons = models.DecimalField(max_digits=8, decimal_places=1)
    note = models.CharField(max_length=200, blank=True)
    recorded_by = keeper()
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["tank", "read_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_tank_reading_per_client_id"),
            models.CheckConstraint(condition=models.Q(gallons__gte=0), name="tank_reading_is_not_negative"),
        ]
