"""Which work a fill-up pays for: what the machine ran since the fill-up before."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from scheduling.fuel.shares import FuelError, share_gallons

NO_WORK = 0
"""The key of what was burned on no pass: on the road, at the yard. Keys of work are above it."""
FIRST_REACH = dt.timedelta(days=7)
"""Farm judgement: hardly a machine works a week on one tank, so the first fill-up on record reaches back no further."""
METER_SLACK_MIN = 12
"""An hour meter shows tenths: two readings are right to 6 minutes each."""


@dataclass(frozen=True)
class Fill:
    """Gallons put into a machine at an instant; `meter_h` is what the hour meter showed, or None."""

    key: int
    at: dt.datetime
    gallons: Decimal
    meter_h: Decimal | None = None


@dataclass(frozen=True)
class Ran:
    """Work that began at an instant, with the minutes of its engine; `key` is above 0."""

    key: int
    began_at: dt.datetime
    engine_min: int


@dataclass(frozen=True)
class Burned:
    """A fill-up with the gallons of each work since the fill-up before; they sum to its gallons, or there is no work.

    `worked_min` is what the work says its engine ran; `meter_min` what the meter says, None where it was not read at
    both ends or runs backwards; `no_work_gal` was burned on no pass.
    """

    fill: Fill
    since: dt.datetime
    worked_min: int
    meter_min: int | None
    gallons: dict[int, Decimal] = field(default_factory=dict)
    no_work_gal: Decimal = Decimal(0)

    @property
    def engine_min(self) -> int:
        """Return the minutes that the engine ran: what the meter says, or more where the work says more."""
        return max(self.worked_min, self.meter_min or 0)

    @property
    def gal_per_h(self) -> Decimal | None:
        """Return the gallons of an engine hour; None where nothing ran."""
        return self.fill.gallons * 60 / self.engine_min if self.engine_min else None


def burned_by_fill(*, fills: Sequence[Fill], ran: Sequence[Ran]) -> list[Burned]:
    """Return every fill-up of one machine, in order, with the gallons of each work since the one before.

    A machine is filled up to the brim, so what goes in is what was burned since the last time (farm judgement: a tank
    that is topped up by half is made good by the next fill-up). Work belongs to the first fill-up after it began. Where
    the meter was read at both ends and says more than the work does, the rest was burned on no pass; up to 12 minutes
    are how an hour meter is read. The first fill-up on record reaches a week back. Raises FuelError for a key of work that is not above 0.
    """
    if any(one.key <= NO_WORK for one in ran):
        raise FuelError("keys of work are above 0")
    found = []
    before: Fill | None = None
    for fill in sorted(fills, key=lambda one: (one.at, one.key)):
        since = before.at if before is not None else fill.at - FIRST_REACH
        of_fill = [one for one in ran if since <= one.began_at < fill.at]
        minutes = {one.key: one.engine_min for one in of_fill if one.engine_min > 0}
        worked_min = sum(minutes.values())
        meter_min = _meter_min(before, fill)
        rest_min = 0 if meter_min is None else meter_min - worked_min
        if rest_min > METER_SLACK_MIN:
            minutes[NO_WORK] = rest_min
        gallons = share_gallons(gallons=fill.gallons, minutes=minutes) if minutes else {}
        no_work_gal = gallons.pop(NO_WORK, Decimal(0))
        found.append(Burned(fill, since, worked_min, meter_min, gallons, no_work_gal))
        before = fill
    return found


def _meter_min(before: Fill | None, fill: Fill) -> int | None:
    if before is None or before.meter_h is None or fill.meter_h is None or fill.meter_h < before.meter_h:
        return None
    return int((fill.meter_h - before.meter_h) * 60)
