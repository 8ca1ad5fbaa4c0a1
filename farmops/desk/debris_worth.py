"""Is a debris walk worth it on each field? The farm's numbers, or what its rates, bills and reports say, put together."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.desk.days import working_day
from farmops.farms.models import Farm, Field
from ledger.selectors.incident_bills import mean_puncture_cents
from ledger.selectors.standing import mean_wage_cents_per_h, standing_cents_per_h
from scheduling.debris.rates import FieldRate
from scheduling.debris.worth import MOST_PASSES, MOST_RATE, Walk, Worth, worth_of
from scheduling.models import DebrisNumbers, FieldPass, IncidentKind, PassState
from scheduling.selectors.debris import (
    FarmDebris,
    FieldDebris,
    debris_numbers,
    farm_debris,
    field_debris,
    may_anybody_walk,
    outfits_able,
    passes_to_walk_before,
    walkers,
    walks_before,
)
from scheduling.selectors.incidents import lost_minutes
from scheduling.services.debris import propose_walk

PUNCTURE_CENTS = 40_000
"""What a puncture costs where none was billed yet: a service call in the field and a repair. Farm judgement, no source."""
LOST_H = Decimal("3.0")
"""Hours that a puncture takes where none were reported. Farm judgement, no source."""
LATE_WITHIN = dt.timedelta(days=10)
"""Farm judgement: an hour lost counts as late work where the pass is due within ten days or is late already."""
DAY_H = 10
"""Working hours over which a day's price of being late is spread. Farm judgement."""
TENTH = Decimal("0.1")
PERCENT = Decimal(100)
RATE_STEP = Decimal("0.0001")


@dataclass(frozen=True)
class Origin:
    """Where a number of the walk comes from: the farm's own, or what it was taken from, in words; or that it is missing."""

    is_own: bool
    says: str
    is_missing: bool = False


@dataclass(frozen=True)
class WalkInputs:
    """The numbers of a walk, and where each comes from."""

    walk: Walk
    origins: dict[str, Origin]


@dataclass(frozen=True)
class FieldWalk:
    """A field, the pass that a walk would come before, and what the walk is worth.

    `before` is None where no tires are to roll there; `worth` is None then too, and where nothing is known of punctures or
    of the wage of who walks.
    `rate` is the field's as the walks of that season have left it, `left` the share of debris left by them.
    `passes` counts that pass and those that wait after it on the same ground. `walk` is one proposed or done already.
    """

    debris: FieldDebris
    before: FieldPass | None
    passes: int
    inputs: WalkInputs
    worth: Worth | None
    walk: FieldPass | None
    may_anybody_walk: bool
    rate: FieldRate | None = None
    left: float = 1.0

    @property
    def chance_it_pays(self) -> float | None:
        """Return the chance that the walk is worth it; None where its worth is not known."""
        if self.worth is None or self.rate is None:
            return None
        edge = self.worth.break_even_per_1000_ac
        return 0.0 if edge is None else self.rate.chance_above(float(edge))

    @property
    def is_walked(self) -> bool:
        """Whether the walk before that pass is done."""
        return self.walk is not None and self.walk.state == PassState.FINISHED


def field_walks(*, farm: Farm, now: dt.datetime) -> tuple[FarmDebris, list[FieldWalk], WalkInputs]:
    """Return the farm's punctures, each field's walk in the order of the fields' codes, and the numbers of a walk before
    no particular pass.
    """
    found = farm_debris(farm=farm)
    prices = _prices(farm, now)
    passes, walks = passes_to_walk_before(farm=farm), walks_before(farm=farm)
    told = [_field_walk(one, passes.get(one.field.pk), prices, walks) for one in found.fields]
    return found, told, prices.inputs(None)


def field_walk(*, farm: Farm, field: Field, now: dt.datetime) -> FieldWalk:
    """Return one field's walk."""
    first = passes_to_walk_before(farm=farm, field=field).get(field.pk)
    return _field_walk(field_debris(field=field), first, _prices(farm, now), walks_before(farm=farm))


def propose(*, farm: Farm, field: Field, field_pass: FieldPass, now: dt.datetime) -> tuple[FieldPass, bool]:
    """Put a walk before a pass of a field; leaving it out of a plan costs what it is expected to save."""
    worth = field_walk(farm=farm, field=field, now=now).worth
    saved = 0 if worth is None else worth.saved_all_cents
    return propose_walk(farm=farm, field_pass=field_pass, leave_cents=saved)


def _prices(farm: Farm, now: dt.datetime) -> "_Prices":
    return _Prices(farm, working_day(farm=farm, today=local_date(now, farm.zone)))


