"""What an hour meter shows, what was run on it, and what was worked since an instant."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from operator import attrgetter

ENGINE_MIN = attrgetter("engine_min")


@dataclass(frozen=True)
class Reading:
    """What an hour meter showed at an instant, hours."""

    at: dt.datetime
    hours: Decimal


@dataclass(frozen=True)
class Replaced:
    """A meter that was replaced: what the old one showed last and what the new one showed first, hours."""

    at: dt.datetime
    old_h: Decimal
    new_h: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Worked:
    """Engine minutes and acres of one piece of work, by the instant at which it began."""

    began_at: dt.datetime
    engine_min: int
    done_ac: Decimal = Decimal(0)

    @property
    def is_outing(self) -> bool:
        """Return whether something ran or was done: work that did not come about is no outing."""
        return self.engine_min > 0 or self.done_ac > 0


@dataclass(frozen=True)
class Meter:
    """Everything known of a machine's hour meter: what it showed at entry, its readings and meters, the work since.

    Hours that go on counting when the meter is replaced are called run on: they are what the first meter would show
    today. Work that was going on when a reading was taken counts as read. Between two readings the work adds up, but
    never past the later one.
    """

    start_h: Decimal
    readings: Sequence[Reading] = ()
    replaced: Sequence[Replaced] = ()
    worked: Sequence[Worked] = ()

    @property
    def worked_h(self) -> Decimal:
        """Return the engine hours of all work, whatever the meters showed."""
        return hours_of(self.worked)

    def added_h(self, at: dt.datetime) -> Decimal:
        """Return what to add to what the meter of that instant shows, so that hours go on across replaced meters."""
        return sum((one.old_h - one.new_h for one in self.replaced if one.at <= at), Decimal(0))

    def run_on(self) -> list[Reading]:
        """Return every reading, and every replacing of a meter, in hours that go on; oldest first."""
        read = [Reading(one.at, one.hours + self.added_h(one.at)) for one in self.readings]
        read += [Reading(one.at, one.new_h + self.added_h(one.at)) for one in self.replaced]
        return sorted(read, key=lambda one: (one.at, one.hours))

    def run_h(self, at: dt.datetime) -> Decimal:
        """Return the hours run at an instant, going on across meters: the newest reading, and the work since."""
        readings = self.run_on()
        newest = max(
            (one for one in readings if one.at <= at), key=lambda one: (one.at, one.hours), default=None
        )
        since = [
            one for one in self.worked if one.began_at < at and (newest is None or one.began_at >= newest.at)
        ]
        shows = (newest.hours if newest is not None else self.start_h) + hours_of(since)
        return min([shows, *(one.hours for one in readings if one.at > at)])

    def shows_h(self, at: dt.datetime) -> Decimal:
        """Return what the meter of that instant shows at it, hours."""
        return self.run_h(at) - self.added_h(at)


def meter_h(
    *, readings: Sequence[Reading], worked: Iterable[Worked], start_h: Decimal, at: dt.datetime
) -> Decimal:
    """Return what a meter that was never replaced shows at an instant, hours; see `Meter`."""
    return Meter(start_h, tuple(readings), (), tuple(worked)).shows_h(at)


def worked_since(worked: Iterable[Worked], since: dt.datetime | None) -> tuple[Decimal, Decimal]:
    """Return engine hours and acres of the work that began at or after an instant; of all of it where it is None."""
    counted = [one for one in worked if since is None or one.began_at >= since]
    return hours_of(counted), sum((one.done_ac for one in counted), Decimal(0))


def hours_of(worked: Iterable[Worked]) -> Decimal:
    """Return the engine hours of some work."""
    return Decimal(sum(map(ENGINE_MIN, worked))) / 60
