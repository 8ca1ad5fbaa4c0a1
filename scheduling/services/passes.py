"""Laying out a season's order of work as passes that wait for each other.

Under a center pivot the order grows. The pivot never leaves its circle, so it first walks to its parking line, the
ground beside it is worked, it then walks a little way onto the finished ground, the strip it stood on is worked as
a part of its own, and after planting it walks back. Each such move is three passes: a hand starts it and looks, it
walks alone, a hand stops it and looks. An irrigation turn likewise: a hand starts it, it waters its circle and comes
back to where it stood, a hand stops it. After planting the pivot stays on its parking line between turns, and work in
the growing crop and on what it leaves goes over the whole ground in one pass.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from django.db import transaction

from farmops.core.problems import DomainError
from farmops.farms.models import Pivot, Season
from farmops.farms.operations import NO_IMPLEMENT, PIVOT_MOVES, PIVOT_WORK, SPRAYING, Operation
from farmops.science.pivot import circle_ac
from scheduling.models import FieldPass, PassLink, PassState, PivotPlace
from scheduling.selectors.passes import WATER
from scheduling.services.sprayings import MOST_REENTRY_H

STRIP = "strip"
HUNDREDTH = Decimal("0.01")
LEAST_TURN_IN, MOST_TURN_IN = (
    Decimal("0.05"),
    Decimal(3),
)  # common practice, no source: what a pivot turn puts on
MOST_CUSTOM_AC_PER_H = Decimal(500)
SQUARE_FEET_PER_ACRE = Decimal(43_560)
WALK_AFTER_START_MIN = 30  # common practice, no source: the pivot sets off while the hand still looks
STOP_AFTER_WALK_MIN = 720  # farm judgement: it stops by itself at the angle set, and a hand looks within 12 h
LOOK_AFTER_TURN_MIN = 2_160  # farm judgement: a turn ends by itself too, and a Sunday may lie before the look
UNKNOWN_WALK_DEG = Decimal(180)  # the longest way there is when it may walk either way round
MOVE_LEAVE_CENTS = 5_000  # farm judgement: what a move not made is worth, so that it is made when it can be
STRIP_LEAVE_CENTS = (
    15_000  # farm judgement: the least price of a strip not worked, above what going there costs
)


class BadOrderOfWork(DomainError):
    """Steps that make no order of work."""

    code = "bad_order_of_work"


@dataclass(frozen=True)
class Step:
    """One operation in the order of work of a season.

    `area_ac` None means all acres of the season, or as many as a pivot's circle has for an irrigation turn. Gaps are
    minutes between the end of the step before and the start of this one. `leave_cents` None means that it must be done
    in the week that is planned. `depth_in` is the water of an irrigation turn; work with `custom_ac_per_h` is done at
    that pace by somebody hired; for `reentry_h` hours after a spraying its label keeps everybody out. `turn` None is
    counted; what is not `is_split` goes over the whole ground in one pass, whether or not a pivot is parked on it.
    """

    operation: str
    area_ac: Decimal | None = None
    due_on: dt.date | None = None
    earliest_on: dt.date | None = None
    late_cents_per_day: int = 0
    leave_cents: int | None = None
    min_gap_min: int = 0
    max_gap_min: int | None = None
    depth_in: Decimal | None = None
    custom_ac_per_h: Decimal | None = None
    reentry_h: Decimal | None = None
    turn: int | None = None
    is_split: bool = True


@dataclass(frozen=True)
class Planned:
    """A pass to be, and the link to the one before it. `step` is the index of its step; a pivot move has none."""

    operation: str
    turn: int
    part: str
    facts: dict[str, object]
    min_gap_min: int = 0
    max_gap_min: int | None = None
    step: int | None = None

    @property
    def slot(self) -> tuple[str, int, str]:
        """Return what makes it the only one of its season."""
        return self.operation, self.turn, self.part


def strip_ac(pivot: Pivot) -> Decimal:
    """Return the acres of the strip a parked pivot stands on: its width times the radius of the last tower."""
    area = pivot.strip_width_ft * pivot.last_tower_radius_ft / SQUARE_FEET_PER_ACRE
    return area.quantize(Decimal("0.01"), ROUND_HALF_UP)


@transaction.atomic
def lay_out(
    *, season: Season, steps: Sequence[Step], pivot_stands_at_deg: Decimal | None = None
) -> list[FieldPass]:
    """Lay the steps out as linked passes and return them in order.

    `pivot_stands_at_deg` is where the pivot stands now, clockwise from north, or where it was last seen if None; it
    walks the shorter way to its parking line, half a turn if nobody saw it, and not at all if it is there. Laying out the same steps again changes
    nothing; with other dates or prices, passes that still wait take them over.
    """
    pivot = Pivot.objects.filter(field_id=season.field_id).first()
    _check(season, steps, pivot_stands_at_deg, pivot)
    if pivot is not None and pivot_stands_at_deg is None:
        pivot_stands_at_deg = last_seen_deg([pivot]).get(pivot.pk)
    planned = planned_passes(season=season, steps=steps, pivot=pivot, pivot_stands_at_deg=pivot_stands_at_deg)
    passes: list[FieldPass] = []
    for one in planned:
        field_pass, made = FieldPass.objects.get_or_create(
            farm=season.farm,
            season=season,
            operation=one.operation,
            turn=one.turn,
            part=one.part,
            defaults=one.facts,
        )
        if not made and FieldPass.objects.filter(pk=field_pass.pk, state=PassState.WAITING).update(
            **one.facts
        ):
            field_pass.refresh_from_db()
        if passes:
            PassLink.objects.update_or_create(
                farm=season.farm,
                before=passes[-1],
                after=field_pass,
                defaults={"min_gap_min": one.min_gap_min, "max_gap_min": one.max_gap_min},
            )
        passes.append(field_pass)
    return passes


def planned_passes(
    *, season: Season, steps: Sequence[Step], pivot: Pivot | None, pivot_stands_at_deg: Decimal | None
) -> list[Planned]:
    """Return the passes that steps make on a season, in their order; each waits for the one before it."""
    if pivot is None:
        return _plain(season, steps)
    return _under_a_pivot(season, steps, pivot, pivot_stands_at_deg)


def _check(season: Season, steps: Sequence[Step], stands_at_deg: Decimal | None, pivot: Pivot | None) -> None:
    where = f"Order of work of {season}"
    if not steps:
        raise BadOrderOfWork(f"{where}: there is no step in it.")
    if stands_at_deg is not None and not 0 <= stands_at_deg < 360:
        raise BadOrderOfWork(
            f"{where}: the pivot stands at {stands_at_deg} degrees; it must be 0 to below 360."
        )
    for number, step in enumerate(steps, start=1):
        at = f"{where}, step {number}"
        if step.operation not in list(Operation):
            raise BadOrderOfWork(
                f"{at}: {step.operation!r} is no kind of work; known are {', '.join(Operation)}."
            )
        if step.operation in PIVOT_MOVES:
            raise BadOrderOfWork(
                f"{at}: pivot moves are added by themselves; name the work in the field only."
            )
        if step.area_ac is not None and not 0 < step.area_ac <= season.area_ac:
            raise BadOrderOfWork(f"{at}: {step.area_ac} acres; the season has {season.area_ac}.")
        if step.late_cents_per_day < 0 or (step.leave_cents or 0) < 0:
            raise BadOrderOfWork(f"{at}: a price cannot be negative.")
        if number == 1 and (step.min_gap_min or step.max_gap_min is not None):
            raise BadOrderOfWork(f"{at}: gaps count from the step before, and the first step has none.")
        if step.min_gap_min < 0 or (step.max_gap_min is not None and step.max_gap_min < step.min_gap_min):
            raise BadOrderOfWork(
                f"{at}: the gaps must be at least 0 and the greatest no less than the least."
            )
        if step.earliest_on and step.due_on and step.due_on < step.earliest_on:
            raise BadOrderOfWork(f"{at}: due on {step.due_on}, before it may start on {step.earliest_on}.")
        _check_water_and_hire(step, at, pivot)
        _check_label(step, at)


def _check_water_and_hire(step: Step, at: str, pivot: Pivot | None) -> None:
    if step.operation == Operation.IRRIGATE:
        if pivot is None:
            raise BadOrderOfWork(f"{at}: the field has no pivot to irrigate with.")
        if step.depth_in is None:
            raise BadOrderOfWork(f"{at}: an irrigation turn needs its depth, depth_in.")
        if not LEAST_TURN_IN <= step.depth_in <= MOST_TURN_IN:
            raise BadOrderOfWork(
                f"{at}: {step.depth_in} in of water; a turn puts on {LEAST_TURN_IN} to {MOST_TURN_IN}."
            )
    elif step.depth_in is not None:
        raise BadOrderOfWork(f"{at}: only an irrigation turn has a depth of water.")
    if step.custom_ac_per_h is not None:
        if step.operation in PIVOT_WORK:
            raise BadOrderOfWork(f"{at}: a pivot is worked by the farm itself, not by somebody hired.")
        if not 0 < step.custom_ac_per_h <= MOST_CUSTOM_AC_PER_H:
            raise BadOrderOfWork(
                f"{at}: {step.custom_ac_per_h} ac an hour; a pace is above 0 and at most {MOST_CUSTOM_AC_PER_H}."
            )


def _check_label(step: Step, at: str) -> None:
    if step.reentry_h is None:
        return
    if step.operation not in SPRAYING:
        raise BadOrderOfWork(f"{at}: only spraying has a label's hours, reentry_h.")
    if not 0 <= step.reentry_h <= MOST_REENTRY_H:
        raise BadOrderOfWork(
            f"{at}: the label keeps people out for {step.reentry_h} h; it is 0 to {MOST_REENTRY_H}."
        )


def _plain(season: Season, steps: Sequence[Step]) -> list[Planned]:
    turns: dict[str, int] = {}
    planned = []
    for number, step in enumerate(steps):
        turns[step.operation] = step.turn or turns.get(step.operation, 0) + 1
        area = step.area_ac if step.area_ac is not None else season.area_ac
        planned.append(replace(_work(step, turns[step.operation], "", area), step=number))
    return planned


def _under_a_pivot(
    season: Season, steps: Sequence[Step], pivot: Pivot, stands_at_deg: Decimal | None
) -> list[Planned]:
    bare = _until_planted(steps)
    strip = strip_ac(pivot)
    before_move: list[Planned] = []
    beside: list[Planned] = []
    strips: list[Planned] = []
    later: list[Planned] = []
    for number, (step, one) in enumerate(zip(steps, _plain(season, steps))):
        area = step.area_ac if step.area_ac is not None else season.area_ac
        order = beside if number < bare else later
        if number < bare and not step.is_split and not beside:
            order = before_move
        if step.operation == Operation.IRRIGATE:
            water = _water(step, one.turn, _watered_ac(step, season, pivot))
            order += [replace(each, step=number) for each in water]
        elif number < bare and step.is_split and strip < area and step.operation not in NO_IMPLEMENT:
            order.append(replace(_work(step, one.turn, "", area - strip, (area - strip) / area), step=number))
            strips.append(replace(_work(step, one.turn, STRIP, strip, strip / area), step=number))
        else:
            order.append(one)
    grounds = [step for step in steps[:bare] if step.is_split and step.operation not in NO_IMPLEMENT]
    out_deg = (
        UNKNOWN_WALK_DEG if stands_at_deg is None else _shorter_way(stands_at_deg, pivot.parking_angle_deg)
    )
    moves = iter(range(1, 4))  # out of the way, off the strip, back
    order = []
    if grounds and out_deg:
        order = _move(grounds[0] if before_move else steps[0], next(moves), out_deg)
    order = before_move + order + beside
    if strips:
        order += _move(grounds[-1], next(moves), pivot.strip_move_deg) + strips
        if any(step.operation == Operation.PLANT for step in grounds):
            order += _move(grounds[-1], next(moves), pivot.strip_move_deg)
    return order + later


def _until_planted(steps: Sequence[Step]) -> int:
    """Return how many steps there are up to the last planting; without one, all but irrigation turns at the end."""
    plantings = [number for number, step in enumerate(steps, start=1) if step.operation == Operation.PLANT]
    grounds = [number for number, step in enumerate(steps, start=1) if step.operation != Operation.IRRIGATE]
    return plantings[-1] if plantings else grounds[-1] if grounds else 0


def _watered_ac(step: Step, season: Season, pivot: Pivot) -> Decimal:
    if step.area_ac is not None:
        return step.area_ac
    circle = Decimal(str(circle_ac(radius_ft=float(pivot.last_tower_radius_ft)))).quantize(HUNDREDTH)
    return min(season.area_ac, circle)


def last_seen_deg(pivots: Iterable[Pivot]) -> dict[int, Decimal | None]:
    """Return where the newest sight of each pivot had it; a pivot that nobody saw is left out."""
    seen = PivotPlace.objects.filter(pivot__in=list(pivots)).order_by("seen_at", "id")
    return dict(seen.values_list("pivot_id", "angle_deg"))


def _shorter_way(here_deg: Decimal, there_deg: Decimal) -> Decimal:
    one_way = abs(there_deg - here_deg) % 360
    return min(one_way, 360 - one_way)


def _work(step: Step, turn: int, part: str, area_ac: Decimal, share: Decimal = Decimal(1)) -> Planned:
    """Return the pass of a step, or of a share of it: prices go by acres, but a strip is never worth forgetting."""
    leave = None if step.leave_cents is None else int((step.leave_cents * share).to_integral_value())
    if part == STRIP and leave is not None:
        leave = max(leave, STRIP_LEAVE_CENTS)
    facts: dict[str, object] = {
        "area_ac": area_ac,
        "due_on": step.due_on,
        "earliest_on": step.earliest_on,
        "late_cents_per_day": int((step.late_cents_per_day * share).to_integral_value()),
        "leave_cents": leave,
        "depth_in": step.depth_in,
        "custom_ac_per_h": step.custom_ac_per_h,
        "reentry_h": step.reentry_h,
    }
    return Planned(step.operation, turn, part, facts, step.min_gap_min, step.max_gap_min)


def _move(step: Step, turn: int, degrees: Decimal) -> list[Planned]:
    """Return start, walk and stop of one move; it may begin when the step it belongs to may."""

    def facts(leave_cents: int, walk: Decimal | None = None) -> dict[str, object]:
        return {
            "area_ac": Decimal(0),
            "earliest_on": step.earliest_on,
            "leave_cents": leave_cents,
            "pivot_degrees": walk,
        }

    return [
        Planned(Operation.PIVOT_START, turn, "", facts(0)),
        Planned(Operation.PIVOT_WALK, turn, "", facts(0, degrees), 0, WALK_AFTER_START_MIN),
        Planned(Operation.PIVOT_STOP, turn, "", facts(MOVE_LEAVE_CENTS), 0, STOP_AFTER_WALK_MIN),
    ]


def _water(step: Step, turn: int, area_ac: Decimal) -> list[Planned]:
    """Return start, water and stop of one irrigation turn."""
    visit: dict[str, object] = {"area_ac": Decimal(0), "earliest_on": step.earliest_on}
    start = visit | {"leave_cents": 0, "depth_in": step.depth_in}  # whoever starts it must know how wet
    stop = visit | {"leave_cents": MOVE_LEAVE_CENTS}
    water = _work(step, turn, "", area_ac).facts
    return [
        Planned(Operation.PIVOT_START, turn, WATER, start, step.min_gap_min, step.max_gap_min),
        Planned(Operation.IRRIGATE, turn, "", water, 0, WALK_AFTER_START_MIN),
        Planned(Operation.PIVOT_STOP, turn, WATER, stop, 0, LOOK_AFTER_TURN_MIN),
    ]
