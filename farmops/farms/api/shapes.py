"""How farm facts are written as JSON."""

from typing import Any

from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.related import ByCode
from farmops.farms.models import (
    CareRule,
    CropWaterFacts,
    Farm,
    Field,
    FuelTank,
    Hand,
    Implement,
    LatePlantingFacts,
    Machine,
    Pivot,
    Pump,
    Season,
    SoilZone,
)
from farmops.farms.operations import choices


class FarmShape(RowShape):
    """A farm: its clock, its place, whom to call. Code, zone and place are set when it is loaded."""

    class Meta:
        model = Farm
        fields = (
            "code",
            "name",
            "zone",
            "latitude_deg",
            "longitude_deg",
            "elevation_ft",
            "road_address",
            "boss_name",
            "boss_phone",
            "emergency_number",
            "sheet_at",
            "region",
        )
        read_only_fields = ("code", "zone", "latitude_deg", "longitude_deg", "elevation_ft")


SOIL_NUMBERS = (
    "workable_m3_m3",
    "dry_m3_m3",
    "retention_residual_m3_m3",
    "retention_saturation_m3_m3",
    "retention_alpha_per_m",
    "retention_n",
)


def _measured(says: str) -> fields.Exact:
    return fields.Exact(max_digits=8, decimal_places=4, required=False, allow_null=True, help_text=says)


class ZoneShape(RowShape):
    """A part of a field with one soil texture; the numbers of a retention curve are stated all or none."""

    class Meta:
        model = SoilZone
        fields: tuple[str, ...] = ("id", "name", "texture", "share_pct", *SOIL_NUMBERS)
        read_only_fields = ("id",)

    texture = fields.Text(max_length=30, help_text="a texture that the ground is worked out for")
    workable_m3_m3 = _measured("own wet limit; null: by texture")
    dry_m3_m3 = _measured("own dry limit; null: by texture")
    retention_residual_m3_m3 = _measured("of a measured retention curve")
    retention_saturation_m3_m3 = _measured("of a measured retention curve")
    retention_alpha_per_m = _measured("of a measured retention curve")
    retention_n = _measured("of a measured retention curve")


class ZoneOfFieldShape(ZoneShape):
    """A soil zone with its field."""

    class Meta(ZoneShape.Meta):
        fields = ("id", "field", "name", "texture", "share_pct", *SOIL_NUMBERS)

    field = ByCode(Field, read_only=True)


class FieldShape(RowShape):
    """A field; the acres of the boundary are worked out on the ellipsoid, those of papers stand beside them."""

    class Meta:
        model = Field
        fields = (
            "code",
            "name",
            "boundary",
            "area_ac",
            "stated_ac",
            "planted_ac",
            "latitude_deg",
            "longitude_deg",
            "agency_farm_no",
            "agency_tract_no",
            "agency_field_no",
            "agency_ac",
            "landlord",
            "landlord_share_pct",
            "entrance",
            "road_address",
            "zones",
        )
        read_only_fields = ("area_ac", "latitude_deg", "longitude_deg")

    zones = ZoneShape(many=True)


class SeasonShape(RowShape):
    """One crop on one part of a field."""

    class Meta:
        model = Season
        fields = ("id", "field", "crop_year", "crop", "part", "area_ac", "landlord", "landlord_share_pct")
        read_only_fields = ("id",)

    field = ByCode(Field)
    part = fields.Code(required=False, allow_blank=True, help_text="empty for the whole field")


class StretchShape(Shape):
    """Hours of a weekday."""

    weekday = fields.Whole(max_value=6, help_text="0 is Monday")
    starts_at = fields.Clock()
    ends_at = fields.Clock()


class ShiftShape(StretchShape):
    """Hours of a weekday in which a hand works."""

    is_overtime = fields.YesNo(default=False)


class AwayShape(Shape):
    """Days on which a hand is away."""

    first_on = fields.Day()
    last_on = fields.Day()
    why = fields.Text(max_length=80, allow_blank=True, default="")


class LicenseShape(Shape):
    """A license to apply pesticides, valid through the day that it expires on."""

    number = fields.Text(max_length=40)
    category = fields.Text(max_length=60, allow_blank=True, default="")
    expires_on = fields.Day()


class FuelTankShape(RowShape):
    """A tank of the farm's own fuel."""

    class Meta:
        model = FuelTank
        fields = ("code", "name", "fuel", "holds_gal")


class PumpShape(RowShape):
    """A well or pump that pivots share."""

    class Meta:
        model = Pump
        fields = ("code", "name", "flow_gpm", "shut_hours")

    shut_hours = StretchShape(many=True, required=False)


class PivotShape(RowShape):
    """A center pivot, known by its field."""

    class Meta:
        model = Pivot
        fields = (
            "field",
            "pump",
            "name",
            "last_tower_radius_ft",
            "walk_ft_per_min",
            "tower_count",
            "parking_angle_deg",
            "strip_width_ft",
            "strip_move_deg",
        )

    field = ByCode(Field)
    pump = ByCode(Pump)


