"""Service that falls due in the days of a plan, as tasks of its problem.

A stop holds the machine, implement or pivot and whoever does it, at the yard or where the thing stands. When the limit may be
reached is worked out from the hours in which any hand could run it: for what may not run past its limit as if it ran in
every one of them, so that no plan can; for the rest as if it ran in a share of them (`BUSY_SHARE`). A stop that must be
made starts before that minute, or as soon as it can where that has passed; another one is due then, and late after it.
A rule stands once in a problem, by its next limit: what comes round twice in one horizon is planned anew after the
first is reported. The maker's manual outranks what stands here.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from farmops.farms.models import CarePlace, Farm, Hand, Implement, Machine, Pivot
from farmops.science.work_rate import work_rate_ac_per_h
from scheduling.care import runs_out_min
from scheduling.models import PlannedCare, WeekPlan
from scheduling.selectors.care import CARE, CareDue, care_due, care_id
from scheduling.selectors.fleet import YARD, Fleet, pivot_id, place_of
from scheduling.selectors.horizon import Horizon, Stretch, overlap
from scheduling.selectors.outfits import MOST_OUTFITS, Outfit
from scheduling.selectors.prices import PlanPrices
from scheduling.selectors.resources import back_from, hand_calendar
from scheduling.selectors.task_rows import STEP_MIN
from scheduling.selectors.waiting import NotOffered

BUSY_SHARE = Fraction(3, 5)  # farm judgement: of the hours in which a machine could run, it runs so many
LATE_CENTS_PER_HOUR = 500  # farm judgement: what an hour past the limit of a service is worth
LEAVE_CENTS = 30_000  # farm judgement: what a service that is due and not done is worth
GRACE_MIN = 120  # farm judgement: what getting an overdue machine to the yard may take


@dataclass(frozen=True)
class CareStop:
    """A service stop of the problem: its name, what is due, and who can do it with what."""

    id: str
    due: CareDue
    outfits: tuple[Outfit, ...]
    row: dict[str, Any]

    def outfit(self, mode_id: str) -> Outfit:
        """Return one of the outfits by the name of its mode."""
        return next(one for one in self.outfits if one.id == mode_id)


def care_stops(
    *,
    farm: Farm,
    fleet: Fleet,
    horizon: Horizon,
    prices: PlanPrices,
    sent: WeekPlan | None,
    soonest_min: int,
    used: frozenset[str],
    held: frozenset[str],
    known_at: dt.datetime | None = None,
) -> tuple[list[CareStop], list[NotOffered]]:
    """Return the stops that fall due in the horizon, and those that nobody here can make.

    `used` names what the passes may use: what none of them can use runs no hours here, and is due only if it was
    before or by its days. `held` names what is under way or fixed: a stop there has no last minute to start, since it may have to wait.
    `known_at` is the instant by which the pages say what is due, where that lies after the first minute: by an old record
    of weather the days planned are long ago, and what fell due since is due all the same, though none of it is a must.
    """
    first = horizon.at(soonest_min)
    dues = care_due(farm=farm, at=first if known_at is None else max(first, known_at))
    is_later = known_at is not None and known_at > first
    musts = {
        one.rule.pk
        for one in (care_due(farm=farm, at=first) if is_later else dues)
        if one.rule.is_must
        and _limit_min(one, fleet, horizon, soonest_min, runs_here=_name(one, fleet) in used) is not None
    }
    was = _was(sent, horizon, soonest_min) if dues else {}
    stops, refused = [], []
    for due in dues:
        limit_min = _limit_min(due, fleet, horizon, soonest_min, runs_here=_name(due, fleet) in used)
        if limit_min is None:
            continue
        name = care_id(due.rule)
        if _name(due, fleet) is None:
            refused.append(NotOffered(name, f"{due.rule.thing} does no field work in these days."))
            continue
        outfits = _outfits(due, fleet, prices)
        if not outfits:
            why = f"Nobody here can do this in these days: {due.rule}."
            refused.append(NotOffered(name, why, is_a_clash=due.rule.pk in musts))
            continue
        row: dict[str, Any] = {
            "id": name,
            "place": _place(due, fleet),
            "operation": CARE,
            "modes": [outfit.mode(due.rule.takes_min) for outfit in outfits],
            "open": [{"from": 0, "to": horizon.minutes}],
            "earliest": soonest_min,
            **_price(
                due, limit_min, outfits, fleet, horizon, soonest_min, held, is_must=due.rule.pk in musts
            ),
        }
        if name in was:
            row["was"] = was[name]
        stops.append(CareStop(name, due, tuple(outfits), row))
    return stops, refused


def _was(sent: WeekPlan | None, horizon: Horizon, soonest_min: int) -> dict[str, dict[str, Any]]:
    """Return where the sent plan has each stop that is still to come or, on the day itself, is being made."""
    if sent is None:
        return {}
    rows = PlannedCare.objects.filter(
        plan=sent, starts_at__gte=horizon.start, ends_at__gt=horizon.at(soonest_min)
    )
    soonest = -(-soonest_min // STEP_MIN) * STEP_MIN
    return {
        row.task_key: {
            "mode": row.mode,
            "from": max(horizon.after(row.starts_at), soonest),
            "change_cents": 0,
        }
        for row in rows
    }


def _price(
    due: CareDue,
    limit_min: int,
    outfits: Sequence[Outfit],
    fleet: Fleet,
    horizon: Horizon,
    soonest_min: int,
    held: frozenset[str],
    *,
    is_must: bool,
) -> dict[str, Any]:
    if not is_must:
        return {
            "due": limit_min,
            "late_cents_per_hour": LATE_CENTS_PER_HOUR,
            "leave_cents": LEAVE_CENTS,
        }
    if any(name in held for outfit in outfits for name in outfit.resources):
        return {"due": limit_min, "late_cents_per_hour": LATE_CENTS_PER_HOUR, "leave_cents": None}
    soonest = min(_first_common_min(outfit, fleet, horizon, soonest_min) for outfit in outfits)
    grace = 0 if _stands_at(due, fleet) == _place(due, fleet) else GRACE_MIN
    latest = max(limit_min - due.rule.takes_min, soonest + grace)
    return {"latest": -(-latest // STEP_MIN) * STEP_MIN, "leave_cents": None}


def _name(due: CareDue, fleet: Fleet) -> str | None:
    """Return what the problem calls the thing; None where it is not among what can work in these days."""
    thing = due.rule.thing
    if isinstance(thing, Pivot):
        return pivot_id(thing.field.code)
    here = fleet.machines if isinstance(thing, Machine) else fleet.implements
    return fleet.id_of(thing) if any(one.pk == thing.pk for one in here) else None


def _stands_at(due: CareDue, fleet: Fleet) -> str:
    thing = due.rule.thing
    if isinstance(thing, Pivot):
        return place_of(thing.field.code)
    if isinstance(thing, Machine):
        return fleet.machine_stands.get(thing.pk, (YARD, None))[0]
    return fleet.implement_stands.get(thing.pk, YARD)


def _place(due: CareDue, fleet: Fleet) -> str:
    return YARD if due.rule.place == CarePlace.YARD else _stands_at(due, fleet)


def _limit_min(
    due: CareDue, fleet: Fleet, horizon: Horizon, soonest_min: int, *, runs_here: bool
) -> int | None:
    """Return the minute of the horizon at which a service is due; None where that is not in it.

    What was run up to `soonest_min` is known, and counted in what is left.
    """
    thing = due.rule.thing
    pace: Decimal | None = None
    runs = horizon.whole_from(0)
    if isinstance(thing, Implement):
        pace = Decimal(
            str(
                work_rate_ac_per_h(
                    width_ft=float(thing.width_ft),
                    speed_mph=float(thing.speed_mph),
                    efficiency_pct=float(thing.efficiency_pct),
                )
            )
        )
    if not isinstance(thing, Pivot):
        runs = overlap(_anybody(fleet, horizon), back_from(thing, horizon))
    runs = overlap(runs, horizon.whole_from(soonest_min))
    days = [horizon.midnight(day) for day in horizon.local_days()][1:]
    return runs_out_min(
        due.left,
        running=[(one.from_min, one.to_min) for one in runs] if runs_here else [],
        day_ends_min=[*days, horizon.minutes],
        ac_per_h=pace,
        busy_share=Fraction(1) if due.rule.is_must else BUSY_SHARE,
    )


def _anybody(fleet: Fleet, horizon: Horizon) -> list[Stretch]:
    """Return the stretches in which at least one hand works, joined."""
    joined: list[Stretch] = []
    for one in sorted(_all_hours(fleet, horizon), key=lambda s: s.from_min):
        if joined and one.from_min <= joined[-1].to_min:
            joined[-1] = Stretch(joined[-1].from_min, max(joined[-1].to_min, one.to_min))
        else:
            joined.append(Stretch(one.from_min, one.to_min))
    return joined


def _all_hours(fleet: Fleet, horizon: Horizon) -> Iterable[Stretch]:
    for hand in fleet.hands:
        yield from hand_calendar(hand=hand, fleet=fleet, horizon=horizon, extra_cents_per_h=0)


def _first_common_min(outfit: Outfit, fleet: Fleet, horizon: Horizon, soonest_min: int) -> int:
    """Return the first minute from `soonest_min` on in which all of an outfit could work; the horizon's end if none."""
    assert outfit.hand is not None
    stretches = hand_calendar(hand=outfit.hand, fleet=fleet, horizon=horizon, extra_cents_per_h=0)
    for thing in (outfit.machine, outfit.implement):
        if thing is not None:
            stretches = overlap(stretches, back_from(thing, horizon))
    later = [max(one.from_min, soonest_min) for one in stretches if one.to_min > soonest_min]
    return min(later, default=horizon.minutes)


