"""Orders of work read from a file and laid out as passes, with the work that was done before the service began.

`orders.json` holds one object. Only the keys marked * must stand.

    format*     "orders/1"
    orders*     field* crop_year* crop* part pivot_stands_at_deg (now, clockwise from north) pivot_hand steps*
    steps       operation* (any but pivot moves, in the order of the work) area_ac (all acres of the season)
                earliest_on due_on late_usd_per_ac_day leave_usd_per_ac (absent: must be done in the week planned)
                min_gap_h max_gap_h (since the step before) depth_in (* for irrigate: the water of the turn)
                custom_ac_per_h (somebody hired does it at this pace)
                reentry_h (for spraying: the label's hours in which the plan keeps everybody out)
                done: from_on* hand* machine* implement* inputs: input* per_ac* unit*

A step with `done` was finished before: it becomes a work record at the outfit's usual pace, from that day on, Sundays
left out, so that its cost is in the books too. Work that no outfit of the farm did (irrigation, a debris walk, work by
somebody hired) names no machine and implement; its hand is who walked, or who saw to it. Done steps come first. Moves
of a pivot that the done work needed are recorded for `pivot_hand`. Loading the same file again changes nothing.
"""

import datetime as dt
import uuid
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from itertools import pairwise
from pathlib import Path

from django.db import transaction

from farmops.farms.models import Farm, Hand, Implement, Machine, Season
from farmops.farms.operations import NO_IMPLEMENT, PIVOT_MOVES, PIVOT_WORK, Operation
from farmops.farms.services.json_facts import Node, read_json
from farmops.science.work_rate import work_rate_ac_per_h
from scheduling.models import FieldPass, PassState
from scheduling.selectors.fleet import DEBRIS_WALK_AC_PER_H
from scheduling.selectors.passes import WATER, pass_key
from scheduling.services.passes import STRIP, Step, lay_out
from scheduling.services.work import record_work

FORMAT = "orders/1"
NOTE = "done before the service began"
LONGEST_DAY_MIN = 540
HAND_OVER_MACHINE = Decimal("1.10")
"""A hand's minutes for one of the engine: Illinois farmdoc, machinery cost estimates (labor hours 10 % above)."""
LOOK_MIN = 20
CENT = Decimal(1)
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class Done:
    """A step that was finished before, with the outfit and what went on the ground per acre."""

    from_on: dt.date
    hand: Hand
    machine: Machine | None
    implement: Implement | None
    inputs_per_ac: tuple[tuple[str, Decimal, str], ...]


@dataclass
class OrdersReport:
    """What was laid out and recorded."""

    seasons: int = 0
    passes: int = 0
    waiting: int = 0
    records_added: int = 0


@dataclass(frozen=True)
class _Order:
    season: Season
    steps: list[Step]
    done: list[Done | None]
    stands_at_deg: Decimal | None
    pivot_hand: Hand | None
    node: Node


@transaction.atomic
def load_orders(*, farm: Farm, path: Path, now: dt.datetime) -> OrdersReport:
    """Lay out every order of the file, all or none. Raises BadFarmFile or BadOrderOfWork."""
    reader = _Reader(farm, path)
    report = OrdersReport()
    for order in list(reader.orders()):
        passes = lay_out(season=order.season, steps=order.steps, pivot_stands_at_deg=order.stands_at_deg)
        report.seasons += 1
        report.passes += len(passes)
        report.records_added += sum(_record_done(farm, order, passes, now))
        report.waiting += FieldPass.objects.filter(
            pk__in=[one.pk for one in passes], state=PassState.WAITING
        ).count()
    return report


