"""How orders of work, what they would lay out and what they laid out are written as JSON."""

from dataclasses import asdict
from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.farms.api.related import ById
from farmops.farms.models import Season
from farmops.farms.operations import Operation
from scheduling.models import OrderLaying, OrderVersion
from scheduling.orders import CROPS, MOST_STEPS, TILLAGES, Order, OrderStep
from scheduling.orders.steps import MOST_DAYS, free_key
from scheduling.selectors.orders import order_of
from scheduling.services.order_files import MOST_NAME, MOST_SOURCE
from scheduling.services.order_preview import Standing, Window

MOST_SEASONS = 2000


class OrderStepShape(Shape):
    """One step: days count from the end of the step `after`, the one before if left out."""

    key = fields.Code(required=False, help_text="its name in the order; made from the operation if left out")
    operation = fields.Word(choices=[one.value for one in Operation])
    after = fields.Text(required=False, default="", allow_blank=True, max_length=40)
    least_days = fields.Whole(required=False, default=0, max_value=MOST_DAYS)
    most_days = fields.Whole(required=False, allow_null=True, default=None, max_value=MOST_DAYS)
    plant_back_days = fields.Whole(required=False, default=0, max_value=MOST_DAYS)
    not_before = fields.Text(required=False, default="", allow_blank=True, max_length=5, help_text="MM-DD")
    not_after = fields.Text(required=False, default="", allow_blank=True, max_length=5, help_text="MM-DD")
    depth_in = fields.Exact(
        required=False, allow_null=True, default=None, max_digits=4, decimal_places=2, min_value=0
    )
    custom_ac_per_h = fields.Exact(
        required=False, allow_null=True, default=None, max_digits=6, decimal_places=2, min_value=0
    )
    reentry_h = fields.Exact(
        required=False, allow_null=True, default=None, max_digits=5, decimal_places=1, min_value=0
    )
    late_usd_per_ac_day = fields.Exact(
        required=False, default=Decimal(0), max_digits=6, decimal_places=2, min_value=0
    )
    leave_usd_per_ac = fields.Exact(
        max_digits=7,
        decimal_places=2,
        min_value=0,
        required=False,
        allow_null=True,
        default=None,
        help_text="null: it must be done in the week that is planned",
    )
    source = fields.Text(required=False, default="", allow_blank=True, max_length=MOST_SOURCE)  # type: ignore[assignment]


class OrderBodyShape(Shape):
    """What an order of work says."""

    name = fields.Text(max_length=MOST_NAME)
    crop = fields.Word(choices=CROPS)
    tillage = fields.Word(choices=TILLAGES)
    plant_from = fields.Text(max_length=5, help_text="first day of planting, MM-DD")
    plant_to = fields.Text(max_length=5, help_text="last day of planting, MM-DD")
    source = fields.Text(required=False, default="", allow_blank=True, max_length=MOST_SOURCE)  # type: ignore[assignment]
    steps = OrderStepShape(many=True, max_length=MOST_STEPS)  # type: ignore[call-arg]


class NewOrderShape(OrderBodyShape):
    """A new order of work."""

    code = fields.Code()


def order_from(body: dict[str, Any]) -> Order:
    """Return the order that a body says."""
    steps: list[OrderStep] = []
    for row in body["steps"]:
        key = row.get("key") or free_key(row["operation"], [one.key for one in steps])
        steps.append(OrderStep(**{**row, "key": key}))
    names = ("name", "crop", "tillage", "plant_from", "plant_to", "source")
    return Order(**{name: body[name] for name in names}, steps=tuple(steps))


