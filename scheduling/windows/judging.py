"""Judge the hours of a kind of work: open with a chance, or shut by a limit that is named with its numbers."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from farmops.farms.operations import Operation
from scheduling.windows.ground import Ground
from scheduling.windows.hours import Cells, cut_cells
from scheduling.windows.limits import (
    OF_THE_CLOCK,
    OUTRANKED_BY_SAY_SO,
    Effect,
    Limit,
    LimitKind,
    Quantity,
    needed_share,
)
from scheduling.windows.looks import Looks
from scheduling.windows.member_sets import Words, everybody, shares
from scheduling.windows.report import PassWindows
from scheduling.windows.sayings import Said, Saying, lay_out, say_so_cuts
from scheduling.windows.stops import FieldRecords, Sky, Stop, stop_edges, stops_of
from scheduling.windows.telling import Block, Judged, Telling

Values = npt.NDArray[np.float64]
CHANCE_DECIMALS = 4
NOTHING_RECORDED = FieldRecords()
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
    records: FieldRecords = NOTHING_RECORDED
    is_watered: bool = False


def judge(*, asked: WorkAsked, limits: Sequence[Limit], ground: Ground, horizon: Horizon) -> PassWindows:
    """Return the open, shut and advised-against stretches of a kind of work; the key is left to the caller."""
    return Judge(ground=ground, horizon=horizon).windows(asked=asked, limits=limits)


class Judge:
    """Judges work on one ground over one horizon; fields that are alike are judged once."""

    def __init__(self, *, ground: Ground, horizon: Horizon) -> None:
        self.ground = ground
        self.horizon = horizon
        self._looks = Looks(ground)
        self._edges = ground.grid.minutes_from(horizon.starts_at)
        self._everybody = everybody(ground.members)
        self._cells: dict[frozenset[int], Cells] = {}
        self._known: dict[object, PassWindows] = {}

    def windows(self, *, asked: WorkAsked, limits: Sequence[Limit]) -> PassWindows:
        """Return the open, shut and advised-against stretches of a kind of work; the key is left to the caller."""
        mine = tuple(
            limit
            for limit in limits
            if limit.applies_to(asked.operation, asked.crop, is_watered=asked.is_watered)
        )
        soils = tuple(
            (self.ground.columns[zone], replace(self.ground.zones[zone], field="")) for zone in asked.zones
        )
        alike = (soils, asked.operation, asked.sayings, asked.records, mine)
        if alike not in self._known:
            self._known[alike] = self._judge(asked, mine)
        return replace(self._known[alike], field=asked.field)

    def _judge(self, asked: WorkAsked, mine: Sequence[Limit]) -> PassWindows:
        is_ground_work = any(limit.kind in OUTRANKED_BY_SAY_SO for limit in mine)
        sayings = asked.sayings if is_ground_work else ()
        used = [limit for limit in mine if limit.is_used]
        stops = {limit: self._stops(limit, asked) for limit in used if limit.quantity in OF_THE_CLOCK}
        cells = self._cut(sayings, [stop for of_limit in stops.values() for stop in of_limit])
        said = lay_out(
            sayings=sayings,
            zone_names=[self.ground.zones[index].name for index in asked.zones],
            grid=self.ground.grid,
            cells=cells,
            starts_at=self.horizon.starts_at,
        )
        judged = [
            self._judged(limit, asked.zones, cells, said)
            for limit in used
            if limit.quantity not in OF_THE_CLOCK and limit.quantity is not Quantity.MEMBER_SHARE
        ]
        shutting = [one for one in judged if one.limit.effect is Effect.SHUTS]
        shutting_stops = {limit: found for limit, found in stops.items() if limit.effect is Effect.SHUTS}
        blocks = _blocks(shutting_stops, said)
        blocked_by = _blocked_by(blocks, cells)
        holds = np.broadcast_to(self._everybody, (len(cells.hour), self._everybody.shape[1]))
        for one in shutting:
            holds = holds & one.holds
        members = self.ground.members
        chance = np.where(blocked_by >= 0, 0.0, np.round(shares(holds, members), CHANCE_DECIMALS))
        is_open = (blocked_by < 0) & (chance >= needed_share(used) - SLACK)
        telling = Telling(
            ground=self.ground,
            starts_at=self.horizon.starts_at,
            zones=asked.zones,
            cells=cells,
            certainty=next((limit for limit in used if limit.quantity is Quantity.MEMBER_SHARE), None),
            needed=needed_share(used),
            shutting=shutting,
            blocks=blocks,
            blocked_by=blocked_by,
            said=said,
            chance=chance,
            is_open=is_open,
        )
        advised = [one for one in judged if one.limit.effect is Effect.ADVICE]
        advising_stops = {limit: found for limit, found in stops.items() if limit.effect is Effect.ADVICE}
        return PassWindows(
            key="",
            field=asked.field,
            operation=asked.operation.value,
            open=telling.open_stretches(),
            shut=telling.shut_stretches(),
            advice=telling.advice_stretches(advised, advising_stops),
        )

    @cached_property
    def _sky(self) -> Sky:
        return Sky(self.ground.sunrise_h, self.ground.sunset_h)

    def _stops(self, limit: Limit, asked: WorkAsked) -> tuple[Stop, ...]:
        return tuple(
            stops_of(
                limit,
                records=asked.records,
                sky=self._sky,
                grid=self.ground.grid,
                starts_at=self.horizon.starts_at,
                until_min=self.horizon.minutes,
            )
        )

    def _cut(self, sayings: Sequence[Saying], stops: Sequence[Stop]) -> Cells:
        cuts = frozenset(stop_edges(stops)) | say_so_cuts(
            sayings=sayings, starts_at=self.horizon.starts_at, zone=self.ground.place.zone
        )
        if cuts not in self._cells:
            self._cells[cuts] = cut_cells(edges=self._edges, until_min=self.horizon.minutes, cuts=cuts)
        return self._cells[cuts]

    def _judged(self, limit: Limit, zones: Sequence[int], cells: Cells, said: Said) -> Judged:
        seen = [self._looks.at(limit, zone) for zone in zones]
        is_outranked = limit.kind in OUTRANKED_BY_SAY_SO and bool(said.fit.any())
        if not is_outranked and all(one is seen[0] for one in seen):
            seen = seen[:1]
        by_zone: list[Words] = []
        for place, one in enumerate(seen):
            holds = one.holds[one.row_of_hour[cells.hour]]
            if is_outranked:
                holds = np.where(said.fit[:, place, np.newaxis], self._everybody, holds)
            by_zone.append(holds)
        everywhere = by_zone[0] if len(by_zone) == 1 else np.bitwise_and.reduce(by_zone)
        return Judged(
            limit=limit,
            seen=seen,
            holds=everywhere,
            share=shares(everywhere, self.ground.members),
            by_zone=by_zone,
            members=self.ground.members,
        )


def _blocks(stops: dict[Limit, tuple[Stop, ...]], said: Said) -> list[Block]:
    """Return what stops work for certain, in the order in which it is named: labels, the grower's word, the rest."""
    labels = [
        Block(limit, stop)
        for limit, found in stops.items()
        if limit.kind is LimitKind.LABEL
        for stop in found
    ]
    others = [
        Block(limit, stop)
        for limit, found in stops.items()
        if limit.kind is not LimitKind.LABEL
        for stop in found
    ]
    words = [Block(None, None, np.asarray(said.waits.any(axis=1)))] if said.waits.any() else []
    return [*_longest_first(labels), *words, *_longest_first(others)]


def _longest_first(blocks: list[Block]) -> list[Block]:
    """Within one limit, name the stop that lasts longest."""
    order = list(dict.fromkeys(block.limit for block in blocks))
    return sorted(blocks, key=lambda block: (order.index(block.limit), -block.to_min))


def _blocked_by(blocks: Sequence[Block], cells: Cells) -> npt.NDArray[np.int64]:
    """Return by cell the first block that stops it, -1 where none does; cells are cut at the blocks' edges."""
    blocked_by = np.full(len(cells.hour), -1, dtype=np.int64)
    for index in reversed(range(len(blocks))):
        blocked_by[blocks[index].covers(cells)] = index
    return blocked_by
