"""Splitting a pass that cannot end in one shift into day parts.

The split is made on the whole ground of the pass, and what is done already uses the parts up from the first on: so
part 2 of a pass is the same acres before and after a day's work, and a plan made anew keeps its names.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from scheduling.selectors.horizon import Horizon, Stretch

ROAD_SLACK_MIN = 60  # farm judgement: what of a shift goes into getting there and back
LEAST_PART_MIN = 120
SHIFT_IF_NONE_MIN = 600
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class DayPart:
    """One part of a pass: its number, of how many, and the acres of it that are still to be done."""

    number: int
    count: int
    area_ac: Decimal
    share: Decimal


def longest_part_min(*, calendars: Iterable[list[Stretch]], horizon: Horizon) -> int:
    """Return how many minutes a day part may take: the longest day of regular hours of any hand, less the road."""
    longest = 0
    for calendar in calendars:
        by_day: dict[object, int] = {}
        for stretch in calendar:
            if not stretch.extra_cents_per_h:
                day = horizon.at(stretch.from_min).astimezone(horizon.clock).date()
                by_day[day] = by_day.get(day, 0) + stretch.to_min - stretch.from_min
        longest = max(longest, *by_day.values()) if by_day else longest
    return max((longest or SHIFT_IF_NONE_MIN) - ROAD_SLACK_MIN, LEAST_PART_MIN)


def day_parts(*, area_ac: Decimal, done_ac: Decimal, whole_min: int, longest_min: int) -> list[DayPart]:
    """Return the parts that are not done yet; `whole_min` is what the whole pass takes the slowest outfit.

    A pass that fits in a shift, or has no acres (a pivot move), is one part.
    """
    count = max(1, -(-whole_min // longest_min)) if area_ac else 1
    ends = [(area_ac * number / count).quantize(HUNDREDTH, ROUND_HALF_UP) for number in range(count + 1)]
    parts = []
    for number in range(1, count + 1):
        left = ends[number] - max(ends[number - 1], done_ac)
        if left > 0 or not area_ac:
            share = (ends[number] - ends[number - 1]) / area_ac if area_ac else Decimal(1)
            parts.append(DayPart(number, count, left, share))
    return parts
