"""What an order of work would lay out on fields: each pass with its dates, what stands already, and why it may not fit.

Nothing is written. Everything is read in a number of queries that does not grow with the fields.
"""

import datetime as dt
import hashlib
import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Pivot, Season
from farmops.farms.operations import TILLAGE, Operation
from scheduling.models import FieldPass, OrderLaidField, PassLink, PassState, WorkRecord
from scheduling.orders import Dated, NoRoom, Order, dates_of
from scheduling.selectors.order_words import reason_said
from scheduling.selectors.orders import KeptOrder
from scheduling.selectors.speaking import day_said
from scheduling.selectors.waiting import is_all_reported
from scheduling.services.order_links import Link, Slot, is_a_loop, step_gap, wanted_links
from scheduling.services.passes import Planned, Step, last_seen_deg, planned_passes

CENT = Decimal(1)
TAKEN_BACK = "Its order of work was taken back."
"""Why a pass was called off that stood in a plan when its order of work was taken back."""


class Standing(StrEnum):
    """What would become of a pass of an order."""

    NEW = "new"
    CHANGES = "changes"
    STANDS = "stands"
    DONE = "done"
    CALLED_OFF = "called_off"
    PASSED = "passed"
    NO_PIVOT = "no_pivot"


@dataclass(frozen=True)
class Window:
    """The days between which a season is to be planted."""

    first_on: dt.date
    last_on: dt.date


@dataclass(frozen=True)
class StepLine:
    """One step of an order on one season. `number` from 1; `moves` are the pivot's passes that come with it."""

    number: int
    operation: str
    standing: Standing
    earliest_on: dt.date | None = None
    due_on: dt.date | None = None
    done_on: dt.date | None = None


@dataclass
class FieldPreview:
    """What an order would do on one season."""

    season: Season
    window: Window
    lines: list[StepLine] = field(default_factory=list)
    planned: list[Planned] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    existing: Mapping[Slot, FieldPass] = field(default_factory=dict)
    laid_ids: frozenset[int] = frozenset()
    reasons: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def is_fit(self) -> bool:
        return not self.reasons

    def standing_of(self, one: Planned) -> Standing:
        """Return what would become of a pass."""
        return _standing(one.slot, one.facts, self.existing, self.laid_ids)

    @property
    def new_count(self) -> int:
        return sum(self.standing_of(one) is Standing.NEW for one in self.planned)


