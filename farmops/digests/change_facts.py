"""What a change for tomorrow is made from: what a hand was to do, and what the hand is to do now. Pure: no Django."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scheduling.slips.words import Said


@dataclass(frozen=True)
class PlannedStop:
    """One task or service of a hand's day as a hand reads it; `key` names the work whatever the plan."""

    key: str
    title: Said
    starts_at: dt.datetime
    ends_at: dt.datetime
    outfit: Said

    @property
    def hours(self) -> tuple[dt.datetime, dt.datetime]:
        """Return from when to when."""
        return self.starts_at, self.ends_at


@dataclass(frozen=True)
class ChangedStop:
    """What is planned now, and what stood in its place before; without that it is new."""

    now: PlannedStop
    before: PlannedStop | None

    @property
    def is_same(self) -> bool:
        """Return whether a hand would read the same."""
        return self.now == self.before


@dataclass(frozen=True)
class ChangeDay:
    """A hand's tomorrow: what stands, what is gone, and whether this is the last word of the evening."""

    farm_name: str
    hand_name: str
    day: dt.date
    stops: tuple[ChangedStop, ...]
    gone: tuple[PlannedStop, ...]
    boss_name: str = ""
    boss_phone: str = ""
    is_last: bool = False
    is_late: bool = False

    @property
    def is_any(self) -> bool:
        """Return whether anything has changed."""
        return bool(self.gone) or any(not one.is_same for one in self.stops)


def beside(
    now: Sequence[PlannedStop], before: Sequence[PlannedStop]
) -> tuple[tuple[ChangedStop, ...], tuple[PlannedStop, ...]]:
    """Return what is planned now, each beside what stood in its place before, and what is gone."""
    was = {one.key: one for one in before}
    left = {one.key for one in now}
    changed = tuple(ChangedStop(one, was.get(one.key)) for one in sorted(now, key=_order))
    return changed, tuple(sorted((one for one in before if one.key not in left), key=_order))


def hash_of(stops: Iterable[PlannedStop]) -> str:
    """Return a hash of what a hand reads of a day; a day without work has one too."""
    told = [
        (one.key, one.title.en, one.outfit.en, one.starts_at.isoformat(), one.ends_at.isoformat())
        for one in sorted(stops, key=_order)
    ]
    return hashlib.sha256(repr(told).encode()).hexdigest()


def _order(one: PlannedStop) -> tuple[dt.datetime, str]:
    return one.starts_at, one.key
