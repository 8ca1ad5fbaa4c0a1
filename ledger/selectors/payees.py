"""What was paid to whom in a year, against the threshold of form 1099. Not tax advice."""

import csv
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from pathlib import Path

from django.utils.translation import gettext as _

from farmops.farms.models import Farm
from ledger.costing.money import MoneyError, cents_from
from ledger.models import BillPayment, Payee
from ledger.selectors.bill_lines import owed_by_category
from ledger.selectors.bills import standing_payments
from ledger.selectors.categories import CategoryBook, category_book

SHIPPED = Path(__file__).resolve().parents[2] / "fixtures" / "thresholds_1099.csv"
COLUMNS = ("first_year", "last_year", "usd", "source")


class ThresholdsError(ValueError):
    """A file of thresholds that cannot be used; the sentence says where."""


@dataclass(frozen=True)
class Threshold:
    """From how much on, paid in a calendar year, form 1099 is due."""

    first_year: int
    last_year: int
    cents: int
    source: str


@dataclass(frozen=True)
class PayeeYear:
    """What a payee was paid in a calendar year. `counted_cents` are for rent, services and the like.

    Each payer counts alone: `by_entity` has the counted cents by the name of the entity, the farm's own without one.
    """

    payee: Payee
    has_w9: bool | None
    paid_cents: int
    counted_cents: int
    threshold_cents: int | None
    by_entity: dict[str, int] = field(default_factory=dict)

    @property
    def is_over(self) -> bool:
        """Return whether one payer has come to the threshold, and the payee gets a form at all."""
        most = max(self.by_entity.values(), default=0)
        return (
            self.threshold_cents is not None and not self.payee.gets_no_1099 and most >= self.threshold_cents
        )

    @property
    def lacks_w9(self) -> bool:
        """Return whether a form is due for which the number of form W-9 is not on file."""
        return self.is_over and self.has_w9 is not True

    @property
    def says(self) -> str:
        """Return what follows, in a sentence."""
        if self.payee.gets_no_1099:
            return _("A corporation or the like: no form 1099.")
        if self.threshold_cents is None:
            return _("The threshold of this year is not known here: ask before you file.")
        if self.lacks_w9:
            return _("At or over the threshold, and no W-9 on file: ask for it before you pay more.")
        if self.is_over:
            return _("At or over the threshold: form 1099 is due; W-9 is on file.")
        if not any(self.by_entity.values()):
            return _("Nothing that was paid counts for form 1099.")
        left = self.threshold_cents - max(self.by_entity.values(), default=0)
        return _("${amount} below the threshold.").format(amount=f"{Decimal(left).scaleb(-2):,.2f}")


def payee_called(*, farm: Farm, name: str) -> Payee | None:
    """Return who is meant by a name: whoever has it, else whoever has it in other capitals or with other spaces."""
    known = Payee.objects.filter(farm=farm)
    exactly = known.filter(name=name.strip()).first()
    return exactly or known.filter(name__iexact=one_spaced(name)).order_by("pk").first()


def one_spaced(name: str) -> str:
    """Return a name with one space between its words, and none around it."""
    return " ".join(name.split())


def payee_years(*, farm: Farm, year: int) -> list[PayeeYear]:
    """Return what each payee was paid in a calendar year, by day of payment, most counted first."""
    categories = category_book(farm=farm)
    rows = standing_payments(farm=farm).filter(paid_on__year=year)
    by_payee: dict[int, list[BillPayment]] = defaultdict(list)
    for payment in rows:
        by_payee[payment.bill.payee_id].append(payment)
    threshold = threshold_of(year)
    found = [_year(payments, categories, threshold) for payments in by_payee.values()]
    return sorted(found, key=lambda one: (-one.counted_cents, one.payee.name))


def threshold_of(year: int) -> Threshold | None:
    """Return the threshold of a calendar year; None where it is not known."""
    return next((one for one in shipped_thresholds() if one.first_year <= year <= one.last_year), None)


@cache
def shipped_thresholds(path: Path = SHIPPED) -> Sequence[Threshold]:
    """Return the thresholds of a file like `fixtures/thresholds_1099.csv`. Raises ThresholdsError with the line."""
    found: list[Threshold] = []
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file, strict=True)
        if tuple(reader.fieldnames or ()) != COLUMNS:
            raise ThresholdsError(f"{path.name}, line 1: the columns are {', '.join(COLUMNS)}")
        for row in reader:
            try:
                one = Threshold(
                    int(row["first_year"]), int(row["last_year"]), cents_from(row["usd"]), row["source"]
                )
            except (ValueError, TypeError, MoneyError) as error:
                raise ThresholdsError(f"{path.name}, line {reader.line_num}: {error}") from error
            after = found[-1].last_year if found else one.first_year - 1
            if not after < one.first_year <= one.last_year or one.cents <= 0 or not one.source:
                raise ThresholdsError(
                    f"{path.name}, line {reader.line_num}: years follow each other, dollars are above 0, "
                    "and each line has its source"
                )
            found.append(one)
    return tuple(found)


def _year(payments: list[BillPayment], categories: CategoryBook, threshold: Threshold | None) -> PayeeYear:
    payee = payments[0].bill.payee
    by_entity: dict[str, int] = defaultdict(int)
    for payment in payments:
        for category, cents in owed_by_category(payment.bill).items():
            if categories.is_counted(category):
                by_entity[payment.bill.entity.name if payment.bill.entity else ""] += cents
    return PayeeYear(
        payee=payee,
        has_w9=payee.has_w9,
        paid_cents=sum(payment.bill.cents for payment in payments),
        counted_cents=sum(by_entity.values()),
        threshold_cents=threshold.cents if threshold else None,
        by_entity=dict(by_entity),
    )