def _outfits(due: CareDue, fleet: Fleet, prices: PlanPrices) -> list[Outfit]:
    """Return who can make a stop with what: an implement that goes to the yard needs something to pull it there."""
    named = {row.hand_id for row in due.rule.hands.all()}
    hands = [hand for hand in fleet.hands if not named or hand.pk in named]
    thing = due.rule.thing
    if isinstance(thing, Pivot):
        return _kept([_at_the_pivot(thing, hand, fleet, prices) for hand in hands])
    if isinstance(thing, Machine):
        machines = [one for one in fleet.machines if one.pk == thing.pk]
        return _kept([_outfit(machine, None, hand, fleet, prices) for machine in machines for hand in hands])
    implements = [one for one in fleet.implements if one.pk == thing.pk]
    if _place(due, fleet) == _stands_at(due, fleet):
        return _kept([_outfit(None, one, hand, fleet, prices) for one in implements for hand in hands])
    pulls = [
        (machine, one)
        for one in implements
        for machine in fleet.machines
        if machine.kind == one.carried_by and machine.power_hp >= one.power_needed_hp
    ]
    turns = [
        _outfit(*pulls[(at + turn) % len(pulls)], hand, fleet, prices)
        for turn in range(len(pulls))
        for at, hand in enumerate(hands)
    ]
    return _kept(turns)


def _at_the_pivot(pivot: Pivot, hand: Hand, fleet: Fleet, prices: PlanPrices) -> Outfit:
    """Return a hand at a pivot that stands still meanwhile."""
    names = (pivot_id(pivot.field.code), fleet.id_of(hand))
    return Outfit(
        id="+".join(names),
        resources=names,
        hand=hand,
        cents_per_h=prices.hand_cents_per_h[hand.pk],
    )


def _kept(outfits: list[Outfit]) -> list[Outfit]:
    return sorted(outfits[:MOST_OUTFITS], key=lambda outfit: outfit.id)


def _outfit(
    machine: Machine | None, implement: Implement | None, hand: Hand, fleet: Fleet, prices: PlanPrices
) -> Outfit:
    things = tuple(fleet.id_of(one) for one in (machine, implement, hand) if one is not None)
    return Outfit(
        id="+".join(things),
        resources=things,
        machine=machine,
        implement=implement,
        hand=hand,
        setup=fleet.id_of(implement) if machine is not None and implement is not None else None,
        cents_per_h=prices.hand_cents_per_h[hand.pk],
    )
