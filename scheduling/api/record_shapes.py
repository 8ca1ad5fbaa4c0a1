"""How work records, readings, incidents and the grower's word are written as JSON."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.related import ByCode, ById
from farmops.farms.models import Field, Hand, Implement, Machine, Season, SoilZone
from scheduling.api.shapes import PassKey
from scheduling.models import FieldPass, HourReading, Incident, InputUse, SaySo, WorkRecord
from scheduling.services.record_rules import UsedInput


class InputShape(RowShape):
    """An input put on the ground."""

    class Meta:
        model = InputUse
        fields = ("input_code", "quantity", "unit", "lot")

    def to_internal_value(self, data: Any) -> Any:
        return UsedInput(**super().to_internal_value(data))


class WorkRecordShape(RowShape):
    """What a hand says was done on a pass. A correction names the record that it supersedes."""

    class Meta:
        model = WorkRecord
        fields = (
            "id",
            "client_id",
            "field_pass",
            "pass_key",
            "hand",
            "machine",
            "implement",
            "work_on",
            "starts_at",
            "hand_min",
            "machine_min",
            "done_ac",
            "overtime_min",
            "is_finished",
            "not_done_why",
            "note",
            "inputs",
            "supersedes",
            "superseded_by",
            "recorded_at",
        )
        read_only_fields = ("id", "recorded_at")

    field_pass = ById(FieldPass)
    pass_key = PassKey(source="field_pass", read_only=True)
    hand = ByCode(Hand, required=False, help_text="your own if left out")
    machine = ByCode(Machine, required=False, allow_null=True)
    implement = ByCode(Implement, required=False, allow_null=True)
    hand_min = fields.Whole(max_value=1440)
    done_ac = fields.Exact(max_digits=9, decimal_places=2, default=Decimal(0))
    is_finished = fields.YesNo()
    inputs = InputShape(many=True, required=False)
    supersedes = ById(WorkRecord, required=False, allow_null=True)
    superseded_by = serializers.SerializerMethodField()

    def get_superseded_by(self, record: WorkRecord) -> int | None:
        newer = getattr(record, "superseded_by", None)
        return None if newer is None else newer.pk


class HourReadingShape(RowShape):
    """A reading of an hour meter, in hours and tenths."""

    class Meta:
        model = HourReading
        fields = ("id", "client_id", "machine", "reading_h", "read_at", "read_by", "recorded_at")
        read_only_fields = ("id", "recorded_at")

    machine = ByCode(Machine)
    read_by = ByCode(Hand, required=False, allow_null=True, help_text="your own hand if left out")


class IncidentShape(RowShape):
    """Something that went wrong in the field."""

    class Meta:
        model = Incident
        fields = (
            "id",
            "client_id",
            "kind",
            "happened_at",
            "field",
            "season",
            "machine",
            "implement",
            "hand",
            "wheel",
            "met",
            "lost_min",
            "note",
            "recorded_at",
        )
        read_only_fields = ("id", "recorded_at")

    field = ByCode(Field, required=False, allow_null=True)
    season = ById(Season, required=False, allow_null=True)
    machine = ByCode(Machine, required=False, allow_null=True)
    implement = ByCode(Implement, required=False, allow_null=True)
    hand = ByCode(Hand, required=False, allow_null=True, help_text="your own if left out")


class SaySoShape(RowShape):
    """The grower's own word on a field for a day; the newest of the day counts."""

    class Meta:
        model = SaySo
        fields = ("id", "client_id", "field", "zone", "day", "word", "after_at", "said_at")
        read_only_fields = ("id", "said_at")

    client_id = fields.ClientId(
        required=False,
        allow_null=True,
        help_text="made by the sender; the same word sent again is the same row",
    )
    field = ByCode(Field)
    zone = ById(SoilZone, required=False, allow_null=True)


class WindowsShape(Shape):
    """The document `windows/1`: open and shut minutes of every open pass, with reasons, and the ground behind them."""

    format = fields.Text(read_only=True)
    start = fields.Text(read_only=True)
    zone = fields.Text(read_only=True)
    days = fields.Whole(read_only=True)
    as_of = fields.Text(read_only=True)
    horizon = fields.Whole(read_only=True)
    notes = serializers.ListField(child=fields.Text(), read_only=True)
    choices = serializers.ListField(child=fields.Document(), read_only=True)
    passes = serializers.ListField(child=fields.Document(), read_only=True)
    ground = serializers.ListField(child=fields.Document(), read_only=True)
