"""What each pass's delay costs: by its order of work, or by what its crop loses when it is planted late.

An order's own late price overrules. Without one, planting passes have the farm's curve of loss for the crop, made
linear over the days of the plan: the `due` day and the price of a day that fit the loss at the end of each day best. A
curve that falls steadily from a day on is met exactly; a step (an insurance's final date) comes out as the day before it
and a steep price. Each day part of a planting is late by itself, by its own acres, and leaving it costs what the curve
takes until the end of these days on top of its own price, so that nothing is left because it is late.

What planting waits for is not late itself: a day lost there is a day lost for the planting, and that is what the
weather's chance is weighed with. Where the planting is not in the plan (it may not start in these days), the last
passes before it that are stand in for it. Where nothing is lost yet in these days, a day counts as a share of the
curve's next loss: see `LOST_DAY_SHARE`.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from farmops.farms.lateness import (
    Curve,
    curve_of_region,
    losses_from,
    lost_cents_per_ac,
    next_loss_cents_per_ac,
    shipped_curves,
)
from farmops.farms.models import Farm, LatePlantingFacts
from farmops.farms.operations import Operation
from scheduling.models import FieldPass, PassLink
from scheduling.selectors.delays import Delay
from scheduling.selectors.horizon import Horizon

OWN = "own"
PERCENT = "pct"
LOST_DAY_SHARE = Fraction(1, 10)
"""Farm judgement: of ten days lost before planting gets late, one is still missing when it does."""


@dataclass(frozen=True)
class LatePrice:
    """What an acre of a crop loses by the day it is planted on."""

    curve: Curve
    facts: LatePlantingFacts

    def lost_cents_per_ac(self, on: dt.date) -> Fraction:
        """Return what an acre planted on a day has lost, cents."""
        return lost_cents_per_ac(
            self.curve, on, yield_per_ac=self.facts.yield_per_ac, price_usd=self.facts.price_usd
        )

    def next_loss_cents_per_ac(self, on: dt.date) -> Fraction:
        """Return what a day takes from an acre once the next loss has begun, cents."""
        return next_loss_cents_per_ac(
            self.curve, on, yield_per_ac=self.facts.yield_per_ac, price_usd=self.facts.price_usd
        )


def late_prices(*, farm: Farm) -> Mapping[str, LatePrice]:
    """Return the price of planting late by crop, for the crops that the farm has put a value on."""
    found = {}
    for facts in LatePlantingFacts.objects.filter(farm=farm):
        curve = curve_of(facts, region=farm.region)
        if curve is not None:
            found[facts.crop] = LatePrice(curve, facts)
    return found


def curve_of(facts: LatePlantingFacts, *, region: str) -> Curve | None:
    """Return the curve that a farm's facts ask for: its own, the one named, the region's, or none."""
    if facts.losses is not None:
        unit = PERCENT if facts.is_in_pct else facts.yield_unit
        return Curve(OWN, facts.crop, "", unit, losses_from(facts.losses))
    if facts.curve:
        return shipped_curves().get(facts.curve)
    return curve_of_region(facts.crop, region)


def delays_of(
    *, farm: Farm, horizon: Horizon, waiting: Sequence[FieldPass], offered: Iterable[FieldPass]
) -> Mapping[int, Delay]:
    """Return the price of a delay by the row id of each open pass."""
    by_id = {one.pk: one for one in waiting}
    before = _before(farm, by_id)
    in_plan = {one.pk for one in offered}
    prices = late_prices(farm=farm)
    delays = {pk: _of_order(one, horizon) for pk, one in by_id.items()}
    for pk, one in by_id.items():
        price = prices.get(one.season.crop)
        if one.operation != Operation.PLANT or one.late_cents_per_day or price is None:
            continue
        late = _of_curve(one, price, horizon)
        for stand_in in [pk] if pk in in_plan else _last_in_plan(pk, before, in_plan):
            if not by_id[stand_in].late_cents_per_day:
                delays[stand_in] = _dearer(delays[stand_in], late)
    return _with_days_lost_before(delays, before, by_id)


def _before(farm: Farm, by_id: Mapping[int, FieldPass]) -> Mapping[int, Sequence[int]]:
    found: dict[int, list[int]] = {pk: [] for pk in by_id}
    links = PassLink.objects.filter(farm=farm, before__in=by_id, after__in=by_id).order_by("id")
    for before_id, after_id in links.values_list("before_id", "after_id"):
        found[after_id].append(before_id)
    return found


def _last_in_plan(pk: int, before: Mapping[int, Sequence[int]], in_plan: set[int]) -> list[int]:
    """Return the nearest passes before one that the plan can hold."""
    found: list[int] = []
    seen: set[int] = set()
    asked = list(before[pk])
    while asked:
        one = asked.pop()
        if one in seen:
            continue
        seen.add(one)
        if one in in_plan:
            found.append(one)
        else:
            asked += before[one]
    return found


def _with_days_lost_before(
    delays: Mapping[int, Delay], before: Mapping[int, Sequence[int]], by_id: Mapping[int, FieldPass]
) -> Mapping[int, Delay]:
    """Return the delays with, for whatever has no price of its own, that of the dearest pass that waits for it."""
    found = dict(delays)
    asked = list(found)
    while asked:
        after = asked.pop()
        for pk in before[after]:
            lost = found[after].lost_day_cents
            if not by_id[pk].late_cents_per_day and found[pk].lost_day_cents < lost:
                found[pk] = replace(found[pk], lost_day_cents=lost)
                asked.append(pk)
    return found


def _of_order(field_pass: FieldPass, horizon: Horizon) -> Delay:
    per_day = Fraction(field_pass.late_cents_per_day)
    due_min = None
    if field_pass.due_on is not None:
        due_min = max(0, horizon.midnight(field_pass.due_on + dt.timedelta(days=1)))
    if due_min is not None and due_min >= horizon.minutes:
        due_min = None
    return Delay(due_min, per_day, per_day)


def _of_curve(field_pass: FieldPass, price: LatePrice, horizon: Horizon) -> Delay:
    days = list(horizon.local_days())
    acres = Fraction(field_pass.area_ac)
    zero = price.lost_cents_per_ac(days[0] - dt.timedelta(days=1))
    lost = [acres * (price.lost_cents_per_ac(day) - zero) for day in days]
    first, per_day = straight_line(lost)
    if per_day == 0:
        next_loss = acres * price.next_loss_cents_per_ac(days[-1])
        return Delay(lost_day_cents=next_loss * LOST_DAY_SHARE, is_of_each_part=True)
    return Delay(
        due_min=max(0, horizon.midnight(days[first])),
        late_cents_per_day=per_day,
        lost_day_cents=per_day,
        is_of_each_part=True,
        left_late_cents=lost[-1],
    )


def straight_line(lost: Sequence[Fraction]) -> tuple[int, Fraction]:
    """Return the day (0 is the first) after whose beginning each day costs the same, and what it costs.

    `lost` is what is lost by the end of each day, never falling. Of the lines that rise from a day's beginning on, the
    one with the least sum of squared differences over the days; (0, 0) where nothing is lost.
    """
    best = (sum((one * one for one in lost), Fraction(0)), 0, Fraction(0))
    for first in range(len(lost)):
        run = [(Fraction(day - first + 1), one) for day, one in enumerate(lost) if day >= first]
        slope = sum((x * y for x, y in run), Fraction(0)) / sum((x * x for x, _ in run), Fraction(0))
        missed = sum((one * one for one in lost[:first]), Fraction(0))
        missed += sum(((y - slope * x) ** 2 for x, y in run), Fraction(0))
        if missed < best[0]:
            best = (missed, first, slope)
    return best[1], best[2]


def _dearer(one: Delay, other: Delay) -> Delay:
    return (
        other
        if (other.late_cents_per_day, other.lost_day_cents)
        > (
            one.late_cents_per_day,
            one.lost_day_cents,
        )
        else one
    )
