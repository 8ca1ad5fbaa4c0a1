"""Orders of work as a farm keeps them: versions that are never changed, and what each was laid out on."""

from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Season, farm_of
from scheduling.models.kept_by import keeper


class OrderOfWork(models.Model):
    """One order of work of a farm; what is in it stands in its versions, the newest of which counts.

    `newest_no` is the number of that version: whoever adds one moves it on by a conditional update, so of two changes
    of the same version one is refused.
    """

    farm = farm_of()
    code = models.SlugField(max_length=40)
    newest_no = models.PositiveIntegerField(default=1)
    is_put_away = models.BooleanField(default=False, help_text="no longer offered; its versions stay")

    class Meta:
        ordering = ["farm", "code"]
        verbose_name_plural = "orders of work"
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="one_order_per_code"),
            models.CheckConstraint(condition=models.Q(newest_no__gte=1), name="order_has_a_version"),
        ]

    def __str__(self) -> str:
        return self.code


class OrderVersion(AppendOnlyModel):
    """What an order of work said from one change to the next. `steps` are rows of `scheduling.orders.steps`."""

    farm = farm_of()
    order = models.ForeignKey(OrderOfWork, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    name = models.CharField(max_length=80)
    crop = models.CharField(max_length=12)
    tillage = models.CharField(max_length=12)
    plant_from = models.CharField(max_length=5, help_text="MM-DD")
    plant_to = models.CharField(max_length=5, help_text="MM-DD")
    steps = models.JSONField()
    source = models.CharField(max_length=300, blank=True)
    made_by = keeper()
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["order", "number"]
        constraints = [
            models.UniqueConstraint(fields=["order", "number"], name="one_version_per_number"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, version {self.number}"


class OrderLaying(AppendOnlyModel):
    """One time that a version of an order was laid out on fields, all or none."""

    farm = farm_of()
    version = models.ForeignKey(OrderVersion, on_delete=models.PROTECT, related_name="layings")
    client_id = models.UUIDField(help_text="made by the form or sender that asked for it")
    laid_by = keeper()
    laid_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "laid_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_laying_per_client_id"),
        ]

    def __str__(self) -> str:
        return f"{self.version}, laid out"


class OrderLaidField(AppendOnlyModel):
    """What a laying did on one season: its planting window, and each pass, new or with what it had before.

    `passes` has `id`, `key`, `step`, `is_new` and, where it stood already and was changed, `was`; `links` likewise.
    """

    farm = farm_of()
    laying = models.ForeignKey(OrderLaying, on_delete=models.PROTECT, related_name="fields")
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="+")
    plant_from_on = models.DateField()
    plant_to_on = models.DateField()
    passes = models.JSONField()
    links = models.JSONField()

    class Meta:
        ordering = ["laying", "id"]
        constraints = [
            models.UniqueConstraint(fields=["laying", "season"], name="one_row_per_laying_and_season"),
        ]


class OrderTakenBack(AppendOnlyModel):
    """A laying that was taken back before anything of it was done."""

    farm = farm_of()
    laying = models.OneToOneField(OrderLaying, on_delete=models.PROTECT, related_name="taken_back")
    taken_back_by = keeper()
    taken_back_at = models.DateTimeField()
