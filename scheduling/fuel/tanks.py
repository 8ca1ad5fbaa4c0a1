"""What a tank lacks: between two readings, what was there and came, less what went into machines, and what was found."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise


@dataclass(frozen=True)
class Level:
    """Gallons in a tank by the stick at an instant."""

    at: dt.datetime
    gallons: Decimal


@dataclass(frozen=True)
class Flow:
    """Gallons that came into a tank or went out of it at an instant; above 0 either way."""

    at: dt.datetime
    gallons: Decimal


@dataclass(frozen=True)
class Stretch:
    """What went through a tank from one reading to the next; `found_gal` is None after the last reading."""

    begins_at: dt.datetime
    ends_at: dt.datetime | None
    had_gal: Decimal
    came_gal: Decimal
    went_gal: Decimal
    found_gal: Decimal | None

    @property
    def should_gal(self) -> Decimal:
        """Return the gallons that should be there at its end."""
        return self.had_gal + self.came_gal - self.went_gal

    @property
    def missing_gal(self) -> Decimal | None:
        """Return the gallons not accounted for: above 0 they are missing, below 0 there is more than there should be."""
        return None if self.found_gal is None else self.should_gal - self.found_gal


def stretches(*, levels: Sequence[Level], came: Sequence[Flow], went: Sequence[Flow]) -> list[Stretch]:
    """Return the stretches between the readings of one tank, in order; fewer than two readings make none.

    A flow at the instant of a reading came before it: the stick is read after the hose. Of two readings of one instant
    the later one counts.
    """
    ordered = list({level.at: level for level in levels}.values())
    ordered.sort(key=lambda level: level.at)
    return [
        Stretch(
            first.at,
            last.at,
            first.gallons,
            _between(came, first.at, last.at),
            _between(went, first.at, last.at),
            last.gallons,
        )
        for first, last in pairwise(ordered)
    ]


def since_reading(*, levels: Sequence[Level], came: Sequence[Flow], went: Sequence[Flow]) -> Stretch | None:
    """Return what went through a tank since its last reading; None where it was never read."""
    if not levels:
        return None
    last = max(enumerate(levels), key=lambda one: (one[1].at, one[0]))[1]
    return Stretch(last.at, None, last.gallons, _between(came, last.at), _between(went, last.at), None)


def _between(flows: Sequence[Flow], first: dt.datetime, last: dt.datetime | None = None) -> Decimal:
    return sum(
        (one.gallons for one in flows if first < one.at and (last is None or one.at <= last)), Decimal(0)
    )
