"""A farm and the people who may look into it."""

import datetime as dt
from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models


class Region(models.TextChoices):
    """Whose numbers of crop water hold where the farm has set none of its own."""

    SOUTHEAST = "southeast", "southeastern practice"
    FAO = "fao", "FAO handbook"


class Farm(models.Model):
    """One farm: its clock, its place and whom to call."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    zone = models.CharField(max_length=60, help_text="IANA name of the farm's clock")
    latitude_deg = models.DecimalField(
        max_digits=9, decimal_places=6, validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    longitude_deg = models.DecimalField(
        max_digits=9, decimal_places=6, validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    elevation_ft = models.DecimalField(max_digits=7, decimal_places=1)
    region = models.CharField(
        max_length=12,
        choices=Region.choices,
        default=Region.SOUTHEAST,
        help_text="whose crop water numbers hold where the farm sets none",
    )
    road_address = models.CharField(max_length=120, blank=True)
    boss_name = models.CharField(max_length=60, blank=True)
    boss_phone = models.CharField(max_length=30, blank=True)
    emergency_number = models.CharField(max_length=20, default="911")
    sheet_at = models.TimeField(
        default=dt.time(5), help_text="when the morning sheets go out, on the farm's clock"
    )

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(latitude_deg__range=(-90, 90))
                & models.Q(longitude_deg__range=(-180, 180)),
                name="farm_is_on_the_globe",
            )
        ]

    def __str__(self) -> str:
        return self.name


def farm_of(**kwargs: Any) -> models.ForeignKey:
    """Return the key that every row of a farm carries."""
    return models.ForeignKey(Farm, on_delete=models.PROTECT, related_name="+", **kwargs)


class Role(models.TextChoices):
    MANAGER = "manager", "manager"
    BOOKKEEPER = "bookkeeper", "bookkeeper"
    HAND = "hand", "hand"


class Membership(models.Model):
    """What a user may do on a farm; a hand's user is tied to the hand."""

    farm = farm_of()
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role.choices)
    hand = models.ForeignKey(
        "farms.Hand", on_delete=models.PROTECT, null=True, blank=True, related_name="memberships"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "user", "role"], name="one_membership_per_role"),
            models.CheckConstraint(
                condition=models.Q(role="hand", hand__isnull=False) | ~models.Q(role="hand"),
                name="a_hand_member_names_the_hand",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user} ({self.role})"
