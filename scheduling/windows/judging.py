"""Judge the hours of a pass: open with a chance, or shut by a limit that is named with its numbers."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

from farmops.farms.operations import Operation
from scheduling.windows import wording
from scheduling.windows.ground import Ground
from scheduling.windows.hours import Cells, cut_cells
from scheduling.windows.limits import Effect, Limit, LimitKind, Quantity, open_from_share
from scheduling.windows.looks import Look, look
from scheduling.windows.power import PowerCut, is_cut, power_cut_edges
from scheduling.windows.report import AdviceStretch, OpenStretch, PassWindows, ShutStretch
from scheduling.windows.sayings import Said, Saying, lay_out, say_so_cuts

Values = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
SAY_SO = "say_so"
CHANCE_DECIMALS = 4
SLACK = 1e-9


@dataclass(frozen=True)
class Horizon:
    """The minutes judged: 0..`minutes` from `starts_at`."""

    starts_at: dt.datetime
    minutes: int


@dataclass(frozen=True)
class WorkAsked:
    """One kind of work in one crop on one field: `zones` are its places in the ground's list of zones."""

    field: str
    operation: Operation
    crop: str
    zones: tuple[int, ...]
    sayings: tuple[Saying, ...] = ()
    power_cuts: tuple[PowerCut, ...] = ()
    pump: str = ""


@dataclass(frozen=True)
class _Judged:
    """One limit over the cells: `share` of members in which it holds everywhere, and the zone that rules."""

    limit: Limit
    seen: Look
    holds: Flags
    share: Values
    ruling_zone: npt.NDArray[np.int64]


@dataclass(frozen=True)
class _Shut:
    """Why a cell is shut: two neighbors of one day with the same reason make one stretch."""

    day: int
    limit: str
    judged: int
    zone: int
    after_at: dt.time | None
    is_uncertain: bool


def judge(*, asked: WorkAsked, limits: Sequence[Limit], ground: Ground, horizon: Horizon) -> PassWindows:
    """Return the open, shut and advised-against stretches of a kind of work; the key is left to the caller."""
    zone = ground.place.zone
    cuts = say_so_cuts(sayings=asked.sayings, starts_at=horizon.starts_at, zone=zone)
    cuts |= power_cut_edges(
        cuts=asked.power_cuts, days=ground.grid.days, starts_at=horizon.starts_at, zone=zone
    )
    cells = cut_cells(grid=ground.grid, starts_at=horizon.starts_at, until_min=horizon.minutes, cuts=cuts)
    mine = [limit for limit in limits if limit.applies_to(asked.operation, asked.crop)]
    has_wetness = any(limit.kind is LimitKind.WETNESS for limit in mine)
    said = lay_out(
        sayings=asked.sayings if has_wetness else (),
        zone_names=[ground.zones[index].name for index in asked.zones],
        grid=ground.grid,
        cells=cells,
        starts_at=horizon.starts_at,
    )
    judged = [
        _judge_limit(limit, ground, list(asked.zones), cells, said)
        for limit in mine
        if limit.quantity not in (Quantity.MEMBER_SHARE, Quantity.POWER_SHUT)
    ]
    shutting = [one for one in judged if one.limit.effect is Effect.SHUTS]
    power = next((limit for limit in mine if limit.quantity is Quantity.POWER_SHUT), None)
    no_power = np.zeros(len(cells.hour), dtype=bool)
    if power is not None:
        no_power = is_cut(cuts=asked.power_cuts, grid=ground.grid, cells=cells, starts_at=horizon.starts_at)
    chance = np.ones(len(cells.hour))
    if shutting:
        chance = np.logical_and.reduce([one.holds for one in shutting]).mean(axis=1)
    blocked = said.waits.any(axis=1) | no_power
    chance = np.where(blocked, 0.0, np.round(chance, CHANCE_DECIMALS))
    is_open = ~blocked & (chance >= open_from_share(tuple(mine), asked.operation) - SLACK)
    telling = _Telling(asked, ground, horizon, cells, mine, shutting, said, no_power, power, chance, is_open)
    return PassWindows(
        key="",
        field=asked.field,
        operation=asked.operation.value,
        open=_open_stretches(cells, chance, is_open),
        shut=telling.shut_stretches(),
        advice=telling.advice_stretches([one for one in judged if one.limit.effect is Effect.ADVICE]),
    )


def _judge_limit(limit: Limit, ground: Ground, zones: list[int], cells: Cells, said: Said) -> _Judged:
    seen = look(limit, ground, zones)
    holds = seen.holds()[cells.hour]
    if limit.kind is LimitKind.WETNESS:
        holds = holds | said.fit[:, :, np.newaxis]
    everywhere: Flags = np.all(holds, axis=1)
    return _Judged(limit, seen, everywhere, everywhere.mean(axis=1), _ruling_zone(holds.mean(axis=2)))


def _ruling_zone(zone_share: Values) -> npt.NDArray[np.int64]:
    """Return by cell the zone in which a limit holds least; of several alike, the one that stays shut longest."""
    later = np.cumsum(zone_share[::-1], axis=0)[::-1] / len(zone_share)
    ruling: npt.NDArray[np.int64] = np.argmin(zone_share + SLACK * later, axis=1)
    return ruling


