"""Tanks of the farm's own fuel."""

from django.db import models

from farmops.farms.models.farm import farm_of


class Fuel(models.TextChoices):
    DIESEL = "diesel", "diesel"
    GASOLINE = "gasoline", "gasoline"
    PROPANE = "propane", "propane"


class FuelTank(models.Model):
    """A tank on the farm that machines are filled from."""

    farm = farm_of()
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    fuel = models.CharField(max_length=10, choices=Fuel.choices, default=Fuel.DIESEL)
    holds_gal = models.DecimalField(max_digits=8, decimal_places=1)

    class Meta:
        ordering = ["farm", "code"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="one_fuel_tank_per_code"),
            models.CheckConstraint(condition=models.Q(holds_gal__gt=0), name="fuel_tank_holds_something"),
        ]

    def __str__(self) -> str:
        return self.name
