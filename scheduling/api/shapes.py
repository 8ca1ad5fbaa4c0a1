"""How passes, plans and what is due are written as JSON."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from scheduling.api.care_shapes import PlannedCareShape
from scheduling.models import FieldPass, PlannedTask, WeekPlan
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import care_of_plan, left_of_plan, tasks_of_plan


@extend_schema_field(OpenApiTypes.STR)
class PassKey(serializers.Field):
    """The stable name of a pass, such as `pond-80/disk`."""

    def to_representation(self, value: FieldPass) -> str:
        return pass_key(value)


class PassShape(RowShape):
    """One operation on one season's ground."""

    class Meta:
        model = FieldPass
        fields: tuple[str, ...] = (
            "id",
            "key",
            "season",
            "field",
            "operation",
            "turn",
            "part",
            "area_ac",
            "done_ac",
            "state",
            "earliest_on",
            "due_on",
            "pivot_degrees",
            "depth_in",
            "custom_ac_per_h",
            "reentry_h",
            "fixed_from",
            "fixed_outfit",
            "called_off_why",
            "called_off_at",
        )
        read_only_fields = fields

    key = PassKey(source="*", read_only=True)
    season = fields.Whole(source="season_id", read_only=True)
    field = fields.Text(source="season.field.code", read_only=True)


class PricedPassShape(PassShape):
    """A pass with what it costs to be late with it or to leave it."""

    class Meta(PassShape.Meta):
        fields = read_only_fields = (*PassShape.Meta.fields, "late_usd_per_day", "leave_usd")

    late_usd_per_day = fields.Dollars(source="late_cents_per_day", read_only=True)
    leave_usd = fields.Dollars(
        source="leave_cents",
        read_only=True,
        allow_null=True,
        help_text="null: must be done in the week planned",
    )


class WhyShape(Shape):
    """The reason of a decision."""

    why = fields.Text(max_length=200)


class NothingShape(Shape):
    """An empty body."""


class TaskShape(RowShape):
    """One task of a plan: a pass or a day part of it, with its outfit and hours."""

    class Meta:
        model = PlannedTask
        fields = read_only_fields = (
            "task_key",
            "field_pass",
            "pass_key",
            "field",
            "operation",
            "part_no",
            "part_count",
            "area_ac",
            "machine",
            "implement",
            "hand",
            "starts_at",
            "ends_at",
            "work_min",
        )

    field_pass = fields.Whole(source="field_pass_id", read_only=True)
    pass_key = PassKey(source="field_pass", read_only=True)
    field = fields.Text(source="field.code", read_only=True)
    machine = fields.Text(source="machine.code", read_only=True, allow_null=True, default=None)
    implement = fields.Text(source="implement.code", read_only=True, allow_null=True, default=None)
    hand = fields.Text(source="hand.code", read_only=True, allow_null=True, default=None)


class PlanShape(RowShape):
    """A week plan without its tasks."""

    class Meta:
        model = WeekPlan
        fields: tuple[str, ...] = (
            "number",
            "state",
            "starts_at",
            "days",
            "made_at",
            "sent_at",
            "status",
            "cost_usd",
            "bound_usd",
            "seed",
            "limits",
            "problem_hash",
            "against",
        )
        read_only_fields = fields

    against = fields.Whole(
        source="against.number",
        read_only=True,
        allow_null=True,
        default=None,
        help_text="number of the sent plan that it was to keep to",
    )
    cost_usd = fields.Dollars(source="cost_cents", read_only=True, allow_null=True)
    bound_usd = fields.Dollars(source="bound_cents", read_only=True, allow_null=True)


class LeftShape(Shape):
    """A pass that a plan leaves undone, and why."""

    pass_key = fields.Text(read_only=True)
    why = fields.Text(read_only=True)


class WholePlanShape(PlanShape):
    """A week plan with its tasks and what it leaves."""

    class Meta(PlanShape.Meta):
        fields = read_only_fields = (*PlanShape.Meta.fields, "tasks", "care", "left")

    tasks = serializers.SerializerMethodField()
    care = serializers.SerializerMethodField()
    left = serializers.SerializerMethodField()

    @extend_schema_field(PlannedCareShape(many=True))
    def get_care(self, plan: WeekPlan) -> Any:
        return PlannedCareShape(care_of_plan(plan=plan), many=True, context=self.context).data

    @extend_schema_field(TaskShape(many=True))
    def get_tasks(self, plan: WeekPlan) -> Any:
        return TaskShape(tasks_of_plan(plan=plan), many=True, context=self.context).data

    @extend_schema_field(LeftShape(many=True))
    def get_left(self, plan: WeekPlan) -> Any:
        return [{"pass_key": key, "why": why} for key, why in left_of_plan(plan=plan)]
