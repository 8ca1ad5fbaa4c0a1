"""What the weekly cost note is made from: sums in whole cents, already read and named. Pure: no Django."""

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True)
class CostLine:
    """What one category or one place cost in the week, and in the week before."""

    label: str
    cents: int
    before_cents: int


@dataclass(frozen=True)
class CostWeek:
    """A week of the books: what was booked on its days, what came late for earlier days, what waits, what is unpaid.

    Both lists of lines add up to `cents` and `before_cents`. `waits` are sentences in the reader's language.
    """

    farm_name: str
    reader_name: str
    first: dt.date
    last: dt.date
    cents: int
    before_cents: int
    by_category: tuple[CostLine, ...] = ()
    by_place: tuple[CostLine, ...] = ()
    late_cents: int = 0
    late_count: int = 0
    waits: tuple[str, ...] = ()
    waits_count: int = 0
    unpaid_cents: int = 0
    unpaid_count: int = 0
    oldest_payee: str = ""
    oldest_on: dt.date | None = None
    is_late: bool = False
    farm_at: str = ""

    @property
    def is_quiet(self) -> bool:
        """Return whether there is nothing to tell."""
        return not (self.by_category or self.late_count or self.waits_count or self.unpaid_count)
