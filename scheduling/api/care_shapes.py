"""How service that was done, that is due and that is planned is written as JSON."""

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.related import ByCode, ById
from farmops.farms.models import CareRule, Hand
from scheduling.api.fact_shapes import LATER, CorrectedShape
from scheduling.models import CareDone, PlannedCare


class UnpricedCareDoneShape(CorrectedShape):
    """A service that was done; the rule counts anew from it. A hand is shown no more: not what the parts cost."""

    class Meta:
        model = CareDone
        fields: tuple[str, ...] = (
            "id",
            "client_id",
            "rule",
            "done_at",
            "meter_h",
            "hand",
            "hand_min",
            "parts",
            "note",
            *LATER,
        )
        read_only_fields = ("id", "recorded_at")

    rule = ByCode(CareRule, help_text="code of the service rule")
    hand = ByCode(Hand, required=False, allow_null=True, help_text="your own hand if left out")
    supersedes = ById(CareDone, required=False, allow_null=True)


class CareDoneShape(UnpricedCareDoneShape):
    """A service that was done, with what its parts cost; the rule counts anew from it."""

    class Meta(UnpricedCareDoneShape.Meta):
        fields = (*UnpricedCareDoneShape.Meta.fields, "parts_usd")

    parts_usd = fields.Exact(
        max_digits=8,
        decimal_places=2,
        required=False,
        allow_null=True,
        help_text="what the parts cost where no bill will say it",
    )


class CareDueShape(Shape):
    """One service: what was run since the last one and what is left, below 0 where it is over; null is not counted."""

    rule = fields.Text(source="rule.code", read_only=True)
    what = fields.Text(source="rule.what", read_only=True)
    machine = fields.Text(source="rule.machine.code", read_only=True, allow_null=True, default=None)
    implement = fields.Text(source="rule.implement.code", read_only=True, allow_null=True, default=None)
    pivot = fields.Text(source="rule.pivot.field.code", read_only=True, allow_null=True, default=None)
    last_done_at = fields.Instant(source="last_done.done_at", read_only=True, allow_null=True, default=None)
    meter_h = fields.Exact(max_digits=10, decimal_places=1, read_only=True, allow_null=True)
    run_h = fields.Exact(source="run.hours", max_digits=10, decimal_places=1, read_only=True)
    left_h = fields.Exact(
        source="left.hours", max_digits=10, decimal_places=1, read_only=True, allow_null=True
    )
    left_days = fields.Whole(source="left.days", read_only=True, allow_null=True)
    left_ac = fields.Exact(
        source="left.acres", max_digits=10, decimal_places=1, read_only=True, allow_null=True
    )
    left_starts = fields.Whole(source="left.starts", read_only=True, allow_null=True)
    is_over = fields.YesNo(source="left.is_over", read_only=True)


class PlannedCareShape(RowShape):
    """A service stop of a plan."""

    class Meta:
        model = PlannedCare
        fields = read_only_fields = (
            "task_key",
            "rule",
            "what",
            "place",
            "machine",
            "implement",
            "pivot",
            "hand",
            "starts_at",
            "ends_at",
            "work_min",
        )

    rule = fields.Text(source="rule.code", read_only=True)
    what = fields.Text(source="rule.what", read_only=True)
    machine = fields.Text(source="machine.code", read_only=True, allow_null=True, default=None)
    implement = fields.Text(source="implement.code", read_only=True, allow_null=True, default=None)
    pivot = fields.Text(source="rule.pivot.field.code", read_only=True, allow_null=True, default=None)
    hand = fields.Text(source="hand.code", read_only=True, allow_null=True, default=None)