class _Prices:
    """What the farm's numbers are, with each kind of work asked of the rates once."""

    def __init__(self, farm: Farm, on: dt.date) -> None:
        self.farm = farm
        self.on = on
        self.numbers: DebrisNumbers = debris_numbers(farm=farm)
        self._wage = mean_wage_cents_per_h(farm=farm, hands=walkers(farm=farm), on=on)
        self._billed = mean_puncture_cents(farm=farm)
        self._lost = _mean_lost_h(farm)
        self._standing: dict[str, int | None] = {}
        self._inputs: dict[tuple[str, int], WalkInputs] = {}
        self.may_anybody_walk = may_anybody_walk(farm=farm)

    def inputs(self, before: FieldPass | None) -> WalkInputs:
        """Return the numbers of a walk before a pass."""
        like = ("", 0) if before is None else (before.operation, _late_cents_per_h(before, self.on))
        if like not in self._inputs:
            self._inputs[like] = self._found(*like)
        return self._inputs[like]

    def _found(self, operation: str, late: int) -> WalkInputs:
        own = self.numbers
        is_own, yours = own.pk is not None, _("your number")
        common = Origin(is_own, yours if is_own else _("common practice; put your own in"))
        origins = {"swath_ft": common, "walk_mph": common}
        origins["found_share_pct"] = Origin(is_own, yours if is_own else _("a guess; put your own in"))
        wage, origins["wage_cents_per_h"] = _first(
            own.wage_cents_per_h, self._wage, 0, _("mean wage of who may walk"), _("no wage is set")
        )
        if own.wage_cents_per_h is None and self._wage is None:
            origins["wage_cents_per_h"] = Origin(False, _("no wage is set"), is_missing=True)
        billed = self._billed
        each, origins["puncture_cents"] = _first(
            own.puncture_cents,
            None if billed is None else billed[0],
            PUNCTURE_CENTS,
            "" if billed is None else _mean_of_billed(billed[1]),
            _("a guess, as none was billed yet"),
        )
        lost_cents, origins["lost_cents_per_h"] = self._lost_cents(operation, late)
        if own.lost_h is not None:
            lost_h, origins["lost_h"] = own.lost_h, Origin(True, yours)
        elif self._lost is not None:
            lost_h, origins["lost_h"] = self._lost[0], Origin(False, _mean_of_reported(self._lost[1]))
        else:
            lost_h, origins["lost_h"] = LOST_H, Origin(False, _("a guess, as none was reported yet"))
        walk = Walk(
            found_share=own.found_share_pct / PERCENT,
            swath_ft=own.swath_ft,
            walk_mph=own.walk_mph,
            wage_cents_per_h=wage,
            puncture_cents=each,
            lost_h=lost_h,
            lost_cents_per_h=lost_cents,
        )
        return WalkInputs(walk, origins)

    def _lost_cents(self, operation: str, late: int) -> tuple[int, Origin]:
        if self.numbers.lost_cents_per_h is not None:
            return self.numbers.lost_cents_per_h, Origin(True, _("your number"))
        if operation not in self._standing:
            outfits, hands = outfits_able(farm=self.farm, operation=operation) if operation else ([], [])
            self._standing[operation] = standing_cents_per_h(
                farm=self.farm, outfits=outfits, hands=hands, on=self.on
            )
        standing = self._standing[operation]
        if not operation:
            return 0, Origin(False, _("by the outfit of each field's next pass"), is_missing=True)
        if standing is None:
            return 0, Origin(False, _("no outfit of the farm can do the next pass"))
        says = (
            _("outfit standing, from the rates, and late work")
            if late
            else _("outfit standing, from the rates")
        )
        return standing + late, Origin(False, says)


def _mean_of_billed(count: int) -> str:
    return ngettext("mean of {count} billed", "mean of {count} billed", count).format(count=count)


def _mean_of_reported(count: int) -> str:
    return ngettext("mean of {count} reported", "mean of {count} reported", count).format(count=count)


def _first(own: int | None, found: int | None, otherwise: int, says: str, guessed: str) -> tuple[int, Origin]:
    if own is not None:
        return own, Origin(True, _("your number"))
    if found is not None:
        return found, Origin(False, says)
    return otherwise, Origin(False, guessed)


def _late_cents_per_h(before: FieldPass, on: dt.date) -> int:
    if before.due_on is None or before.due_on > on + LATE_WITHIN:
        return 0
    return before.late_cents_per_day // DAY_H


def _mean_lost_h(farm: Farm) -> tuple[Decimal, int] | None:
    lost = lost_minutes(farm=farm, kind=IncidentKind.PUNCTURE)
    if not lost:
        return None
    return (Decimal(sum(lost)) / len(lost) / 60).quantize(TENTH, ROUND_HALF_EVEN), len(lost)


def _field_walk(
    debris: FieldDebris,
    first: tuple[FieldPass, int] | None,
    prices: _Prices,
    walks: Mapping[int, FieldPass],
) -> FieldWalk:
    if first is None:
        last = debris.walked[-1].season_id if debris.walked else 0
        rate, left = debris.rate_on(last), debris.left_on(last)
        inputs = prices.inputs(None)
        return FieldWalk(debris, None, 0, inputs, None, None, prices.may_anybody_walk, rate, left)
    before, count = first
    before.season.field = debris.field
    inputs = prices.inputs(before)
    count = min(count, MOST_PASSES)
    walk = walks.get(before.pk)
    rate, left = debris.rate_on(before.season_id), debris.left_on(before.season_id)
    if rate is None or inputs.origins["wage_cents_per_h"].is_missing:
        return FieldWalk(debris, before, count, inputs, None, walk, prices.may_anybody_walk, rate, left)
    mean = min(Decimal(str(rate.mean)).quantize(RATE_STEP, ROUND_HALF_EVEN), MOST_RATE)
    worth = worth_of(
        walk=inputs.walk, rate_per_1000_ac=mean, area_ac=before.area_ac - before.done_ac, passes=count
    )
    return FieldWalk(debris, before, count, inputs, worth, walk, prices.may_anybody_walk, rate, left)
