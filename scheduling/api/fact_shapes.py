"""How remarks, water, sprayings, pivot places and choices about limits are written as JSON."""

from typing import Any

from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape
from farmops.farms.api.related import ByCode, ById
from farmops.farms.models import Field, Hand, SoilZone
from scheduling.api.related import PivotByField
from scheduling.models import (
    CareDone,
    LimitChoice,
    PivotPlace,
    Remark,
    SprayDetail,
    Spraying,
    SprayProduct,
    Watering,
    WorkRecord,
)
from scheduling.services.spray_details import ProductFacts, SprayFacts

LATER = ("is_taken_back", "supersedes", "superseded_by", "recorded_at")


class CorrectedShape(RowShape):
    """A row that a newer one may correct or take back; `superseded_by` names it."""

    superseded_by = serializers.SerializerMethodField()
    is_taken_back = fields.YesNo(default=False, help_text="true: what `supersedes` names never was")

    def get_superseded_by(self, row: Remark | Watering | Spraying | CareDone) -> int | None:
        newer = getattr(row, "superseded_by", None)
        return None if newer is None else newer.pk


class RemarkShape(CorrectedShape):
    """What somebody standing on a field said of its wetness for a kind of work."""

    class Meta:
        model = Remark
        fields = (
            "id",
            "client_id",
            "field",
            "zone",
            "said_at",
            "what",
            "operation",
            "work_record",
            "note",
            *LATER,
        )
        read_only_fields = ("id", "recorded_at")

    field = ByCode(Field)
    zone = ById(SoilZone, required=False, allow_null=True)
    work_record = ById(WorkRecord, required=False, allow_null=True)
    supersedes = ById(Remark, required=False, allow_null=True)


class WateringShape(CorrectedShape):
    """Water put on a field on a day; rows of a day add up."""

    class Meta:
        model = Watering
        fields = ("id", "client_id", "field", "water_on", "depth_in", "note", *LATER)
        read_only_fields = ("id", "recorded_at")

    field = ByCode(Field)
    supersedes = ById(Watering, required=False, allow_null=True)


class SprayDetailShape(RowShape):
    """What a whole record of a spraying holds beside the hours of its labels."""

    class Meta:
        model = SprayDetail
        fields = (
            "started_at",
            "treated_ac",
            "crop",
            "wind_from",
            "temp_f",
            "applicator_name",
            "license_no",
        )

    applicator_name = fields.Text(
        max_length=60,
        required=False,
        help_text="left out: the hand who sprayed, with the license valid that day",
    )


class SprayProductShape(RowShape):
    """One product of a spraying, as its label names it."""

    class Meta:
        model = SprayProduct
        fields = ("name", "registration_no", "rate", "total", "unit", "is_restricted")

    is_restricted = fields.YesNo(
        default=False, help_text="what the farm's records call restricted-use is that all the same"
    )

    def to_internal_value(self, data: Any) -> Any:
        return ProductFacts(**{"registration_no": "", **super().to_internal_value(data)})


class SprayingShape(CorrectedShape):
    """What was sprayed, and what its labels ask for: hours before entry, days before the next crop. The label wins."""

    class Meta:
        model = Spraying
        fields = (
            "id",
            "client_id",
            "field",
            "ended_at",
            "operation",
            "products",
            "reentry_h",
            "plant_back_days",
            "sprayed_by",
            "wind_mph",
            "note",
            "detail",
            "product_rows",
            *LATER,
        )
        read_only_fields = ("id", "recorded_at")

    field = ByCode(Field)
    products = fields.Text(
        max_length=300, required=False, help_text="their names; left out where product_rows stand"
    )
    detail = SprayDetailShape(
        required=False, allow_null=True, help_text="what a whole record holds; goes with product_rows"
    )
    product_rows = SprayProductShape(many=True, required=False, help_text="goes with detail")
    sprayed_by = ByCode(Hand, required=False, allow_null=True, help_text="your own hand if left out")
    supersedes = ById(Spraying, required=False, allow_null=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        detail, rows = attrs.pop("detail", None), attrs.pop("product_rows", [])
        if detail is None and not rows:
            return attrs
        if detail is None or not rows:
            missing = "product_rows" if detail is not None else "detail"
            raise serializers.ValidationError({missing: ["A whole record has detail and product_rows both."]})
        if "products" in attrs:
            raise serializers.ValidationError({"products": ["Leave it out: product_rows names them."]})
        return {**attrs, "detail": SprayFacts(products=tuple(rows), **detail)}


class PivotPlaceShape(RowShape):
    """Where a pivot was seen, clockwise from north, and whether it ran; the newest sight counts."""

    class Meta:
        model = PivotPlace
        fields = ("id", "client_id", "pivot", "seen_at", "is_running", "angle_deg", "note", "recorded_at")
        read_only_fields = ("id", "recorded_at")

    pivot = PivotByField(help_text="code of the pivot's field")
    is_running = fields.YesNo()


class LimitChoiceShape(RowShape):
    """A farm's own choice about a limit; the newest of a key and field counts, what is null stays as it ships."""

    class Meta:
        model = LimitChoice
        fields = ("id", "field", "key", "number", "is_used", "effect", "source", "set_at")
        read_only_fields = ("id", "set_at")

    field = ByCode(Field, required=False, allow_null=True, help_text="null: all fields")
    number = fields.Exact(max_digits=12, decimal_places=4, required=False, allow_null=True)
    is_used = fields.YesNo(required=False, allow_null=True)
