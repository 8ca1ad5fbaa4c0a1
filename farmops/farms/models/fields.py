"""Fields, their soil and what grows on them."""

from django.db import models

from farmops.core.quick_rows import QuickRows
from farmops.farms.models.farm import farm_of


class Crop(models.TextChoices):
    COTTON = "cotton", "cotton"
    PEANUTS = "peanuts", "peanuts"
    CORN = "corn", "corn"
    SOYBEANS = "soybeans", "soybeans"


class Field(QuickRows):
    """A field: its boundary and the acres that different papers give it, kept side by side."""

    farm = farm_of()
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    boundary = models.JSONField(help_text="RFC 7946 Polygon or MultiPolygon, outer ring counter-clockwise")
    area_ac = models.DecimalField(
        max_digits=9, decimal_places=2, help_text="of the boundary, on the ellipsoid"
    )
    stated_ac = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    planted_ac = models.DecimalField(max_digits=9, decimal_places=2)
    latitude_deg = models.DecimalField(max_digits=9, decimal_places=6)
    longitude_deg = models.DecimalField(max_digits=9, decimal_places=6)
    agency_farm_no = models.CharField(max_length=12, blank=True)
    agency_tract_no = models.CharField(max_length=12, blank=True)
    agency_field_no = models.CharField(max_length=12, blank=True)
    agency_ac = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    landlord = models.CharField(max_length=80, blank=True)
    landlord_share_pct = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    entrance = models.CharField(max_length=120, blank=True)
    road_address = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["farm", "code"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="one_field_per_code"),
            models.CheckConstraint(
                condition=models.Q(area_ac__gt=0) & models.Q(planted_ac__gt=0),
                name="field_acres_are_positive",
            ),
        ]

    def __str__(self) -> str:
        return self.name


RETENTION_COLUMNS = (
    "retention_residual_m3_m3",
    "retention_saturation_m3_m3",
    "retention_alpha_per_m",
    "retention_n",
)


class SoilZone(QuickRows):
    """A part of a field with one soil texture; the wettest zone rules the field's windows.

    Where a laboratory has measured the zone's retention curve, its four numbers stand here, all or none. The zone's own
    wet and dry limits, where set, go before those of its texture.
    """

    farm = farm_of()
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="zones")
    name = models.CharField(max_length=40)
    texture = models.SlugField(max_length=30, help_text="a key of farmops.science.textures")
    share_pct = models.DecimalField(max_digits=5, decimal_places=2)
    retention_residual_m3_m3 = models.FloatField(null=True, blank=True)
    retention_saturation_m3_m3 = models.FloatField(null=True, blank=True)
    retention_alpha_per_m = models.FloatField(null=True, blank=True)
    retention_n = models.FloatField(null=True, blank=True)
    workable_m3_m3 = models.FloatField(
        null=True, blank=True, help_text="own wet limit of the topsoil; empty: by texture"
    )
    dry_m3_m3 = models.FloatField(
        null=True, blank=True, help_text="own dry limit of the topsoil; empty: by texture"
    )

    class Meta:
        ordering = ["field", "id"]
        constraints = [
            models.UniqueConstraint(fields=["field", "name"], name="one_zone_per_name"),
            models.CheckConstraint(
                condition=models.Q(share_pct__gt=0) & models.Q(share_pct__lte=100),
                name="zone_share_is_a_share",
            ),
            models.CheckConstraint(
                condition=models.Q(**{f"{name}__isnull": True for name in RETENTION_COLUMNS})
                | models.Q(
                    retention_residual_m3_m3__gte=0,
                    retention_saturation_m3_m3__gt=models.F("retention_residual_m3_m3"),
                    retention_saturation_m3_m3__lt=1,
                    retention_alpha_per_m__gt=0,
                    retention_n__gt=1,
                ),
                name="zone_retention_is_whole",
            ),
            models.CheckConstraint(
                condition=models.Q(dry_m3_m3__isnull=True)
                | models.Q(workable_m3_m3__isnull=True)
                | models.Q(dry_m3_m3__lt=models.F("workable_m3_m3")),
                name="zone_dry_is_below_workable",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.field} {self.name}"


class Season(QuickRows):
    """One crop on one part of a field, from the first work for it to the last, labelled by crop year."""

    farm = farm_of()
    field = models.ForeignKey(Field, on_delete=models.PROTECT, related_name="seasons")
    crop_year = models.PositiveSmallIntegerField()
    crop = models.CharField(max_length=12, choices=Crop.choices)
    part = models.CharField(max_length=40, blank=True, help_text="empty for the whole field")
    area_ac = models.DecimalField(max_digits=9, decimal_places=2)
    landlord = models.CharField(max_length=80, blank=True)
    landlord_share_pct = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ["crop_year", "field", "part"]
        constraints = [
            models.UniqueConstraint(
                fields=["field", "crop_year", "crop", "part"], name="one_season_per_part"
            ),
            models.CheckConstraint(condition=models.Q(area_ac__gt=0), name="season_acres_are_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.field} {self.crop} {self.crop_year}{f' ({self.part})' if self.part else ''}"
