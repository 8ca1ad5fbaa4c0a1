"""Months that are closed, and opened again: each time a mark, and an entry in the chain."""

from django.conf import settings
from django.db import models

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import farm_of


class PeriodMark(AppendOnlyModel):
    """A month was closed, or the close of that turn was taken back. Months close in their order.

    A month is closed where its newest turn has a close and no reopening. What the books held at that moment stands in the
    entry of the mark: its digest before is the head.
    """

    farm = farm_of()
    month = models.DateField(help_text="the first day of the month")
    turn = models.PositiveSmallIntegerField(help_text="1, 2, 3 ... each close of the month")
    is_close = models.BooleanField(help_text="otherwise the close of this turn is taken back")
    why = models.CharField(max_length=200, blank=True, help_text="of a reopening")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "month", "turn", "-is_close"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "month", "turn", "is_close"], name="one_mark_per_turn"),
            models.CheckConstraint(
                condition=models.Q(turn__gte=1, month__day=1), name="a_month_begins_on_the_1st"
            ),
            models.CheckConstraint(
                condition=models.Q(is_close=True) | ~models.Q(why=""), name="a_reopening_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.month:%Y-%m} {'closed' if self.is_close else 'opened again'}"
