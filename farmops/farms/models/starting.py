"""What was handed in while a farm is set up and waits to be kept: looked at, left, and come back to."""

from django.conf import settings
from django.db import models

from farmops.farms.models.farm import farm_of


class StartKind(models.TextChoices):
    BOUNDARIES = "boundaries", "boundaries"
    MACHINES = "machines", "machines"
    IMPLEMENTS = "implements", "implements"
    HANDS = "hands", "hands"
    PUMPS = "pumps", "pumps"
    PIVOTS = "pivots", "pivots"


class StartFile(models.Model):
    """A file that was handed in and read; the next of its kind takes its place, keeping it takes it away."""

    farm = farm_of()
    kind = models.CharField(max_length=12, choices=StartKind.choices)
    name = models.CharField(max_length=80, blank=True)
    content = models.JSONField(help_text="outlines with their attributes, or the rows as text")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["farm", "kind"], name="one_start_file_per_kind")]

    def __str__(self) -> str:
        return f"{self.kind}: {self.name}"
