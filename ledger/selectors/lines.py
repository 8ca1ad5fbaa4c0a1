"""Every line behind a field's cost, with its source and the price behind it."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.models import Farm, Field
from ledger.costing.money import usd_from
from ledger.models import Account, Category, Line
from ledger.selectors.costs import shown_quantity
from ledger.selectors.drafts import ground_code


@dataclass(frozen=True)
class LineDetail:
    """One line as it is shown: what, how much, at which price from which row, from which source."""

    line_id: int
    entry_number: int
    happened_on: dt.date
    ground: str
    crop: str
    category: Category
    says: str
    quantity: Decimal | None
    unit: str
    price_usd: Decimal | None
    price_from: str
    cents: int
    source_kind: str
    source_id: int
    source_says: str
    reversed_by: int | None

    @property
    def amount_usd(self) -> Decimal:
        """Return the dollars, exactly."""
        return usd_from(self.cents)


def lines_of_field(*, farm: Farm, field: Field, crop_year: int) -> list[LineDetail]:
    """Return the lines of a field's seasons of a crop year in the order they happened."""
    lines = (
        Line.objects.filter(
            farm=farm, account=Account.SEASON, season__field=field, season__crop_year=crop_year
        )
        .select_related(
            "entry__work_record__hand",
            "entry__work_record__field_pass",
            "entry__bill__payee",
            "entry__care_done__rule__pivot",
            "entry__care_done__hand",
            "entry__reverses",
            "entry__reversed_by",
            "season__field",
            "rate__machine",
            "rate__implement",
            "rate__hand",
            "cost_facts__machine",
            "cost_facts__implement",
        )
        .order_by("entry__happened_on", "entry__number", "line_no")
    )
    return [_detail(line) for line in lines]


def _detail(line: Line) -> LineDetail:
    entry = line.entry
    quantity, unit = shown_quantity(line.quantity_e4, line.unit)
    season = line.season
    assert season is not None
    reversal = getattr(entry, "reversed_by", None)
    return LineDetail(
        line_id=line.pk,
        entry_number=entry.number,
        happened_on=entry.happened_on,
        ground=ground_code(season),
        crop=season.crop,
        category=Category(line.category),
        says=line.says,
        quantity=quantity,
        unit=unit,
        price_usd=None if line.price_e4 is None else Decimal(line.price_e4).scaleb(-4),
        price_from=_price_from(line),
        cents=line.cents,
        source_kind=entry.source_kind,
        source_id=entry.source_id,
        source_says=_source_says(line),
        reversed_by=reversal.number if reversal else None,
    )


def _price_from(line: Line) -> str:
    if line.cost_facts is not None:
        return str(line.cost_facts)
    return str(line.rate) if line.rate is not None else ""


def _source_says(line: Line) -> str:
    entry = line.entry
    if entry.work_record is not None:
        record = entry.work_record
        return f"{record.hand.name}: {record.field_pass.get_operation_display()} on {record.work_on}"
    if entry.bill is not None:
        return f"bill of {entry.bill}"
    if entry.care_done is not None:
        who = f"{entry.care_done.hand.name}: " if entry.care_done.hand is not None else ""
        return f"{who}{entry.care_done.rule}"
    if entry.reverses is not None:
        return f"entry {entry.reverses.number} reversed: {entry.why}"
    return entry.get_source_kind_display()