class MachineShape(RowShape):
    """A machine with an engine and an hour meter."""

    class Meta:
        model = Machine
        fields = (
            "code",
            "name",
            "name_es",
            "kind",
            "power_hp",
            "fuel",
            "road_speed_mph",
            "meter_start_h",
            "noise_dba",
            "down_until",
        )


class OperationsField(serializers.ListField):
    """Kinds of work, kept as rows of their own."""

    child = fields.Word(choices=choices())

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=20, **kwargs)

    def to_internal_value(self, data: Any) -> list[dict[str, str]]:
        words = super().to_internal_value(data)
        return [{"operation": word} for word in sorted(set(words))]

    def to_representation(self, data: Any) -> list[str]:
        return sorted(row.operation for row in data.all())


class ImplementShape(RowShape):
    """What a machine pulls or carries."""

    class Meta:
        model = Implement
        fields = (
            "code",
            "name",
            "name_es",
            "carried_by",
            "operations",
            "width_ft",
            "speed_min_mph",
            "speed_mph",
            "speed_max_mph",
            "efficiency_pct",
            "power_needed_hp",
            "road_factor",
            "wide_on_road",
            "draft_kind",
            "depth_in",
            "tool_count",
            "gang_angle_min_deg",
            "gang_angle_max_deg",
            "bearings_front",
            "bearings_back",
            "down_until",
        )

    operations = OperationsField()
    draft_kind = fields.Text(
        max_length=30,
        required=False,
        allow_blank=True,
        help_text="how its pull is worked out; empty: not known",
    )


class HandShape(RowShape):
    """A person who works."""

    class Meta:
        model = Hand
        fields = (
            "code",
            "name",
            "email",
            "phone",
            "language",
            "is_owner",
            "works",
            "started_on",
            "skills",
            "shifts",
            "away",
            "licenses",
        )

    skills = OperationsField(required=False)
    shifts = ShiftShape(many=True, required=False)
    away = AwayShape(many=True, required=False)
    licenses = LicenseShape(many=True, required=False)

    def validate_licenses(self, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        numbers = [row["number"] for row in rows]
        twice = sorted({number for number in numbers if numbers.count(number) > 1})
        if twice:
            raise serializers.ValidationError(f"The license {twice[0]!r} stands a second time.")
        return rows


class HandsField(serializers.ListField):
    """Hands by their codes, kept as rows of their own."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(child=ByCode(Hand), max_length=40, **kwargs)

    def to_internal_value(self, data: Any) -> list[dict[str, Hand]]:
        hands = super().to_internal_value(data)
        return [{"hand": hand} for hand in dict.fromkeys(hands)]

    def to_representation(self, data: Any) -> list[str]:
        return sorted(row.hand.code for row in data.all())


class PivotOfField(ByCode):
    """A pivot by the code of its field."""

    column = "field__code"

    def to_representation(self, value: Any) -> Any:
        return value.field.code


class CareRuleShape(RowShape):
    """A service of a machine, implement or pivot: how often (whichever runs out first), how long, where, and by whom."""

    class Meta:
        model = CareRule
        fields = (
            "code",
            "machine",
            "implement",
            "pivot",
            "what",
            "what_es",
            "every_h",
            "every_days",
            "every_ac",
            "every_starts",
            "takes_min",
            "place",
            "is_must",
            "is_used",
            "hands",
            "counts_from_h",
            "counts_from_on",
            "source",
        )

    machine = ByCode(Machine, required=False, allow_null=True)
    implement = ByCode(Implement, required=False, allow_null=True)
    pivot = PivotOfField(Pivot, required=False, allow_null=True, help_text="code of the field it stands on")
    hands = HandsField(required=False, help_text="who does it; empty: whoever works")


class LossShape(Shape):
    """From the day after `after` on, so much more is lost each day; `at_once` on the first of them."""

    after = fields.Text(max_length=5, help_text="MM-DD")
    per_day = fields.Exact(max_digits=8, decimal_places=3)
    at_once = fields.Exact(max_digits=8, decimal_places=3, required=False)
    source = fields.Text(  # type: ignore[assignment]  # the field of that name, not where a value comes from
        max_length=400, required=False, allow_blank=True
    )


class LatePlantingShape(RowShape):
    """A crop's worth to the farm, and the curve of what planting it late takes."""

    class Meta:
        model = LatePlantingFacts
        fields = (
            "crop",
            "yield_per_ac",
            "yield_unit",
            "price_usd",
            "curve",
            "losses",
            "is_in_pct",
            "source",
        )

    losses = LossShape(many=True, required=False, allow_null=True, help_text="own curve; null: none")
    curve = fields.Text(max_length=40, required=False, allow_blank=True, help_text="one that ships, or empty")


class CropWaterShape(RowShape):
    """A farm's own root depth and allowed depletion of a crop; the newest counts, null is the region's."""

    class Meta:
        model = CropWaterFacts
        fields = ("id", "crop", "root_depth_in", "allowed_share", "set_at")
        read_only_fields = ("id", "set_at")
