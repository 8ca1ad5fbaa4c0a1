"""Put what was judged into stretches with reasons: neighbors of one day with the same reason make one."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from scheduling.windows import wording
from scheduling.windows.ground import Ground
from scheduling.windows.hours import Cells
from scheduling.windows.limits import Limit
from scheduling.windows.looks import MAY_BE_UNKNOWN, OF_THE_ZONE, Seen
from scheduling.windows.member_sets import Words, shares
from scheduling.windows.report import AdviceStretch, OpenStretch, ShutStretch
from scheduling.windows.sayings import Said
from scheduling.windows.stops import Stop

Values = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int64]
SAY_SO = "say_so"
SLACK = 1e-9
ADVISE_BELOW = 0.5
"""Something speaks against the work where it is likelier than not that the limit does not hold."""


@dataclass(frozen=True, eq=False)
class Judged:
    """One limit over the cells: in which members it holds everywhere, with what it sees on each zone (or on all alike)."""

    limit: Limit
    seen: Sequence[Seen]
    holds: Words
    share: Values
    by_zone: Sequence[Words]
    members: int

    @cached_property
    def ruling(self) -> Places:
        """Return by cell the place in `seen` in which the limit holds least; of several alike, the longest shut."""
        if len(self.by_zone) == 1:
            return np.zeros(len(self.share), dtype=np.int64)
        later = np.cumsum(self._by_place[::-1], axis=0)[::-1] / len(self.share)
        ruling: Places = np.argmin(self._by_place + SLACK * later, axis=1)
        return ruling

    @property
    def ruling_share(self) -> Values:
        """Return by cell the share of members in which the limit holds where it rules; everywhere, it may be less."""
        least: Values = self.share if len(self.by_zone) == 1 else self._by_place.min(axis=1)
        return least

    @cached_property
    def _by_place(self) -> Values:
        return np.stack([shares(words, self.members) for words in self.by_zone], axis=1)


@dataclass(frozen=True, eq=False)
class Block:
    """What stops work for certain: a stop of a limit, or (without one) the grower's word on the cells of `waits`."""

    limit: Limit | None
    stop: Stop | None
    waits: Flags | None = None

    @property
    def to_min(self) -> int:
        """Return the minute from which work may go on, 0 for the grower's word."""
        return self.stop.to_min if self.stop is not None else 0

    def covers(self, cells: Cells) -> Flags:
        """Return the cells that it stops."""
        if self.stop is None:
            return self.waits if self.waits is not None else np.zeros(len(cells.hour), dtype=bool)
        return (cells.from_min >= self.stop.from_min) & (cells.from_min < self.stop.to_min)