class _Reader:
    def __init__(self, farm: Farm, path: Path) -> None:
        self.farm = farm
        self.top = Node(read_json(path), path=path)
        self.top.choice("format", [FORMAT])
        self.hands = {one.code: one for one in Hand.objects.filter(farm=farm)}
        self.machines = {one.code: one for one in Machine.objects.filter(farm=farm)}
        self.implements = {one.code: one for one in Implement.objects.filter(farm=farm)}
        seasons = Season.objects.filter(farm=farm).select_related("farm", "field__pivot")
        self.seasons = {(one.field.code, one.crop_year, one.crop, one.part): one for one in seasons}

    def orders(self) -> Iterator[_Order]:
        seen: set[int] = set()
        for node in self.top.nodes("orders", required=True):
            order = self._order(node)
            if order.season.pk in seen:
                raise node.wrong("this season has an order of work already in the file")
            seen.add(order.season.pk)
            node.finish()
            yield order
        self.top.finish()

    def _order(self, node: Node) -> _Order:
        field = node.code("field", known={key[0] for key in self.seasons}, what="field with a season")
        part = node.code("part") if node.raw("part") else ""
        key = (field, node.whole("crop_year", least=1990, most=2100), node.text("crop", most=12), part)
        if key not in self.seasons:
            raise node.wrong(
                f"{field} has no season of {key[2]} in {key[1]}{f', part {part}' if part else ''}"
            )
        season = self.seasons[key]
        read = [self._step(step, season) for step in node.nodes("steps", required=True)]
        done = [one for _step, one in read]
        if any(after is not None and before is None for before, after in pairwise(done)):
            raise node.wrong("a step is done although one before it is not", "steps")
        hand = node.code("pivot_hand", known=self.hands, what="hand") if node.raw("pivot_hand") else ""
        if hasattr(season.field, "pivot") and any(done) and not hand:
            raise node.wrong(
                "is missing, and done work under a pivot needs a hand for its moves", "pivot_hand"
            )
        return _Order(
            season=season,
            steps=[step for step, _done in read],
            done=done,
            stands_at_deg=node.optional_number("pivot_stands_at_deg", least=0, most=359.9, decimals=1),
            pivot_hand=self.hands.get(hand),
            node=node,
        )

    def _step(self, node: Node, season: Season) -> tuple[Step, Done | None]:
        area = node.optional_number("area_ac", least=0.01, most=float(season.area_ac), decimals=2)
        acres = season.area_ac if area is None else area
        late = node.number("late_usd_per_ac_day", least=0, most=1000, decimals=2, default=Decimal(0))
        leave = node.optional_number("leave_usd_per_ac", least=0, most=10000, decimals=2)
        most_gap_h = node.optional_number("max_gap_h", least=0, most=5000, decimals=2)
        operation = node.choice("operation", [o.value for o in Operation if o not in PIVOT_MOVES])
        custom = node.optional_number("custom_ac_per_h", least=0.01, most=500, decimals=2)
        step = Step(
            operation=operation,
            area_ac=area,
            earliest_on=node.optional_date("earliest_on"),
            due_on=node.optional_date("due_on"),
            late_cents_per_day=_cents(late * acres),
            leave_cents=None if leave is None else _cents(leave * acres),
            min_gap_min=int(
                node.number("min_gap_h", least=0, most=5000, decimals=2, default=Decimal(0)) * 60
            ),
            max_gap_min=None if most_gap_h is None else int(most_gap_h * 60),
            depth_in=node.optional_number("depth_in", least=0.05, most=3, decimals=2),
            custom_ac_per_h=custom,
            reentry_h=node.optional_number("reentry_h", least=0, most=720, decimals=1),
        )
        has_outfit = custom is None and operation not in NO_IMPLEMENT
        done = self._done(node.node("done"), has_outfit) if node.raw("done") is not None else None
        node.finish()
        return step, done

    def _done(self, node: Node, has_outfit: bool) -> Done:
        inputs = []
        for item in node.nodes("inputs"):
            per_ac = item.number("per_ac", least=0.001, most=100000, decimals=3)
            inputs.append((item.code("input"), per_ac, item.text("unit", most=12)))
            item.finish()
        done = Done(
            from_on=node.date("from_on"),
            hand=self.hands[node.code("hand", known=self.hands, what="hand")],
            machine=self.machines[node.code("machine", known=self.machines, what="machine")]
            if has_outfit
            else None,
            implement=self.implements[node.code("implement", known=self.implements, what="implement")]
            if has_outfit
            else None,
            inputs_per_ac=tuple(inputs),
        )
        node.finish()
        return done


def _cents(usd: Decimal) -> int:
    return int((usd * 100).quantize(CENT, ROUND_HALF_EVEN))


