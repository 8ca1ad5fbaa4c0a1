"""How remarks, water, sprayings, pivot places and choices about limits are written as JSON."""

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


class SprayProductShape(RowShape):
    """One product of a spraying, as its label names it."""

    class Meta:
        model = SprayProduct
        fields = ("name", "registration_no", "rate", "total", "unit", "is_restricted")


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
    detail = SprayDetailShape(
        read_only=True, allow_null=True, help_text="null where a report of the kind spray did not say"
    )
    product_rows = SprayProductShape(read_only=True, many=True)
    sprayed_by = ByCode(Hand, required=False, allow_null=True, help_text="your own hand if left out")
    supersedes = ById(Spraying, required=False, allow_null=True)


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
