"""How a soil zone came to its own wet and dry limit."""

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import SoilZone, farm_of


class ZoneLimitChange(AppendOnlyModel):
    """One change of a zone's own limits, m³/m³: from what to what, on how many remarks, by whom and when."""

    farm = farm_of()
    zone = models.ForeignKey(SoilZone, on_delete=models.PROTECT, related_name="limit_changes")
    workable_before_m3_m3 = models.FloatField()
    workable_m3_m3 = models.FloatField()
    dry_before_m3_m3 = models.FloatField()
    dry_m3_m3 = models.FloatField()
    remark_count = models.PositiveIntegerField(help_text="how many words on the zone it rests on")
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    set_by_name = models.CharField(
        max_length=80, help_text="as the command was told, or the account it ran in"
    )
    set_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "set_at", "id"]