class OrderShape(Shape):
    """One version of an order of work."""

    code = fields.Code(source="order.code", read_only=True)
    version = fields.Whole(source="number", read_only=True)
    is_put_away = fields.YesNo(source="order.is_put_away", read_only=True)
    made_at = fields.Instant(read_only=True)
    name = fields.Text(read_only=True)
    crop = fields.Text(read_only=True)
    tillage = fields.Text(read_only=True)
    plant_from = fields.Text(read_only=True)
    plant_to = fields.Text(read_only=True)
    source = fields.Text(read_only=True)  # type: ignore[assignment]
    steps = serializers.SerializerMethodField()

    @extend_schema_field(OrderStepShape(many=True))
    def get_steps(self, version: OrderVersion) -> Any:
        return OrderStepShape([asdict(one) for one in order_of(version).steps], many=True).data


class StartingOrderShape(OrderBodyShape):
    """An order of work that ships, to be copied: send it as a new one."""

    key = fields.Text(read_only=True)


class PlacedSeasonShape(Shape):
    """A season, and its own planting days where they are not those of the order."""

    season = ById(Season)
    plant_from_on = fields.Day(required=False, allow_null=True, default=None)
    plant_to_on = fields.Day(required=False, allow_null=True, default=None)


class PlacesShape(Shape):
    """On which seasons."""

    seasons = PlacedSeasonShape(many=True, allow_empty=False, max_length=MOST_SEASONS)  # type: ignore[call-arg]


class LayShape(PlacesShape):
    """Lay out what was looked at."""

    client_id = fields.ClientId()


class StepLineShape(Shape):
    """A step on a season."""

    number = fields.Whole(read_only=True)
    operation = fields.Text(read_only=True)
    standing = fields.Word(choices=[one.value for one in Standing], read_only=True)
    earliest_on = fields.Day(read_only=True, allow_null=True)
    due_on = fields.Day(read_only=True, allow_null=True)
    done_on = fields.Day(read_only=True, allow_null=True)


class WindowShape(Shape):
    """Planting days."""

    first_on = fields.Day(read_only=True)
    last_on = fields.Day(read_only=True)


class FieldPreviewShape(Shape):
    """What an order would do on a season, or why it does not fit."""

    season = fields.Whole(source="season.pk", read_only=True)
    field = fields.Code(source="season.field.code", read_only=True)
    window = WindowShape(read_only=True)
    is_fit = fields.YesNo(read_only=True)
    reasons = serializers.ListField(child=fields.Text(), read_only=True)
    new_count = fields.Whole(read_only=True)
    lines = StepLineShape(many=True, read_only=True)


class PreviewShape(Shape):
    """What an order would lay out; nothing is written. Its ETag is what laying it out goes by."""

    is_fit = fields.YesNo(read_only=True)
    seasons = FieldPreviewShape(source="fields", many=True, read_only=True)


class LaidFieldShape(Shape):
    """What a laying did on a season."""

    season = fields.Whole(source="season_id", read_only=True)
    plant_from_on = fields.Day(read_only=True)
    plant_to_on = fields.Day(read_only=True)
    passes = serializers.ListField(child=fields.Document(), read_only=True)


class LayingShape(Shape):
    """One time that an order was laid out."""

    id = fields.Whole(read_only=True)
    order = fields.Code(source="version.order.code", read_only=True)
    version = fields.Whole(source="version.number", read_only=True)
    client_id = fields.ClientId(read_only=True)
    laid_at = fields.Instant(read_only=True)
    taken_back_at = serializers.SerializerMethodField()
    seasons = LaidFieldShape(source="fields", many=True, read_only=True)

    @extend_schema_field(fields.Instant(allow_null=True))
    def get_taken_back_at(self, laying: OrderLaying) -> Any:
        back = getattr(laying, "taken_back", None)
        if back is None:
            return None
        return fields.Instant(read_only=True).to_representation(back.taken_back_at)


def windows_from(seasons: list[dict[str, Any]], usual: Any) -> dict[Season, Window]:
    """Return the planting days of each season of a body; `usual` gives those of the order in a crop year."""
    windows = {}
    for row in seasons:
        first, last = usual(row["season"].crop_year)
        windows[row["season"]] = Window(row["plant_from_on"] or first, row["plant_to_on"] or last)
    return windows
