"""The books: entries that balance or do not exist, chained by digest, numbered without gaps.

The database holds the rules itself (`ledger.models.rules_in_database`): an entry whose lines do not sum to zero, or
of which a line is missing, is refused at commit on both engines.
"""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Implement, Machine, Pump, Season, farm_of
from ledger.models.bills import Bill, BillPayment
from ledger.models.periods import PeriodMark
from ledger.models.rates import MachineCostFacts, Rate
from ledger.models.share_outs import MachineYear, ShareOut
from ledger.models.stock import OpeningStock
from ledger.models.words import Account
from scheduling.models import CareDone, FuelFill, HourReading, Incident, WorkRecord


class SourceKind(models.TextChoices):
    WORK_RECORD = "work_record", "work record"
    BILL = "bill", "bill"
    PAYMENT = "payment", "payment of a bill"
    CARE_DONE = "care_done", "service done"
    INCIDENT = "incident", "incident"
    FUEL_FILL = "fuel_fill", "fill-up"
    HOUR_READING = "hour_reading", "hour reading"
    OPENING = "opening", "opening stock"
    SHARE_OUT = "share_out", "share-out"
    MACHINE_YEAR = "machine_year", "year of a machine"
    PERIOD = "period", "close of a period"
    REVERSAL = "reversal", "reversal"


SOURCES = {
    SourceKind.WORK_RECORD: "work_record",
    SourceKind.BILL: "bill",
    SourceKind.PAYMENT: "payment",
    SourceKind.CARE_DONE: "care_done",
    SourceKind.INCIDENT: "incident",
    SourceKind.FUEL_FILL: "fuel_fill",
    SourceKind.HOUR_READING: "hour_reading",
    SourceKind.OPENING: "opening",
    SourceKind.SHARE_OUT: "share_out",
    SourceKind.MACHINE_YEAR: "machine_year",
    SourceKind.PERIOD: "period_mark",
}
"""Which key of an entry points to its source, by the kind of source."""


def _its_source() -> Q:
    """Return that an entry points to its source and to nothing else; one from a file has none of them here."""
    nothing: dict[str, object] = dict.fromkeys(SOURCES.values())
    held = Q(source_kind="reversal", **nothing) | Q(is_imported=True, **nothing)
    for kind, key in SOURCES.items():
        held |= Q(is_imported=False, source_kind=kind.value, **{**nothing, key: F("source_id")})
    return held


def _source(model: type[models.Model]) -> models.ForeignKey:
    return models.ForeignKey(model, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")


class Zero(AppendOnlyModel):
    """One row that holds nothing but 0: what an entry is out of balance by must be found here at commit."""

    v = models.BigIntegerField(primary_key=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(v=0), name="zero_is_zero")]


class Entry(AppendOnlyModel):
    """One balanced set of lines, with what caused it. An entry without lines says that there was nothing to book."""

    farm = farm_of()
    number = models.PositiveIntegerField(help_text="1, 2, 3 ... of the farm, without gaps")
    source_kind = models.CharField(max_length=12, choices=SourceKind.choices)
    source_id = models.BigIntegerField()
    source_key = models.CharField(max_length=40, help_text="the source's own id, as it is hashed")
    purpose = models.CharField(max_length=12, default="cost")
    work_record = _source(WorkRecord)
    bill = _source(Bill)
    payment = _source(BillPayment)
    care_done = _source(CareDone)
    incident = _source(Incident)
    fuel_fill = _source(FuelFill)
    hour_reading = _source(HourReading)
    opening = _source(OpeningStock)
    share_out = _source(ShareOut)
    machine_year = _source(MachineYear)
    period_mark = _source(PeriodMark)
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )
    happened_on = models.DateField(help_text="business date of the source")
    booked_on = models.DateField(
        help_text="that date, or the first day of the month that was open where its own was closed"
    )
    posted_at = models.DateTimeField()
    why = models.CharField(max_length=200, blank=True, help_text="of a reversal")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    is_imported = models.BooleanField(default=False, help_text="read from a journal of another database")
    form_no = models.PositiveSmallIntegerField(default=1, help_text="of the canonical form that is hashed")
    line_count = models.PositiveSmallIntegerField()
    hash_before = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering = ["farm", "number"]
        verbose_name_plural = "entries"
        constraints = [
            models.UniqueConstraint(fields=["farm", "number"], name="one_entry_per_number"),
            models.UniqueConstraint(
                fields=["farm", "source_kind", "source_id", "purpose"], name="nothing_posts_twice"
            ),
            models.CheckConstraint(
                condition=_its_source(),
                name="entry_has_its_source",
            ),
            models.CheckConstraint(
                condition=Q(source_kind="reversal", reverses=F("source_id"))
                | (~Q(source_kind="reversal") & Q(reverses=None)),
                name="only_a_reversal_reverses",
            ),
            models.CheckConstraint(
                condition=Q(booked_on__gte=F("happened_on")), name="nothing_is_booked_before_it_happened"
            ),
        ]
        indexes = [models.Index(fields=["farm", "booked_on"], name="entries_by_booking_day")]

    def __str__(self) -> str:
        return f"entry {self.number} of {self.farm}"