@dataclass(frozen=True)
class Preview:
    """What an order would do on all fields asked for. `seen` changes with anything of it."""

    kept: KeptOrder
    fields: list[FieldPreview]

    @property
    def is_fit(self) -> bool:
        return bool(self.fields) and all(one.is_fit for one in self.fields)

    @property
    def seen(self) -> str:
        told = [
            [
                one.season.pk,
                one.reasons,
                [[*p.slot, one.standing_of(p), {k: str(v) for k, v in p.facts.items()}] for p in one.planned],
            ]
            for one in self.fields
        ]
        text = json.dumps([self.kept.seen, told], sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def preview_order(
    *, farm: Farm, kept: KeptOrder, windows: Mapping[Season, Window], today: dt.date
) -> Preview:
    """Return what an order would lay out on seasons of the farm, each with its planting window."""
    facts = _Facts(farm, list(windows))
    fields = [
        _field(kept.order, season, window, facts, today)
        for season, window in sorted(windows.items(), key=lambda one: (one[0].field.name, one[0].part))
    ]
    return Preview(kept, fields)


class _Facts:
    """What stands on the seasons already."""

    def __init__(self, farm: Farm, seasons: Sequence[Season]) -> None:
        self.passes: dict[int, dict[Slot, FieldPass]] = defaultdict(dict)
        rows = FieldPass.objects.filter(farm=farm, season__in=seasons)
        for one in rows.select_related("season__field"):
            self.passes[one.season_id][one.operation, one.turn, one.part] = one
        ids = [one.pk for mine in self.passes.values() for one in mine.values()]
        self.links: dict[int, list[tuple[int, int]]] = defaultdict(list)
        links = PassLink.objects.filter(farm=farm, after__season__in=seasons)
        for season_id, before, after in links.values_list("after__season_id", "before_id", "after_id"):
            self.links[season_id].append((before, after))
        self.done_on: dict[int, dt.date] = {}
        records = WorkRecord.objects.filter(field_pass__in=ids, superseded_by__isnull=True)
        for pass_id, day in records.values_list("field_pass_id", "work_on"):
            self.done_on[pass_id] = max(day, self.done_on.get(pass_id, day))
        pivots = Pivot.objects.filter(field__in={one.field_id for one in seasons}).select_related("pump")
        self.pivots = {one.field_id: one for one in pivots}
        self.seen_deg = last_seen_deg(self.pivots.values())
        laid = OrderLaidField.objects.filter(farm=farm, season__in=seasons, laying__taken_back__isnull=True)
        self.laid_ids = frozenset(
            row["id"] for rows in laid.values_list("passes", flat=True) for row in rows if row["is_new"]
        )


def _field(order: Order, season: Season, window: Window, facts: _Facts, today: dt.date) -> FieldPreview:
    existing = facts.passes.get(season.pk, {})
    found = FieldPreview(season, window, existing=existing, laid_ids=facts.laid_ids)
    if season.crop != order.crop:
        found.reasons.append(_("It carries another crop than the order of work is for."))
        return found
    if window.last_on < window.first_on:
        found.reasons.append(_("Its planting window ends before it begins."))
        return found
    pivot = facts.pivots.get(season.field_id)
    standings = _standings(order, existing, has_pivot=pivot is not None)
    done_on = {
        n: _done_on(order, n, existing, facts, today)
        for n, standing in standings.items()
        if standing is Standing.DONE
    }
    left_out = frozenset(n for n, s in standings.items() if s in (Standing.CALLED_OFF, Standing.NO_PIVOT))
    try:
        dated = dates_of(
            order,
            plant_from=window.first_on,
            plant_to=window.last_on,
            today=today,
            done_on=done_on,
            left_out=left_out,
        )
    except NoRoom as error:
        found.reasons.append(reason_said(order, error.bounds, said=day_said))
        return found
    alive = [n for n in standings if n not in left_out and not dated[n - 1].is_passed]
    steps = [_step(order, n, alive, dated[n - 1], season) for n in alive]
    planned = planned_passes(
        season=season,
        steps=steps,
        pivot=pivot,
        pivot_stands_at_deg=facts.seen_deg.get(getattr(pivot, "pk", 0)),
    )
    found.planned = _without_done(planned, alive, standings, existing)
    found.links = wanted_links(order, alive, found.planned)
    found.lines = [_line(found, order, n, standings, dated, alive) for n in standings]
    if is_a_loop(found.existing, facts.links.get(season.pk, ()), found.links):
        found.reasons.append(
            _("What stands on it already comes in another order; call it off or change the order of work.")
        )
    return found


def _standings(order: Order, existing: Mapping[Slot, FieldPass], *, has_pivot: bool) -> dict[int, Standing]:
    """Return what each step meets on the season, before its dates are known."""
    met = {}
    for number, (step, turn) in enumerate(zip(order.steps, order.turns(), strict=True), start=1):
        one = existing.get((step.operation, turn, ""))
        if step.operation == Operation.IRRIGATE and not has_pivot:
            met[number] = Standing.NO_PIVOT
        elif one is None or _is_taken_back(one):
            met[number] = Standing.NEW
        elif one.state == PassState.CALLED_OFF:
            met[number] = Standing.CALLED_OFF
        elif one.state in (PassState.FINISHED, PassState.UNDER_WAY) or is_all_reported(one):
            met[number] = Standing.DONE
        else:
            met[number] = Standing.STANDS
    return met


def _is_taken_back(one: FieldPass) -> bool:
    return one.state == PassState.CALLED_OFF and one.called_off_why == TAKEN_BACK


def _done_on(
    order: Order, n: int, existing: Mapping[Slot, FieldPass], facts: _Facts, today: dt.date
) -> dt.date | None:
    """Return the day of what is finished; what is under way counts as of today; None where nobody wrote it down."""
    one = existing[order.steps[n - 1].operation, order.turns()[n - 1], ""]
    return today if one.state == PassState.UNDER_WAY else facts.done_on.get(one.pk)


def _step(order: Order, n: int, alive: list[int], dated: Dated, season: Season) -> Step:
    step = order.steps[n - 1]
    previous = next((one for one in reversed(alive) if one < n), None)
    least, most = 0, None
    if previous is not None:
        least, most = step_gap(order, previous, n)
    return Step(
        operation=step.operation,
        turn=order.turns()[n - 1],
        is_split=step.operation in TILLAGE or step.operation == Operation.PLANT,
        earliest_on=dated.earliest_on,
        due_on=dated.latest_on,
        late_cents_per_day=_cents(step.late_usd_per_ac_day * season.area_ac),
        leave_cents=None if step.leave_usd_per_ac is None else _cents(step.leave_usd_per_ac * season.area_ac),
        min_gap_min=least,
        max_gap_min=most,
        depth_in=step.depth_in,
        custom_ac_per_h=step.custom_ac_per_h,
        reentry_h=step.reentry_h,
    )


def _without_done(
    planned: list[Planned],
    alive: list[int],
    standings: Mapping[int, Standing],
    existing: Mapping[Slot, FieldPass],
) -> list[Planned]:
    """Leave out what only work that is done already would need: its strip, and the moves once all ground is worked."""
    grounds = [
        one for one in planned if one.step is not None and one.operation in (*TILLAGE, Operation.PLANT)
    ]
    is_worked = all(standings[alive[one.step or 0]] is Standing.DONE for one in grounds)

    def stays(one: Planned) -> bool:
        if one.slot in existing:
            return True
        if one.step is None:
            return not is_worked
        return standings[alive[one.step]] is not Standing.DONE

    return [one for one in planned if stays(one)]


def _line(
    found: FieldPreview,
    order: Order,
    n: int,
    standings: Mapping[int, Standing],
    dated: list[Dated],
    alive: list[int],
) -> StepLine:
    operation = order.steps[n - 1].operation
    if dated[n - 1].is_passed:
        return StepLine(n, operation, Standing.PASSED)
    if standings[n] in (Standing.CALLED_OFF, Standing.NO_PIVOT):
        return StepLine(n, operation, standings[n])
    if standings[n] is Standing.DONE:
        return StepLine(n, operation, Standing.DONE, done_on=dated[n - 1].done_on)
    one = next(
        p for p in found.planned if p.step is not None and alive[p.step] == n and p.operation == operation
    )
    standing = found.standing_of(one)
    stands = found.existing.get(one.slot)
    if standing is Standing.STANDS and stands is not None:
        return StepLine(n, operation, standing, stands.earliest_on, stands.due_on)
    return StepLine(n, operation, standing, dated[n - 1].earliest_on, dated[n - 1].latest_on)


def _standing(
    slot: Slot, facts: Mapping[str, object], existing: Mapping[Slot, FieldPass], laid_ids: frozenset[int]
) -> Standing:
    one = existing.get(slot)
    if one is None or _is_taken_back(one):
        return Standing.NEW
    if one.state == PassState.FINISHED:
        return Standing.DONE
    if one.state == PassState.CALLED_OFF:
        return Standing.CALLED_OFF
    differs = any(getattr(one, name) != value for name, value in facts.items())
    if one.state == PassState.WAITING and one.pk in laid_ids and differs:
        return Standing.CHANGES
    return Standing.STANDS


def _cents(usd: Decimal) -> int:
    return int((usd * 100).quantize(CENT, ROUND_HALF_EVEN))
