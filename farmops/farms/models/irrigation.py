"""Wells, pumps and center pivots."""

from django.db import models

from farmops.farms.models.farm import farm_of
from farmops.farms.models.fields import Field


class Pump(models.Model):
    """A well or pump that pivots share."""

    farm = farm_of()
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    flow_gpm = models.DecimalField(max_digits=7, decimal_places=1)

    class Meta:
        ordering = ["farm", "code"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="one_pump_per_code"),
            models.CheckConstraint(condition=models.Q(flow_gpm__gt=0), name="pump_flow_is_positive"),
        ]

    def __str__(self) -> str:
        return self.name


class PumpShutHours(models.Model):
    """Hours of a weekday in which the power supplier shuts the pump."""

    farm = farm_of()
    pump = models.ForeignKey(Pump, on_delete=models.PROTECT, related_name="shut_hours")
    weekday = models.PositiveSmallIntegerField(help_text="0 is Monday")
    starts_at = models.TimeField()
    ends_at = models.TimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(weekday__lte=6), name="pump_shut_weekday"),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="pump_shut_ends_later"
            ),
        ]


class Pivot(models.Model):
    """A center pivot: it never leaves its circle, and the strip it stands on is worked after it has moved on."""

    farm = farm_of()
    field = models.OneToOneField(Field, on_delete=models.PROTECT, related_name="pivot")
    pump = models.ForeignKey(Pump, on_delete=models.PROTECT, related_name="pivots")
    name = models.CharField(max_length=60)
    last_tower_radius_ft = models.DecimalField(max_digits=7, decimal_places=1)
    walk_ft_per_min = models.DecimalField(
        max_digits=5, decimal_places=2, help_text="last tower, dry, at 100 %"
    )
    tower_count = models.PositiveSmallIntegerField()
    parking_angle_deg = models.DecimalField(max_digits=5, decimal_places=1, help_text="clockwise from north")
    strip_width_ft = models.DecimalField(max_digits=5, decimal_places=1, default=60)
    strip_move_deg = models.DecimalField(
        max_digits=5,
        decimal_places=1,
        default=20,
        help_text="how far it walks to clear the strip it stood on",
    )

    class Meta:
        ordering = ["farm", "field"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_tower_radius_ft__gt=0) & models.Q(walk_ft_per_min__gt=0),
                name="pivot_walks",
            )
        ]

    def __str__(self) -> str:
        return self.name
