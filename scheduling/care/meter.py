"""What an hour meter shows, and what was worked since an instant."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Reading:
    """What an hour meter showed at an instant, hours."""

    at: dt.datetime
    hours: Decimal


@dataclass(frozen=True)
class Worked:
    """Engine minutes and acres of one piece of work, by the instant at which it began."""

    began_at: dt.datetime
    engine_min: int
    done_ac: Decimal = Decimal(0)


def meter_h(
    *, readings: Sequence[Reading], worked: Iterable[Worked], start_h: Decimal, at: dt.datetime
) -> Decimal:
    """Return what a meter shows at an instant, hours: the newest reading up to it, and the work begun since.

    `start_h` is what it showed when it was entered; all work counts before the first reading. Work that was going on
    when a reading was taken counts as read. Between two readings the work adds up, but never past the later one.
    """
    before = [one for one in readings if one.at <= at]
    newest = max(before, key=lambda one: (one.at, one.hours), default=None)
    since = [one for one in worked if one.began_at < at and (newest is None or one.began_at >= newest.at)]
    shows = (newest.hours if newest is not None else start_h) + _hours(since)
    later = [one.hours for one in readings if one.at > at]
    return min([shows, *later])


def worked_since(worked: Iterable[Worked], since: dt.datetime | None) -> tuple[Decimal, Decimal]:
    """Return engine hours and acres of the work that began at or after an instant; of all of it where it is None."""
    counted = [one for one in worked if since is None or one.began_at >= since]
    return _hours(counted), sum((one.done_ac for one in counted), Decimal(0))


def _hours(worked: Iterable[Worked]) -> Decimal:
    return Decimal(sum(one.engine_min for one in worked)) / 60
