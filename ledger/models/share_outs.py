"""Pools shared out over seasons, with what each got and why; landlords' shares; owning a machine for a year."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from farmops.core.appendonly import AppendOnlyModel
from farmops.farms.models import Implement, Machine, Pump, Season, farm_of
from ledger.models.bills import Payee, SharedBy
from ledger.models.rates import MachineCostFacts
from ledger.models.words import Account


class ShareOut(AppendOnlyModel):
    """What a pool held at the end of some days, shared out over seasons; it is undone by reversing its entry.

    The pool is that of a machine, of an implement or of a pump, or the farm as a whole where it names none. With a
    landlord it is the other way round: what a landlord bears of a season's costs. With an item it is what that was
    priced more or less than its bill asked, where it was used before the bill came.
    """

    farm = farm_of()
    client_id = models.UUIDField()
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    pump = models.ForeignKey(Pump, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    landlord = models.ForeignKey(Payee, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    item = models.CharField(max_length=40, blank=True, help_text="code of the input or fuel")
    stock = models.CharField(
        max_length=14,
        choices=[(one.value, one.label) for one in (Account.FUEL_STOCK, Account.INPUT_STOCK)],
        blank=True,
        help_text="the stock in which the item is",
    )
    shared_by = models.CharField(max_length=12, choices=SharedBy.choices)
    crop_year = models.PositiveSmallIntegerField()
    first_on = models.DateField()
    last_on = models.DateField(help_text="the business date of its entry")
    total_cents = models.BigIntegerField()
    why = models.CharField(max_length=200)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "last_on", "id"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "client_id"], name="one_share_out_per_client_id"),
            models.CheckConstraint(condition=Q(last_on__gte=models.F("first_on")), name="share_out_has_days"),
            models.CheckConstraint(
                condition=Q(machine=None, implement=None, pump=None, item="", stock="")
                | Q(machine=None, implement=None, landlord=None, item="", stock="")
                | Q(machine=None, pump=None, landlord=None, item="", stock="")
                | Q(implement=None, pump=None, landlord=None, item="", stock="")
                | (Q(machine=None, implement=None, pump=None, landlord=None) & ~Q(item="") & ~Q(stock="")),
                name="share_out_of_one_pool",
            ),
        ]

    def __str__(self) -> str:
        pool = (
            self.machine or self.implement or self.pump or self.landlord or self.item or "the farm as a whole"
        )
        return f"share-out of {pool} on {self.last_on}"


class ShareOutPart(AppendOnlyModel):
    """What one season got of one category, and the weight it got it by."""

    farm = farm_of()
    share_out = models.ForeignKey(ShareOut, on_delete=models.PROTECT, related_name="parts")
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="share_out_parts")
    category = models.CharField(max_length=20)
    weight_e4 = models.BigIntegerField(help_text="ten-thousandths of the unit")
    unit = models.CharField(max_length=12, help_text="ac, h, ac-in, part, or % of a landlord")
    cents = models.BigIntegerField()

    class Meta:
        ordering = ["share_out", "season", "category"]
        constraints = [
            models.UniqueConstraint(fields=["share_out", "season", "category"], name="one_part_per_season"),
            models.CheckConstraint(condition=Q(weight_e4__gte=0), name="a_weight_is_not_negative"),
        ]


class LandlordTerm(AppendOnlyModel):
    """What a landlord bears of a category of a season's costs; of an empty category, of all that are not named."""

    farm = farm_of()
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="landlord_terms")
    landlord = models.ForeignKey(Payee, on_delete=models.PROTECT, related_name="landlord_terms")
    category = models.CharField(max_length=20, blank=True)
    share_pct = models.DecimalField(max_digits=6, decimal_places=3)
    correction_no = models.PositiveSmallIntegerField(default=0)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["season", "landlord", "category", "correction_no"]
        constraints = [
            models.UniqueConstraint(
                fields=["season", "landlord", "category", "correction_no"],
                name="one_landlord_term_per_category",
            ),
            models.CheckConstraint(
                condition=Q(share_pct__gte=0, share_pct__lte=100), name="landlord_share_is_a_share"
            ),
        ]


class MachineYear(AppendOnlyModel):
    """What owning a machine or implement cost in a year, for management: never a figure of any tax form.

    A year that was booked wrong is reversed and booked anew as another row, with the next `correction_no`.
    """

    farm = farm_of()
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    calendar_year = models.PositiveSmallIntegerField()
    correction_no = models.PositiveSmallIntegerField(default=0)
    cost_facts = models.ForeignKey(MachineCostFacts, on_delete=models.PROTECT, related_name="+")
    recovery_cents = models.BigIntegerField(help_text="capital recovery: what it lost and interest, by EP496")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["farm", "calendar_year", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(machine__isnull=False, implement=None) | Q(machine=None, implement__isnull=False),
                name="machine_year_of_one_thing",
            ),
            models.UniqueConstraint(
                fields=["machine", "calendar_year", "correction_no"],
                condition=Q(machine__isnull=False),
                name="one_year_per_machine",
            ),
            models.UniqueConstraint(
                fields=["implement", "calendar_year", "correction_no"],
                condition=Q(implement__isnull=False),
                name="one_year_per_implement",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.machine or self.implement} in {self.calendar_year}"
