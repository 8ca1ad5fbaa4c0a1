"""How rates, bills and entries are written as JSON. Money is dollars in a text with two decimals, prices with four."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.related import ByCode, ById
from farmops.farms.models import Implement, Machine, Season
from ledger.models import Bill, BillPayment, Entry, Line, PostingWait, Rate, RateKind
from ledger.selectors.drafts import ground_code
from scheduling.models import Incident


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


class PaymentShape(RowShape):
    """A bill was paid, whole, on a day."""

    class Meta:
        model = BillPayment
        fields = ("paid_on", "check_no")


class BillShape(RowShape):
    """What a supplier asks; below zero, a credit."""

    class Meta:
        model = Bill
        fields: tuple[str, ...] = (
            "id",
            "client_id",
            "payee",
            "number",
            "bill_on",
            "amount_usd",
            "category",
            "incident",
            "season",
            "machine",
            "implement",
            "note",
            "supersedes",
            "entered_at",
            "payment",
        )
        read_only_fields = fields

    payee = fields.Text(source="payee.name", read_only=True)
    amount_usd = fields.Dollars(source="cents", read_only=True)
    incident = ById(Incident, read_only=True, allow_null=True)
    season = ById(Season, read_only=True, allow_null=True)
    machine = ByCode(Machine, read_only=True, allow_null=True)
    implement = ByCode(Implement, read_only=True, allow_null=True)
    supersedes = ById(Bill, read_only=True, allow_null=True)
    payment = serializers.SerializerMethodField()

    @extend_schema_field(PaymentShape(allow_null=True))
    def get_payment(self, bill: Bill) -> Any:
        payment = getattr(bill, "payment", None)
        return None if payment is None else PaymentShape(payment).data


class NewBillShape(Shape):
    """A bill to be entered. The same `client_id` with the same facts is the same bill."""

    client_id = fields.ClientId()
    payee = fields.Text(max_length=80)
    number = fields.Text(
        max_length=40, allow_blank=True, default="", help_text="the supplier's invoice number"
    )
    bill_on = fields.Day()
    amount_usd = fields.Exact(max_digits=15, decimal_places=2)
    category = fields.Text(max_length=20, help_text="a category of the farm that bills are of")
    incident = ById(Incident, default=None, allow_null=True)
    season = ById(Season, default=None, allow_null=True)
    machine = ByCode(Machine, default=None, allow_null=True)
    implement = ByCode(Implement, default=None, allow_null=True)
    note = fields.Text(max_length=2000, allow_blank=True, default="", lines=True)
    supersedes = ById(Bill, default=None, allow_null=True)


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
