"""How bills and opening stock are written as JSON. Money is dollars in a text with two decimals."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.related import ByCode, ById
from farmops.farms.models import Implement, Machine, Pump, Season
from ledger.api.shapes import TenThousandths
from ledger.models import Bill, BillItem, BillPayment, Entity, OpeningStock, Payee
from ledger.services.bill_items import NewBillItem
from ledger.services.bill_rules import CURRENCY
from scheduling.models import Incident


class PaymentShape(RowShape):
    """A bill was paid, whole, on a day."""

    class Meta:
        model = BillPayment
        fields = ("paid_on", "check_no")


class BillItemShape(RowShape):
    """One line of a bill."""

    class Meta:
        model = BillItem
        fields = read_only_fields = (
            "item_no",
            "category",
            "amount_usd",
            "item",
            "lot",
            "quantity",
            "unit",
            "season",
            "machine",
            "says",
        )

    amount_usd = fields.Dollars(source="cents", read_only=True)
    quantity = TenThousandths(source="quantity_e4", read_only=True, allow_null=True)
    season = ById(Season, read_only=True, allow_null=True)
    machine = ByCode(Machine, read_only=True, allow_null=True)


class NewBillItemShape(Shape):
    """One line of a bill to be entered; with an item code, a quantity and a unit it comes into stock."""

    category = fields.Text(max_length=20)
    amount_usd = fields.Exact(max_digits=15, decimal_places=2)
    item = fields.Text(max_length=40, allow_blank=True, default="")
    lot = fields.Text(max_length=40, allow_blank=True, default="")
    quantity = fields.Exact(max_digits=18, decimal_places=4, default=None, allow_null=True)
    unit = fields.Text(max_length=12, allow_blank=True, default="")
    season = ById(Season, default=None, allow_null=True)
    machine = ByCode(Machine, default=None, allow_null=True)
    says = fields.Text(max_length=120, allow_blank=True, default="")

    def to_internal_value(self, data: Any) -> Any:
        return NewBillItem(**super().to_internal_value(data))


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
            "pump",
            "entity",
            "sales_tax_usd",
            "crop_year",
            "shared_by",
            "items",
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
    pump = ByCode(Pump, read_only=True, allow_null=True)
    entity = ByCode(Entity, read_only=True, allow_null=True)
    sales_tax_usd = fields.Dollars(source="sales_tax_cents", read_only=True)
    crop_year = fields.Whole(read_only=True, allow_null=True)
    shared_by = fields.Text(read_only=True, help_text="over all fields of the crop year; empty: not shared")
    items = BillItemShape(many=True, read_only=True)
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
    category = fields.Text(
        max_length=20,
        allow_blank=True,
        default="",
        help_text="a category of the farm that bills are of; empty: that of most cents of the items",
    )
    sales_tax_usd = fields.Exact(
        max_digits=15, decimal_places=2, default=Decimal(0), help_text="of the amount"
    )
    currency = fields.Text(max_length=8, default=CURRENCY)
    entity = ByCode(Entity, default=None, allow_null=True)
    crop_year = fields.Whole(default=None, allow_null=True)
    shared_by = fields.Text(max_length=12, allow_blank=True, default="", help_text="acres or equal")
    incident = ById(Incident, default=None, allow_null=True)
    season = ById(Season, default=None, allow_null=True)
    machine = ByCode(Machine, default=None, allow_null=True)
    implement = ByCode(Implement, default=None, allow_null=True)
    pump = ByCode(Pump, default=None, allow_null=True)
    items = NewBillItemShape(many=True, default=list)
    note = fields.Text(max_length=2000, allow_blank=True, default="", lines=True)
    paid_on = fields.Day(default=None, allow_null=True)
    check_no = fields.Text(max_length=20, allow_blank=True, default="")
    supersedes = ById(Bill, default=None, allow_null=True)


class OpeningShape(RowShape):
    """What was in stock of an item when the books began."""

    class Meta:
        model = OpeningStock
        fields: tuple[str, ...] = (
            "id",
            "client_id",
            "item",
            "category",
            "lot",
            "quantity",
            "unit",
            "amount_usd",
            "on",
            "supersedes",
            "entered_at",
        )
        read_only_fields = fields

    quantity = TenThousandths(source="quantity_e4", read_only=True)
    amount_usd = fields.Dollars(source="cents", read_only=True)
    supersedes = ById(OpeningStock, read_only=True, allow_null=True)


class NewOpeningShape(Shape):
    """What was in stock, to be entered once for each item and lot."""

    client_id = fields.ClientId()
    item = fields.Text(max_length=40)
    category = fields.Text(max_length=20)
    lot = fields.Text(max_length=40, allow_blank=True, default="")
    quantity = fields.Exact(max_digits=18, decimal_places=4)
    unit = fields.Text(max_length=12)
    amount_usd = fields.Exact(max_digits=15, decimal_places=2)
    on = fields.Day()
    supersedes = ById(OpeningStock, default=None, allow_null=True)


class CategoryShape(Shape):
    """A category that bills are of, or that the books work out."""

    code = fields.Text(read_only=True)
    label = fields.Text(read_only=True)  # type: ignore[assignment]
    is_stocked = fields.YesNo(read_only=True, help_text="bought into stock, and used from it")
    is_billed = fields.YesNo(read_only=True)
    counts_for_1099 = fields.YesNo(read_only=True, help_text="rent, services and the like")


class NewCategoryShape(Shape):
    """A category of the farm's own."""

    code = fields.Text(max_length=20)
    label = fields.Text(max_length=60)  # type: ignore[assignment]
    is_stocked = fields.YesNo(default=False)
    counts_for_1099 = fields.YesNo(default=False)


class EntityShape(RowShape):
    """A company or person in whose name bills are."""

    class Meta:
        model = Entity
        fields = ("code", "name")


class PayeeShape(RowShape):
    """Somebody who is paid."""

    class Meta:
        model = Payee
        fields = ("name", "has_w9", "gets_no_1099")


class NewPayeeShape(Shape):
    """What is known of a payee, by the name."""

    name = fields.Text(max_length=80)
    has_w9 = fields.YesNo(default=None, allow_null=True, help_text="null: not known")
    gets_no_1099 = fields.YesNo(default=False, help_text="a corporation or the like")


class PayeeYearShape(Shape):
    """What a payee was paid in a calendar year, against the threshold of form 1099. Not tax advice."""

    payee = fields.Text(source="payee.name", read_only=True)
    has_w9 = fields.YesNo(read_only=True, allow_null=True)
    gets_no_1099 = fields.YesNo(source="payee.gets_no_1099", read_only=True)
    paid_usd = fields.Dollars(source="paid_cents", read_only=True)
    counted_usd = fields.Dollars(
        source="counted_cents", read_only=True, help_text="rent, services and the like"
    )
    threshold_usd = fields.Dollars(source="threshold_cents", read_only=True, allow_null=True)
    is_over = fields.YesNo(read_only=True, help_text="one payer came to the threshold")
    says = fields.Text(read_only=True)
