"""How fuel is written as JSON: fill-ups, deliveries, what the stick found."""

from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape
from farmops.farms.api.related import ByCode, ById
from farmops.farms.models import FuelTank, Hand, Machine
from scheduling.models import FuelDelivery, FuelFill, TankReading

LATER = ("is_taken_back", "supersedes", "superseded_by", "recorded_at")


class FuelRowShape(RowShape):
    """A row that a newer one may correct or take back; `superseded_by` names it."""

    superseded_by = serializers.SerializerMethodField()
    is_taken_back = fields.YesNo(default=False, help_text="true: what `supersedes` names never was")

    def get_superseded_by(self, row: FuelFill | FuelDelivery) -> int | None:
        newer = getattr(row, "superseded_by", None)
        return None if newer is None else newer.pk


class FuelFillShape(FuelRowShape):
    """Gallons put into a machine; the meter is kept as a reading too. Without a tank they were bought elsewhere."""

    class Meta:
        model = FuelFill
        fields = (
            "id",
            "client_id",
            "machine",
            "tank",
            "fuel",
            "filled_at",
            "gallons",
            "meter_h",
            "hand",
            "note",
            *LATER,
        )
        read_only_fields = ("id", "recorded_at")

    machine = ByCode(Machine)
    tank = ByCode(FuelTank, required=False, allow_null=True)
    hand = ByCode(Hand, required=False, allow_null=True, help_text="your own if left out")
    supersedes = ById(FuelFill, required=False, allow_null=True)


class FuelDeliveryShape(FuelRowShape):
    """Gallons that a supplier put into a tank."""

    class Meta:
        model = FuelDelivery
        fields = ("id", "client_id", "tank", "delivered_at", "gallons", "ticket_no", "note", *LATER)
        read_only_fields = ("id", "recorded_at")

    tank = ByCode(FuelTank)
    supersedes = ById(FuelDelivery, required=False, allow_null=True)


class TankReadingShape(RowShape):
    """Gallons in a tank by the stick; of two readings of one hour the later row counts."""

    class Meta:
        model = TankReading
        fields = ("id", "client_id", "tank", "read_at", "gallons", "note", "recorded_at")
        read_only_fields = ("id", "recorded_at")

    tank = ByCode(FuelTank)