def _open_stretches(cells: Cells, chance: Values, is_open: Flags) -> tuple[OpenStretch, ...]:
    stretches = []
    marks = [float(value) if opened else None for value, opened in zip(chance, is_open, strict=True)]
    for value, group in groupby(range(len(marks)), key=lambda cell: marks[cell]):
        run = list(group)
        if value is not None:
            stretches.append(OpenStretch(int(cells.from_min[run[0]]), int(cells.to_min[run[-1]]), value))
    return tuple(stretches)


@dataclass(frozen=True)
class _Telling:
    """Puts the reasons of one kind of work into words."""

    asked: WorkAsked
    ground: Ground
    horizon: Horizon
    cells: Cells
    limits: list[Limit]
    shutting: list[_Judged]
    said: Said
    no_power: Flags
    power: Limit | None
    chance: Values
    is_open: Flags

    def shut_stretches(self) -> tuple[ShutStretch, ...]:
        reasons = [None if opened else self._why(cell) for cell, opened in enumerate(self.is_open)]
        stretches = []
        for why, group in groupby(range(len(reasons)), key=lambda cell: reasons[cell]):
            run = list(group)
            if why is not None:
                told = wording.with_opening(
                    self._tell(why, run),
                    self._opening_after(run[-1]),
                    shut_from=self._instant(run[0]),
                    zone=self.ground.place.zone,
                )
                start, end = int(self.cells.from_min[run[0]]), int(self.cells.to_min[run[-1]])
                stretches.append(ShutStretch(start, end, why.limit, told.english, told.spanish))
        return tuple(stretches)

    def advice_stretches(self, advised: Sequence[_Judged]) -> tuple[AdviceStretch, ...]:
        days = self.ground.grid.day_index[self.cells.hour]
        stretches = []
        for one in advised:
            speaks = self.is_open & (one.share < 0.5)
            for (speaking, _), group in groupby(
                range(len(speaks)), key=lambda cell: (bool(speaks[cell]), int(days[cell]))
            ):
                run = list(group)
                if speaking:
                    told = self._tell_limit(one, int(one.ruling_zone[run[0]]), run)
                    start, end = int(self.cells.from_min[run[0]]), int(self.cells.to_min[run[-1]])
                    stretches.append(AdviceStretch(start, end, one.limit.key, told.english, told.spanish))
        return tuple(sorted(stretches, key=lambda stretch: (stretch.from_min, stretch.limit)))

    def _why(self, cell: int) -> _Shut:
        day = int(self.ground.grid.day_index[self.cells.hour[cell]])
        if self.said.waits[cell].any():
            zone = int(self.said.waits[cell].argmax())
            return _Shut(day, SAY_SO, -1, zone, self.said.after_at[cell], False)
        if self.no_power[cell] and self.power is not None:
            return _Shut(day, self.power.key, -1, 0, None, False)
        shares = [float(one.share[cell]) for one in self.shutting]
        needed = open_from_share(tuple(self.limits), self.asked.operation)
        alone = next((index for index, share in enumerate(shares) if share < needed - SLACK), None)
        index = alone if alone is not None else int(np.argmin(shares))
        zone = int(self.shutting[index].ruling_zone[cell])
        return _Shut(day, self.shutting[index].limit.key, index, zone, None, alone is None)

    def _tell(self, why: _Shut, run: list[int]) -> wording.Sentence:
        if why.limit == SAY_SO:
            everywhere = bool(self.said.waits[run[0]].all())
            return wording.say_so(
                after=why.after_at, soil_zone="" if everywhere else self._zone_name(why.zone)
            )
        if why.judged < 0 and self.power is not None:
            return wording.reason(self.power, value=1.0, bound=0.0, pump=self.asked.pump)
        told = self._tell_limit(self.shutting[why.judged], why.zone, run)
        certainty = next((limit for limit in self.limits if limit.quantity is Quantity.MEMBER_SHARE), None)
        if why.is_uncertain and certainty is not None:
            return wording.uncertain(certainty, chance=float(self.chance[run].min()), because=told)
        return told

    def _tell_limit(self, one: _Judged, zone: int, run: list[int]) -> wording.Sentence:
        """Tell a limit's numbers: the members' middle at the worst hour of the run."""
        middles = np.median(one.seen.values[self.cells.hour[run], zone, :], axis=1)
        worst = float(middles.min() if one.seen.is_floor else middles.max())
        name = self._zone_name(zone) if len(one.seen.bounds) > 1 else ""
        return wording.reason(one.limit, value=worst, bound=float(one.seen.bounds[zone]), soil_zone=name)

    def _zone_name(self, zone: int) -> str:
        return self.ground.zones[self.asked.zones[zone]].name

    def _opening_after(self, cell: int) -> wording.Opening | None:
        later = np.flatnonzero(self.is_open[cell + 1 :])
        if not len(later):
            return None
        opens = cell + 1 + int(later[0])
        return wording.Opening(self._instant(opens), float(self.chance[opens]))

    def _instant(self, cell: int) -> dt.datetime:
        start = self.horizon.starts_at.astimezone(dt.UTC)
        return start + dt.timedelta(minutes=int(self.cells.from_min[cell]))
