"""How pools, share-outs and the years of machines are written as JSON. Money is dollars in a text with two decimals."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.related import ById
from farmops.farms.models import Season
from ledger.api.shapes import TenThousandths
from ledger.costing.money import cents_of, usd_text
from ledger.models import Entry, SharedBy, ShareOut, ShareOutPart
from ledger.selectors.fixed_costs import FixedCost
from ledger.selectors.pools import Pool, key_of_pool
from ledger.services.share_outs import LONGEST_WHY

POOL_KEYS = "overhead, machine:CODE, implement:CODE, pump:CODE, shed:CODE or tank:CODE"


class PoolPartShape(Shape):
    """What a pool holds of one category; below zero, charged ahead."""

    category = fields.Text()
    amount_usd = fields.Text()


class PoolShape(Shape):
    """What a pool holds."""

    pool = fields.Text(source="key", help_text=POOL_KEYS)
    name = fields.Text()
    left_usd = fields.Dollars(source="left_cents")
    parts = serializers.SerializerMethodField()

    @extend_schema_field(PoolPartShape(many=True))
    def get_parts(self, pool: Pool) -> list[dict[str, str]]:
        return [
            {"category": category, "amount_usd": usd_text(cents)}
            for category, cents in pool.by_category.items()
        ]


class ShareOutPartShape(RowShape):
    """What one season got of one category, and its weight."""

    class Meta:
        model = ShareOutPart
        fields = read_only_fields = ("season", "category", "weight", "unit", "amount_usd")

    season = ById(Season, read_only=True)
    weight = TenThousandths(source="weight_e4", read_only=True)
    amount_usd = fields.Dollars(source="cents", read_only=True)


class ShareOutShape(RowShape):
    """A pool that was shared out over seasons, or what a landlord bears of their costs; undone by its entry."""

    class Meta:
        model = ShareOut
        fields = read_only_fields = (
            "id",
            "client_id",
            "pool",
            "landlord",
            "shared_by",
            "crop_year",
            "first_on",
            "last_on",
            "total_usd",
            "why",
            "made_at",
            "entry",
            "reversed_by",
            "parts",
        )

    pool = serializers.SerializerMethodField(help_text="empty where a landlord bears it")
    landlord = fields.Text(source="landlord.name", read_only=True, allow_null=True, default=None)
    total_usd = fields.Dollars(source="total_cents", read_only=True)
    entry = serializers.SerializerMethodField(help_text="number of its entry")
    reversed_by = serializers.SerializerMethodField(help_text="number of the entry that undid it")
    parts = ShareOutPartShape(many=True, read_only=True)

    def get_pool(self, row: ShareOut) -> str:
        if row.landlord is not None:
            return ""
        return key_of_pool(row.machine or row.implement or row.pump, item=row.item, stock=row.stock)

    def get_entry(self, row: ShareOut) -> int:
        return _entry(row).number

    def get_reversed_by(self, row: ShareOut) -> int | None:
        reversal: Entry | None = getattr(_entry(row), "reversed_by", None)
        return None if reversal is None else reversal.number


def _entry(row: ShareOut) -> Entry:
    entry: Any = row.entries.all()[0]
    found: Entry = entry
    return found


class NewShareOutShape(Shape):
    """A pool to be shared out. The same `client_id` with the same facts is the same share-out."""

    client_id = fields.ClientId()
    pool = fields.Text(max_length=60, help_text=POOL_KEYS)
    shared_by = fields.Word(choices=SharedBy.choices)
    crop_year = fields.Whole(min_value=1990, max_value=2100)
    first_on = fields.Day()
    last_on = fields.Day(help_text="what was booked through this day is shared out")
    why = fields.Text(max_length=LONGEST_WHY)


class MachineYearShape(Shape):
    """What owning a machine or implement takes in a year, for management and not for taxes; null where not known."""

    kind = serializers.SerializerMethodField()
    code = fields.Text(source="thing.code")
    lacks = fields.Text(help_text="why nothing can be told, else empty")
    value_start_usd = serializers.SerializerMethodField()
    value_end_usd = serializers.SerializerMethodField()
    depreciation_usd = serializers.SerializerMethodField()
    recovery_usd = serializers.SerializerMethodField()
    insurance_housing_usd = serializers.SerializerMethodField()
    usd_per_h = serializers.SerializerMethodField()
    booked_usd = serializers.SerializerMethodField(help_text="as it stands in the pool")

    def get_kind(self, one: FixedCost) -> str:
        return type(one.thing).__name__.lower()

    def get_value_start_usd(self, one: FixedCost) -> str | None:
        return _owned(one, "value_start_usd")

    def get_value_end_usd(self, one: FixedCost) -> str | None:
        return _owned(one, "value_end_usd")

    def get_depreciation_usd(self, one: FixedCost) -> str | None:
        return _owned(one, "depreciation_usd")

    def get_recovery_usd(self, one: FixedCost) -> str | None:
        return _owned(one, "recovery_usd")

    def get_insurance_housing_usd(self, one: FixedCost) -> str | None:
        return _owned(one, "insurance_housing_usd")

    def get_usd_per_h(self, one: FixedCost) -> str | None:
        return _owned(one, "per_h_usd")

    def get_booked_usd(self, one: FixedCost) -> str | None:
        return None if one.booked is None else usd_text(one.booked.recovery_cents)


def _owned(one: FixedCost, name: str) -> str | None:
    return None if one.owned is None else usd_text(cents_of(getattr(one.owned, name)))


class NewMachineYearShape(Shape):
    """A calendar year that is over, to be booked into the pools."""

    year = fields.Whole(min_value=1990, max_value=2100)
