"""What the lines of any source are worked out from: prices and a farm's own choices, read once for many sources."""

from collections.abc import Callable
from dataclasses import dataclass

from farmops.farms.models import Farm
from ledger.models import PunctureTo, YearChoice
from ledger.selectors.bill_lines import puncture_choice
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.rates import RateBook, rate_book
from ledger.selectors.stock import StockBook, stock_book


@dataclass(frozen=True)
class PostingFacts:
    """A farm's prices and choices. Valid within one transaction that holds the books; `book` outlives it."""

    farm: Farm
    book: RateBook
    puncture_to: PunctureTo
    choice: Callable[[int], YearChoice]
    categories: CategoryBook
    stock: StockBook


def posting_facts(*, farm: Farm, book: RateBook | None = None) -> PostingFacts:
    """Return what postings of a farm are worked out from, read anew; a rate book that was read before is kept."""
    book = book or rate_book(farm=farm)
    choice = year_choices(farm=farm)
    return PostingFacts(
        farm=farm,
        book=book,
        puncture_to=puncture_choice(farm=farm),
        choice=choice,
        categories=category_book(farm=farm),
        stock=stock_book(farm=farm, book=book, choice=choice),
    )


def year_choices(*, farm: Farm) -> Callable[[int], YearChoice]:
    """Return what tells a farm's choice of a calendar year; the defaults where it made none."""
    made = {row.calendar_year: row for row in YearChoice.objects.filter(farm=farm)}

    def choice(year: int) -> YearChoice:
        return made.get(year) or YearChoice(farm=farm, calendar_year=year)

    return choice
