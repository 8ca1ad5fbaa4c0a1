"""Readings of one hour meter that cannot both be right, and a meter that nobody read for long. Pure."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from scheduling.care.meter import Meter, Reading, hours_of

CLOCK_SLACK_H = Decimal(1)
"""Farm judgement: a reading is booked up to an hour beside the moment at which it was taken."""
APART_H = Decimal(4)
APART_SHARE = Decimal("0.25")
"""Farm judgement: a meter and the reports may differ by four hours or by a quarter, whichever is more."""
UNREAD_DAYS = 14
UNREAD_H = Decimal(20)
"""Farm judgement: after two weeks with twenty hours of work, what the meter shows is a guess worth checking."""


@dataclass(frozen=True)
class TooFast:
    """Two readings of which the later gained more hours than the clock: one of them is wrong."""

    before: Reading
    after: Reading
    gained_h: Decimal
    passed_h: Decimal


@dataclass(frozen=True)
class Backwards:
    """Two readings of which the later shows less: one of them is wrong."""

    before: Reading
    after: Reading


@dataclass(frozen=True)
class Apart:
    """A stretch between two readings in which the meter and the reports of work are far apart."""

    before: Reading
    after: Reading
    gained_h: Decimal
    reported_h: Decimal


@dataclass(frozen=True)
class Unread:
    """A meter that was not read for long although the machine worked; `since` None: never read."""

    since: dt.datetime | None
    days: int | None
    worked_h: Decimal


Disagreement = TooFast | Backwards | Apart


def disagreements(meter: Meter) -> list[Disagreement]:
    """Return what does not agree, oldest first, in hours that go on across replaced meters.

    Of two readings that run backwards or outrun the clock, neither is compared with the reports.
    """
    found: list[Disagreement] = []
    for before, after in pairwise(meter.run_on()):
        gained_h = after.hours - before.hours
        passed_h = Decimal((after.at - before.at) // dt.timedelta(minutes=1)) / 60
        if gained_h < 0:
            found.append(Backwards(before, after))
        elif gained_h > passed_h + CLOCK_SLACK_H:
            found.append(TooFast(before, after, gained_h, passed_h))
        else:
            between = [one for one in meter.worked if before.at <= one.began_at < after.at]
            reported_h = hours_of(between)
            if abs(gained_h - reported_h) > max(APART_H, APART_SHARE * max(gained_h, reported_h)):
                found.append(Apart(before, after, gained_h, reported_h))
    return found


def unread(meter: Meter, at: dt.datetime) -> Unread | None:
    """Return how long a meter was not read, None where it was read lately or the machine hardly worked since."""
    read: Sequence[Reading] = [one for one in meter.run_on() if one.at <= at]
    newest = read[-1].at if read else None
    hours = hours_of(
        one for one in meter.worked if one.began_at < at and (newest is None or one.began_at >= newest)
    )
    if hours < UNREAD_H:
        return None
    if newest is None:
        return Unread(None, None, hours)
    days = (at - newest).days
    return Unread(newest, days, hours) if days >= UNREAD_DAYS else None