def _record_done(farm: Farm, order: _Order, passes: list[FieldPass], now: dt.datetime) -> Iterator[int]:
    """Yield 1 for each record added: strips and moves back are done when the whole order is."""
    if not any(order.done):
        return
    done_of: dict[tuple[str, int], Done | None] = {}
    turns: Counter[str] = Counter()
    for step, done in zip(order.steps, order.done):
        turns[step.operation] += 1
        done_of[step.operation, turns[step.operation]] = done
    is_all_done = all(order.done)
    first = next(done for done in order.done if done is not None)
    for one in passes:
        if one.part == WATER:
            if done_of.get((Operation.IRRIGATE, one.turn)) is not None:
                yield from _record_move(farm, one, order, first.from_on, now)
        elif one.operation in PIVOT_MOVES:
            if is_all_done or _comes_before_work(one, passes):
                yield from _record_move(farm, one, order, first.from_on, now)
        elif is_all_done or one.part != STRIP:
            done = done_of[one.operation, one.turn]
            if done is not None:
                yield from _record_pass(farm, one, done, now)


def _comes_before_work(move: FieldPass, passes: list[FieldPass]) -> bool:
    works = [index for index, one in enumerate(passes) if one.operation not in PIVOT_WORK]
    return bool(works) and passes.index(move) < works[0]


def _record_move(farm: Farm, move: FieldPass, order: _Order, day: dt.date, now: dt.datetime) -> Iterator[int]:
    assert order.pivot_hand is not None  # refused on reading
    minutes = 0 if move.operation == Operation.PIVOT_WALK else LOOK_MIN
    _record, is_new = record_work(
        farm=farm,
        client_id=_client_id(move, 1),
        field_pass=move,
        hand=order.pivot_hand,
        work_on=day,
        hand_min=minutes,
        done_ac=Decimal(0),
        is_finished=True,
        note=NOTE,
        recorded_by=None,
        now=now,
    )
    yield int(is_new)


def _record_pass(farm: Farm, one: FieldPass, done: Done, now: dt.datetime) -> Iterator[int]:
    if done.implement is None:
        yield from _record_without_outfit(farm, one, done, now)
        return
    pace = work_rate_ac_per_h(
        width_ft=float(done.implement.width_ft),
        speed_mph=float(done.implement.speed_mph),
        efficiency_pct=float(done.implement.efficiency_pct),
    )
    machine_min = round(float(one.area_ac) / float(pace) * 60)
    days = max(1, -(-machine_min // LONGEST_DAY_MIN))
    ends_ac = [(one.area_ac * n / days).quantize(HUNDREDTH) for n in range(days + 1)]
    day = done.from_on
    for number in range(1, days + 1):
        while day.weekday() == 6:
            day += dt.timedelta(days=1)
        engine_min = machine_min * number // days - machine_min * (number - 1) // days
        acres = ends_ac[number] - ends_ac[number - 1]
        _record, is_new = record_work(
            farm=farm,
            client_id=_client_id(one, number),
            field_pass=one,
            hand=done.hand,
            machine=done.machine,
            implement=done.implement,
            work_on=day,
            hand_min=int((engine_min * HAND_OVER_MACHINE).to_integral_value()),
            machine_min=engine_min,
            done_ac=acres,
            is_finished=number == days,
            note=NOTE,
            inputs=[(code, per_ac * acres, unit) for code, per_ac, unit in done.inputs_per_ac],
            recorded_by=None,
            now=now,
        )
        yield int(is_new)
        day += dt.timedelta(days=1)


def _record_without_outfit(farm: Farm, one: FieldPass, done: Done, now: dt.datetime) -> Iterator[int]:
    """Record work that took no machine of the farm on its one day; only a walk takes the hand's hours."""
    walked = one.operation == Operation.DEBRIS_WALK and one.custom_ac_per_h is None
    walked_min = min(round(float(one.area_ac) / DEBRIS_WALK_AC_PER_H * 60), LONGEST_DAY_MIN) if walked else 0
    _record, is_new = record_work(
        farm=farm,
        client_id=_client_id(one, 1),
        field_pass=one,
        hand=done.hand,
        work_on=done.from_on,
        hand_min=walked_min,
        done_ac=one.area_ac,
        is_finished=True,
        note=NOTE,
        inputs=[(code, per_ac * one.area_ac, unit) for code, per_ac, unit in done.inputs_per_ac],
        recorded_by=None,
        now=now,
    )
    yield int(is_new)


def _client_id(one: FieldPass, number: int) -> uuid.UUID:
    """Return the same id for the same work, so that loading twice records once."""
    season = one.season
    name = f"{season.farm.code}/{season.crop_year}/{season.crop}/{pass_key(one)}/before/{number}"
    return uuid.uuid5(uuid.NAMESPACE_URL, name)
