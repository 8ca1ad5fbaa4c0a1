"""Where an incident was and what mended it, and the numbers that say whether a debris walk pays."""

from decimal import Decimal

from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Farm, farm_of
from scheduling.models.work import Incident


class PlacedBy(models.TextChoices):
    PHONE = "phone", "by the phone"
    TAPPED = "tapped", "tapped on the field"
    TYPED = "typed", "typed"


class Mending(models.TextChoices):
    NONE = "none", "nothing yet"
    REPAIR = "repair", "repaired"
    NEW_TIRE = "new_tire", "new tire"
    MISTAKE = "mistake", "entered by mistake"
    """It never was: it counts nowhere, until a newer row says otherwise."""


class IncidentPlace(AppendOnlyModel):
    """Where an incident was, in degrees; a newer row of the same incident stands in its place."""

    farm = farm_of()
    client_id = models.UUIDField()
    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="places")
    latitude_deg = models.DecimalField(max_digits=9, decimal_places=6)
    longitude_deg = models.DecimalField(max_digits=9, decimal_places=6)
    placed_by = models.CharField(max_length=6, choices=PlacedBy.choices)
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["incident", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_incident_place_per_client_id"),
            models.CheckConstraint(
                condition=models.Q(latitude_deg__range=(-90, 90))
                & models.Q(longitude_deg__range=(-180, 180)),
                name="incident_place_is_on_the_globe",
            ),
        ]


class IncidentMended(AppendOnlyModel):
    """What was done about an incident, and the hours that it cost; a newer row stands in its place."""

    farm = farm_of()
    client_id = models.UUIDField()
    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="mendings")
    mending = models.CharField(max_length=8, choices=Mending.choices)
    lost_min = models.PositiveIntegerField(default=0)
    note = models.CharField(max_length=200, blank=True)
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["incident", "id"]
        verbose_name_plural = "incidents mended"
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_incident_mended_per_client_id")
        ]


class DebrisNumbers(models.Model):
    """A farm's own numbers for the worth of a debris walk; a farm without a row uses the defaults, which are shown."""

    farm = models.OneToOneField(Farm, on_delete=models.PROTECT, related_name="+")
    found_share_pct = models.DecimalField(max_digits=4, decimal_places=1, default=60)
    swath_ft = models.DecimalField(max_digits=5, decimal_places=1, default=30)
    walk_mph = models.DecimalField(max_digits=3, decimal_places=1, default=Decimal("2.5"))
    wage_cents_per_h = models.PositiveIntegerField(null=True, blank=True, help_text="empty: from the rates")
    puncture_cents = models.PositiveIntegerField(null=True, blank=True, help_text="empty: from the bills")
    lost_h = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="for one puncture; empty: from the reports",
    )
    lost_cents_per_h = models.PositiveIntegerField(
        null=True, blank=True, help_text="outfit standing, and late work; empty: from the rates"
    )

    class Meta:
        verbose_name_plural = "debris numbers"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(found_share_pct__gte=0)
                & models.Q(found_share_pct__lte=100)
                & models.Q(swath_ft__gt=0)
                & models.Q(walk_mph__gt=0),
                name="debris_numbers_make_sense",
            )
        ]
