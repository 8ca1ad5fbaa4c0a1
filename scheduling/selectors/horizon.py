"""The hours of a plan: real elapsed minutes from a start, and the farm's clock laid over them."""

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from zoneinfo import ZoneInfo

MINUTE = dt.timedelta(minutes=1)


@dataclass(frozen=True)
class Stretch:
    """Minutes m with from_min <= m < to_min; an hour of work in it costs `extra_cents_per_h` on top."""

    from_min: int
    to_min: int
    extra_cents_per_h: int = 0


@dataclass(frozen=True)
class Horizon:
    """So many days from an instant on, ending at the same hour of the farm's clock.

    A week in which the clocks change has 10,020 or 10,140 minutes, not 10,080.
    """

    start: dt.datetime
    zone: str
    days: int

    @cached_property
    def clock(self) -> ZoneInfo:
        """Return the farm's clock."""
        return ZoneInfo(self.zone)

    @cached_property
    def local_start(self) -> dt.datetime:
        """Return the start as the farm's clock shows it."""
        return self.start.astimezone(self.clock)

    @cached_property
    def _origin(self) -> dt.datetime:
        # Python subtracts two datetimes of one zone by the wall clock, so minutes are counted in UTC.
        return self.start.astimezone(dt.UTC)

    @cached_property
    def minutes(self) -> int:
        """Return how long the horizon is."""
        local_end = self.local_start.replace(tzinfo=None) + dt.timedelta(days=self.days)
        return self.after(local_end.replace(tzinfo=self.clock))

    def after(self, instant: dt.datetime) -> int:
        """Return the first whole minute at or after an instant; negative before the start."""
        return -((self._origin - instant.astimezone(dt.UTC)) // MINUTE)

    def before(self, instant: dt.datetime) -> int:
        """Return the last whole minute at or before an instant; negative before the start."""
        return (instant.astimezone(dt.UTC) - self._origin) // MINUTE

    def at(self, minute: int) -> dt.datetime:
        """Return the instant of a minute, in UTC."""
        return self._origin + minute * MINUTE

    def midnight(self, day: dt.date) -> int:
        """Return the minute at which a day of the farm's clock begins."""
        return self.after(dt.datetime.combine(day, dt.time(), tzinfo=self.clock))

    def local_days(self) -> Iterator[dt.date]:
        """Yield every day of the farm's clock that the horizon touches."""
        day = self.local_start.date()
        while self.midnight(day) < self.minutes:
            yield day
            day += dt.timedelta(days=1)

    def stretch(self, day: dt.date, begins: dt.time, ends: dt.time, extra: int = 0) -> Stretch | None:
        """Return the hours of a day as elapsed minutes, cut to the horizon; None if nothing is left of them."""
        first = self.after(dt.datetime.combine(day, begins, tzinfo=self.clock))
        last = self.before(dt.datetime.combine(day, ends, tzinfo=self.clock))
        first, last = max(first, 0), min(last, self.minutes)
        return Stretch(first, last, extra) if first < last else None

    def whole_from(self, minute: int) -> list[Stretch]:
        """Return the horizon from a minute on, as a calendar."""
        return [Stretch(max(minute, 0), self.minutes)] if minute < self.minutes else []


def tidy(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Sort stretches and cut each where one before it still runs, so that none overlap."""
    done: list[Stretch] = []
    for one in sorted(stretches, key=lambda s: (s.from_min, s.extra_cents_per_h, s.to_min)):
        begins = max(one.from_min, done[-1].to_min) if done else one.from_min
        if begins < one.to_min:
            done.append(Stretch(begins, one.to_min, one.extra_cents_per_h))
    return done


def overlap(these: Iterable[Stretch], those: Iterable[Stretch]) -> list[Stretch]:
    """Return the minutes that stand in both of two tidy lists."""
    others = list(those)
    both = [
        Stretch(max(a.from_min, b.from_min), min(a.to_min, b.to_min), a.extra_cents_per_h)
        for a in these
        for b in others
    ]
    return sorted((s for s in both if s.from_min < s.to_min), key=lambda s: s.from_min)
