"""How rates and entries are written as JSON. Money is dollars in a text with two decimals, prices with four."""

from decimal import Decimal

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.related import ByCode
from farmops.farms.models import Implement, Machine
from ledger.models import Entry, Line, PostingWait, Rate, RateKind
from ledger.selectors.drafts import ground_code


@extend_schema_field({"type": "string", "format": "decimal"})
class TenThousandths(serializers.Field):
    """Whole ten-thousandths, written as a decimal with four places."""

    def to_representation(self, value: int) -> str:
        return str(Decimal(value).scaleb(-4))


class RateShape(RowShape):
    """A price of one unit from a date on."""

    class Meta:
        model = Rate
        fields: tuple[str, ...] = (
            "id",
            "kind",
            "subject",
            "category",
            "unit",
            "usd_per_unit",
            "holds_fuel",
            "valid_from",
            "valid_until",
            "correction_no",
            "entered_at",
        )
        read_only_fields = fields

    subject = serializers.SerializerMethodField(
        help_text="code of a hand, machine, implement or input; empty: all"
    )
    category = fields.Text(read_only=True, help_text="of an input, else empty")
    usd_per_unit = TenThousandths(source="price_e4", read_only=True)

    def get_subject(self, rate: Rate) -> str:
        thing = rate.machine or rate.implement or rate.hand
        return thing.code if thing is not None else rate.input_code


class NewRateShape(Shape):
    """A price to be set."""

    kind = fields.Word(choices=RateKind.choices)
    subject = fields.Text(max_length=40, allow_blank=True, default="")
    unit = fields.Text(max_length=12, allow_blank=True, default="")
    category = fields.Text(max_length=20, allow_blank=True, default="")
    usd_per_unit = fields.Exact(max_digits=12, decimal_places=4)
    valid_from = fields.Day()
    valid_until = fields.Day(
        allow_null=True, default=None, help_text="last day; null: until another price of the same begins"
    )
    holds_fuel = fields.YesNo(default=False)
    corrects = fields.YesNo(
        default=False, help_text="true: it takes the place of the price set for that date"
    )


class LineShape(RowShape):
    """One side of an entry."""

    class Meta:
        model = Line
        fields = read_only_fields = (
            "id",
            "entry",
            "line_no",
            "account",
            "season",
            "ground",
            "machine",
            "implement",
            "category",
            "amount_usd",
            "quantity",
            "unit",
            "usd_per_unit",
            "says",
        )

    entry = fields.Whole(source="entry.number", read_only=True)
    season = fields.Whole(source="season_id", read_only=True, allow_null=True)
    ground = serializers.SerializerMethodField()
    machine = ByCode(Machine, read_only=True, allow_null=True)
    implement = ByCode(Implement, read_only=True, allow_null=True)
    category = fields.Text(read_only=True)
    amount_usd = fields.Dollars(source="cents", read_only=True)
    quantity = TenThousandths(source="quantity_e4", read_only=True, allow_null=True)
    usd_per_unit = TenThousandths(source="price_e4", read_only=True, allow_null=True)

    def get_ground(self, line: Line) -> str:
        return "" if line.season is None else ground_code(line.season)


class EntryShape(RowShape):
    """One balanced set of lines, with what caused it and the digest that chains it."""

    class Meta:
        model = Entry
        fields: tuple[str, ...] = (
            "number",
            "source_kind",
            "source_id",
            "purpose",
            "reverses",
            "happened_on",
            "posted_at",
            "why",
            "line_count",
            "hash_before",
            "hash",
        )
        read_only_fields = fields

    reverses = fields.Whole(source="reverses.number", read_only=True, allow_null=True, default=None)


class WholeEntryShape(EntryShape):
    """One entry with its lines."""

    class Meta(EntryShape.Meta):
        fields = read_only_fields = (*EntryShape.Meta.fields, "lines")

    lines = LineShape(many=True, read_only=True)


class CostShape(Shape):
    """One category of one season."""

    crop_year = fields.Whole(read_only=True)
    season_id = fields.Whole(read_only=True)
    field = fields.Text(read_only=True)
    field_name = fields.Text(read_only=True)  # type: ignore[assignment]
    crop = fields.Text(read_only=True)
    area_ac = fields.Exact(max_digits=9, decimal_places=2, read_only=True)
    category = fields.Text(read_only=True)
    quantity = fields.Exact(max_digits=14, decimal_places=3, read_only=True, allow_null=True)
    unit = fields.Text(read_only=True)
    amount_usd = fields.Exact(max_digits=15, decimal_places=2, read_only=True)
    usd_per_ac = fields.Exact(max_digits=15, decimal_places=2, read_only=True)


class WaitShape(RowShape):
    """A source that could not be posted yet, and why."""

    class Meta:
        model = PostingWait
        fields = read_only_fields = (
            "id",
            "source_kind",
            "source_id",
            "happened_on",
            "code",
            "says",
            "first_at",
            "checked_at",
        )