class EntryBalance(models.Model):
    """Kept by the database alone: how far an entry is out of balance, and how many of its lines are missing."""

    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, primary_key=True, related_name="balance")
    imbalance = models.ForeignKey(Zero, on_delete=models.PROTECT, db_column="imbalance", related_name="+")
    lines_missing = models.ForeignKey(
        Zero, on_delete=models.PROTECT, db_column="lines_missing", related_name="+"
    )


class Line(AppendOnlyModel):
    """One side of an entry. Cents above zero are a cost or what is had; below zero, what is owed or used up.

    A line that was priced keeps quantity, unit, price and the row the price came from: quantity times price gives
    its cents. Minutes are priced by the hour.
    """

    farm = farm_of()
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="lines")
    line_no = models.PositiveSmallIntegerField()
    account = models.CharField(max_length=14, choices=Account.choices)
    subject = models.CharField(max_length=120, blank=True, help_text="whose account, as it is hashed")
    season = models.ForeignKey(Season, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="lines"
    )
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="lines"
    )
    pump = models.ForeignKey(Pump, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    operation = models.CharField(max_length=20, blank=True, help_text="the kind of work, of a cost of work")
    outfit = models.CharField(
        max_length=90, blank=True, help_text="machine and implement of a season's cost, as it is hashed"
    )
    category = models.CharField(max_length=20, blank=True)
    cents = models.BigIntegerField()
    quantity_e4 = models.BigIntegerField(null=True, blank=True, help_text="ten-thousandths of the unit")
    unit = models.CharField(max_length=12, blank=True)
    price_e4 = models.BigIntegerField(null=True, blank=True)
    rate = models.ForeignKey(Rate, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    cost_facts = models.ForeignKey(
        MachineCostFacts, on_delete=models.PROTECT, null=True, blank=True, related_name="lines"
    )
    item = models.CharField(max_length=40, blank=True, help_text="code of the input or fuel")
    lot = models.CharField(max_length=40, blank=True)
    layer = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="draws",
        help_text="line by which it came into stock, at actual cost",
    )
    is_imported = models.BooleanField(default=False, help_text="as its entry")
    says = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["entry", "line_no"]
        constraints = [
            models.UniqueConstraint(fields=["entry", "line_no"], name="one_line_per_number"),
            models.CheckConstraint(
                condition=~Q(cents=0) & Q(cents__gte=-(10**12)) & Q(cents__lte=10**12),
                name="a_line_moves_money",
            ),
            models.CheckConstraint(condition=Q(line_no__gte=1), name="lines_count_from_one"),
            models.CheckConstraint(
                condition=(
                    (Q(account="season") & ~Q(category="") & (Q(season__isnull=False) | Q(is_imported=True)))
                    | (
                        Q(account="machine_pool", season=None, pump=None)
                        & (~Q(machine=None, implement=None) | Q(is_imported=True))
                    )
                    | (
                        Q(account="irrigation", season=None, machine=None, implement=None)
                        & (Q(pump__isnull=False) | Q(is_imported=True))
                    )
                    | (
                        Q(season=None, machine=None, implement=None, pump=None)
                        & ~Q(account__in=["season", "machine_pool", "irrigation"])
                    )
                ),
                name="line_names_its_subject",
            ),
        ]
        indexes = [
            models.Index(fields=["season", "category"], name="lines_by_season"),
            models.Index(fields=["farm", "account", "item"], condition=~Q(item=""), name="lines_by_item"),
        ]

    @property
    def quantity(self) -> Decimal | None:
        """Return the quantity in its unit, exactly."""
        return None if self.quantity_e4 is None else Decimal(self.quantity_e4).scaleb(-4)


class PostingWait(models.Model):
    """A source that could not be posted yet, and why, in a sentence; it goes away when the posting is made."""

    farm = farm_of()
    source_kind = models.CharField(max_length=12, choices=SourceKind.choices)
    source_id = models.BigIntegerField()
    happened_on = models.DateField()
    code = models.CharField(max_length=40)
    says = models.CharField(max_length=300)
    first_at = models.DateTimeField()
    checked_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "happened_on", "source_kind", "source_id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "source_kind", "source_id"], name="one_wait_per_source")
        ]

    def __str__(self) -> str:
        return self.says