@dataclass(frozen=True, eq=False)
class Telling:
    """Puts the hours of one kind of work into words."""

    ground: Ground
    starts_at: dt.datetime
    zones: Sequence[int]
    cells: Cells
    certainty: Limit | None
    needed: float
    shutting: Sequence[Judged]
    blocks: Sequence[Block]
    blocked_by: Places
    said: Said
    chance: Values
    is_open: Flags

    def open_stretches(self) -> tuple[OpenStretch, ...]:
        """Return the stretches in which work may be done, each of one chance."""
        marks = np.where(self.is_open, self.chance, -1.0)
        return tuple(
            OpenStretch(self._from(first), self._to(last), float(marks[first]))
            for first, last in _runs(marks[:, np.newaxis])
            if self.is_open[first]
        )

    def shut_stretches(self) -> tuple[ShutStretch, ...]:
        """Return the other stretches, each with its reason and when the work opens again."""
        index, is_uncertain = self._first_shutting
        place = np.zeros(len(self.is_open), dtype=np.int64)
        free = ~self.is_open & (self.blocked_by < 0)
        for number, one in enumerate(self.shutting):
            rules = free & (index == number)
            if rules.any():
                place[rules] = one.ruling[rules]
        waits = self.said.waits
        word = np.array([block.stop is None for block in self.blocks] + [False])[self.blocked_by]
        if word.any():
            place[word] = waits[word].argmax(axis=1)
        after = (
            np.array([_minute_of(at) for at in self.said.after_at]) if word.any() else np.zeros(len(place))
        )
        marks = np.stack(
            [
                self._days,
                self.is_open,
                np.where(self.is_open, 0, self.blocked_by),
                np.where(free, index, -1),
                np.where(self.is_open, 0, place),
                np.where(word, after, -1),
                free & is_uncertain,
            ],
            axis=1,
        )
        stretches = []
        for first, last in _runs(marks):
            if self.is_open[first]:
                continue
            if self.blocked_by[first] >= 0:
                limit, told = self._tell_block(self.blocks[self.blocked_by[first]], first, int(place[first]))
            else:
                one = self.shutting[index[first]]
                is_maybe = bool(is_uncertain[first])
                limit, told = (
                    one.limit.key,
                    self._tell_limit(one, int(place[first]), first, last, of_breaking=is_maybe),
                )
                if is_maybe and self.certainty is not None:
                    chance = float(self.chance[first : last + 1].min())
                    told = wording.uncertain(self.certainty, chance=chance, because=told)
            told = wording.with_opening(
                told, self._opening_after(last), shut_from=self._instant(first), zone=self.ground.place.zone
            )
            stretches.append(
                ShutStretch(self._from(first), self._to(last), limit, told.english, told.spanish)
            )
        return tuple(stretches)

    def advice_stretches(
        self, advised: Sequence[Judged], stops: Mapping[Limit, Sequence[Stop]]
    ) -> tuple[AdviceStretch, ...]:
        """Return where something speaks against open hours, or could not be looked at."""
        found = []
        for one in advised:
            for first, last in self._runs_by_day(self.is_open & (one.share < ADVISE_BELOW - SLACK)):
                is_maybe = bool(one.ruling_share[first : last + 1].min() >= ADVISE_BELOW - SLACK)
                told = self._tell_limit(one, int(one.ruling[first]), first, last, of_breaking=is_maybe)
                found.append(self._advice(first, last, one.limit, told))
        for limit, of_limit in stops.items():
            for stop in of_limit:
                for first, last in self._runs_by_day(self.is_open & Block(limit, stop).covers(self.cells)):
                    told = wording.reason(limit, value=stop.value, bound=stop.bound, words=stop.words)
                    found.append(self._advice(first, last, limit, told))
        by_quantity = {one.limit.quantity: one for one in reversed(self.shutting)}
        for quantity, one in by_quantity.items():
            if quantity not in MAY_BE_UNKNOWN:
                continue
            known = np.logical_and.reduce(
                [seen.is_known[seen.row_of_hour[self.cells.hour]] for seen in one.seen]
            )
            for first, last in self._runs_by_day(self.is_open & ~known):
                found.append(self._advice(first, last, one.limit, wording.not_known(one.limit)))
        return tuple(sorted(found, key=lambda stretch: (stretch.from_min, stretch.limit)))

    @cached_property
    def _days(self) -> Places:
        return self.ground.grid.day_index[self.cells.hour]

    @cached_property
    def _first_shutting(self) -> tuple[Places, Flags]:
        """Return by cell the first limit that shuts it alone, else the least likely one, and whether odds must be told.

        They must where no limit shuts alone, or where one does whose middle member is still on the open side.
        """
        if not self.shutting:
            nobody = np.zeros(len(self.is_open), dtype=np.int64)
            return nobody, nobody.astype(bool)
        share = np.stack([one.share for one in self.shutting])
        alone = share < self.needed - SLACK
        is_alone = alone.any(axis=0)
        index = np.where(is_alone, alone.argmax(axis=0), share.argmin(axis=0))
        ruling = np.stack([one.ruling_share for one in self.shutting])
        is_likelier = np.take_along_axis(ruling, index[np.newaxis], axis=0)[0] >= ADVISE_BELOW - SLACK
        return np.asarray(index), np.asarray(~is_alone | is_likelier)

    def _tell_block(self, block: Block, cell: int, zone: int) -> tuple[str, wording.Sentence]:
        if block.limit is None or block.stop is None:
            everywhere = bool(self.said.waits[cell].all())
            name = "" if everywhere else self._zone_name(zone)
            return SAY_SO, wording.say_so(after=self.said.after_at[cell], soil_zone=name)
        stop = block.stop
        return block.limit.key, wording.reason(
            block.limit, value=stop.value, bound=stop.bound, words=stop.words
        )

    def _tell_limit(
        self, one: Judged, place: int, first: int, last: int, *, of_breaking: bool = False
    ) -> wording.Sentence:
        """Tell a limit's numbers: the members' middle at the worst hour of the run, of all or of those it breaks in."""
        seen = one.seen[place]
        worst = seen.worst(self.cells.hour[first], self.cells.hour[last], of_breaking=of_breaking)
        is_named = len(self.zones) > 1 and one.limit.quantity in OF_THE_ZONE and len(one.seen) > 1
        name = self._zone_name(place) if is_named else ""
        return wording.reason(one.limit, value=worst, bound=seen.bound, soil_zone=name)

    def _advice(self, first: int, last: int, limit: Limit, told: wording.Sentence) -> AdviceStretch:
        return AdviceStretch(self._from(first), self._to(last), limit.key, told.english, told.spanish)

    def _runs_by_day(self, speaks: Flags) -> Iterator[tuple[int, int]]:
        if speaks.any():
            for first, last in _runs(np.stack([speaks, self._days], axis=1)):
                if speaks[first]:
                    yield first, last

    def _zone_name(self, place: int) -> str:
        return self.ground.zones[self.zones[place]].name

    @cached_property
    def _opens_next(self) -> Places:
        """Return by cell the next open one from it on, the number of cells where there is none."""
        count = len(self.is_open)
        nexts = np.where(self.is_open, np.arange(count), count)
        following: Places = np.minimum.accumulate(nexts[::-1])[::-1]
        return following

    def _opening_after(self, cell: int) -> wording.Opening | None:
        opens = int(self._opens_next[cell])
        if opens == len(self.is_open):
            return None
        return wording.Opening(self._instant(opens), float(self.chance[opens]))

    def _from(self, cell: int) -> int:
        return int(self.cells.from_min[cell])

    def _to(self, cell: int) -> int:
        return int(self.cells.to_min[cell])

    def _instant(self, cell: int) -> dt.datetime:
        return self.starts_at.astimezone(dt.UTC) + dt.timedelta(minutes=self._from(cell))


def _runs(marks: npt.NDArray[np.generic]) -> Iterator[tuple[int, int]]:
    """Yield the first and last row of each run of equal rows."""
    changes = np.flatnonzero((marks[1:] != marks[:-1]).any(axis=1))
    firsts = [0, *(changes + 1).tolist()]
    lasts = [*changes.tolist(), len(marks) - 1]
    yield from zip(firsts, lasts, strict=True)


def _minute_of(at: dt.time | None) -> int:
    return -1 if at is None else at.hour * 60 + at.minute
