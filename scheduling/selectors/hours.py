"""Hours of hands by day: offered, worked, and why fewer.

What an employer keeps of each day, for hands under a contract that guarantees hours: those offered and those worked,
when the day began and ended, and why fewer were worked than offered (20 CFR 655.122(j)); kept three years, as are the
hours of seasonal hands (29 CFR 500.80). Whoever runs the payroll has the last word.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.db.models.functions import TruncDate

from farmops.core.clock import local_date
from farmops.farms.models import Farm, Hand, HandAway, Shift
from scheduling.models import (
    ParkedReport,
    ParkedState,
    PlannedCare,
    PlannedTask,
    ReportKind,
    WorkDay,
    WorkRecord,
)
from scheduling.selectors.care import standing_care
from scheduling.selectors.plans import plans_of_days

SHIFT_SLACK_MIN = 15
"""Farm judgement: a quarter of an hour less than a shift, where nobody stated the offer, is how a day is told."""
HOURS_KINDS = (ReportKind.WORK, ReportKind.DAY)


class Offer(StrEnum):
    """Where the hours offered come from."""

    STATED = "stated"
    SHIFT = "shift"
    NONE = "none"


@dataclass(frozen=True)
class HandDay:
    """One day of a hand. `on_work_min` is what passes and services add up to, whatever the hand says of the day.

    Without a report of the day (`is_reported` false), or while it is begun and not ended, the hours worked are those of
    the work. `is_over` is false today and after. `is_planned` is whether the plan of the day had anything for the hand. `offered_min` is what was
    stated, or the regular hours of the shift; `waiting` counts the reports of that day that wait for the manager.
    """

    day: dt.date
    starts_at: dt.datetime | None
    ends_at: dt.datetime | None
    break_min: int
    offered_min: int
    offer: Offer
    worked_min: int
    on_work_min: int
    is_reported: bool
    is_over: bool
    why_fewer: str
    waiting: int = 0
    is_planned: bool = False

    @property
    def fewer_min(self) -> int:
        """Return by how many minutes less was worked than was offered."""
        return max(0, self.offered_min - self.worked_min)

    @property
    def lacks_reason(self) -> bool:
        """Return whether fewer hours were worked on a day that is over, and nothing says why.

        A day of which nothing was planned and nothing reported asks nobody for a reason.
        """
        slack_min = SHIFT_SLACK_MIN if self.offer == Offer.SHIFT else 0
        was_work = self.is_planned or self.is_reported or self.on_work_min > 0
        return was_work and self.is_over and self.fewer_min > slack_min and not self.why_fewer

    @property
    def is_empty(self) -> bool:
        """Return whether there is nothing to say of the day."""
        return not (self.offered_min or self.worked_min or self.is_reported or self.waiting)


@dataclass(frozen=True)
class HandHours:
    """A hand's days, one after the other, and what they add up to."""

    hand: Hand
    days: list[HandDay] = field(default_factory=list)

    @property
    def offered_min(self) -> int:
        """Return the minutes offered in all."""
        return sum(one.offered_min for one in self.days)

    @property
    def worked_min(self) -> int:
        """Return the minutes worked in all."""
        return sum(one.worked_min for one in self.days)

    @property
    def waiting(self) -> int:
        """Return how many reports of these days wait for the manager."""
        return sum(one.waiting for one in self.days)


def standing_days(*, farm: Farm) -> QuerySet[WorkDay]:
    """Return the reported days that no newer one corrects."""
    return WorkDay.objects.filter(farm=farm, superseded_by__isnull=True)


def hours_of_days(
    *, farm: Farm, first_on: dt.date, last_on: dt.date, today: dt.date, only: Hand | None = None
) -> list[HandHours]:
    """Return the days from the first to the last of every hand who works or worked in them; a fixed number of queries.

    With `only` those of that hand. Days after `today` have no hours offered yet. A day away is a day without an offer, and
    nobody offers hours to the owner.
    """
    days = [first_on + dt.timedelta(days=at) for at in range((last_on - first_on).days + 1)]
    facts = _facts(farm, first_on, last_on, only)
    found = []
    for hand in Hand.objects.filter(farm=farm).order_by("code") if only is None else [only]:
        of_hand = [_day(hand, day, facts, today) for day in days]
        if hand.works or any(not one.is_empty for one in of_hand):
            found.append(HandHours(hand, of_hand))
    return found


Key = tuple[int, dt.date]


@dataclass(frozen=True)
class _Facts:
    reported: Mapping[Key, Sequence[WorkDay]]
    on_work_min: Mapping[Key, int]
    shift_min: Mapping[tuple[int, int], int]
    away: Mapping[int, Sequence[HandAway]]
    waiting: Mapping[tuple[int, str], int]
    planned: frozenset[Key]


def _facts(farm: Farm, first_on: dt.date, last_on: dt.date, only: Hand | None) -> _Facts:
    span = (first_on, last_on)
    mine = {} if only is None else {"hand": only}
    reported: dict[Key, list[WorkDay]] = defaultdict(list)
    for row in standing_days(farm=farm).filter(work_on__range=span, **mine).order_by("starts_at", "id"):
        reported[row.hand_id, row.work_on].append(row)
    on_work: dict[Key, int] = defaultdict(int)
    work = WorkRecord.objects.filter(farm=farm, superseded_by__isnull=True, work_on__range=span, **mine)
    for hand_id, day, minutes in work.order_by().values_list("hand_id", "work_on", "hand_min"):
        on_work[hand_id, day] += minutes
    for hand_id, day, minutes in _service_min(farm, span):
        on_work[hand_id, day] += minutes
    shift_min: dict[tuple[int, int], int] = defaultdict(int)
    shifts = Shift.objects.filter(farm=farm, is_overtime=False, **mine).order_by()
    for hand_id, weekday, starts_at, ends_at in shifts.values_list(
        "hand_id", "weekday", "starts_at", "ends_at"
    ):
        shift_min[hand_id, weekday] += _minutes(starts_at, ends_at)
    away: dict[int, list[HandAway]] = defaultdict(list)
    for one in HandAway.objects.filter(farm=farm, first_on__lte=last_on, last_on__gte=first_on, **mine):
        away[one.hand_id].append(one)
    waiting: dict[tuple[int, str], int] = defaultdict(int)
    parked = ParkedReport.objects.filter(
        farm=farm, state=ParkedState.WAITING, report__kind__in=HOURS_KINDS
    ).select_related("report")
    for one_parked in parked:
        report = one_parked.report
        waiting[report.hand_id, str(report.body.get("work_on"))] += 1
    return _Facts(reported, on_work, shift_min, away, waiting, _planned(farm, first_on, last_on, mine))


def _planned(farm: Farm, first_on: dt.date, last_on: dt.date, mine: Mapping[str, Hand]) -> frozenset[Key]:
    """Return for which hands the plans of these days held work or service on which day, from its first to its last."""
    days = [first_on + dt.timedelta(days=at) for at in range((last_on - first_on).days + 1)]
    plans = plans_of_days(farm=farm, days=days)
    ruled: dict[int, list[dt.date]] = defaultdict(list)
    for day, plan in plans.items():
        if plan is not None:
            ruled[plan.pk].append(day)
    found: set[Key] = set()
    zone = ZoneInfo(farm.zone)
    for table in (PlannedTask, PlannedCare):
        rows = table.objects.filter(plan__in=list(ruled), hand__isnull=False, **mine).order_by()
        spans = rows.annotate(
            first=TruncDate("starts_at", tzinfo=zone), last=TruncDate("ends_at", tzinfo=zone)
        )
        for plan_id, hand_id, first, last in spans.values_list(
            "plan_id", "hand_id", "first", "last"
        ).distinct():
            found.update((hand_id, day) for day in ruled[plan_id] if first <= day <= last)
    return frozenset(found)


def _service_min(farm: Farm, span: tuple[dt.date, dt.date]) -> Iterable[tuple[int, dt.date, int]]:
    slack = dt.timedelta(days=2)
    between = (
        dt.datetime.combine(span[0] - slack, dt.time(), tzinfo=dt.UTC),
        dt.datetime.combine(span[1] + slack, dt.time(), tzinfo=dt.UTC),
    )
    rows = standing_care(farm=farm).filter(hand__isnull=False, done_at__range=between)
    for hand_id, done_at, minutes in rows.order_by().values_list("hand_id", "done_at", "hand_min"):
        day = local_date(done_at, farm.zone)
        if span[0] <= day <= span[1]:
            yield hand_id, day, minutes


def _minutes(starts: dt.time, ends: dt.time) -> int:
    return (ends.hour - starts.hour) * 60 + ends.minute - starts.minute


def _day(hand: Hand, day: dt.date, facts: _Facts, today: dt.date) -> HandDay:
    hand_id = hand.pk
    key = (hand_id, day)
    rows = facts.reported.get(key)
    told = NOTHING_TOLD if rows is None else _Told.of(rows)
    on_work_min = facts.on_work_min.get(key, 0)
    aways = facts.away.get(hand_id)
    away = next((one for one in aways if one.first_on <= day <= one.last_on), None) if aways else None
    if told.offered_min is not None:
        offered_min, offer = told.offered_min, Offer.STATED
    else:
        offered_min = 0 if away is not None or day > today else _by_shift(hand, day, facts)
        offer = Offer.SHIFT if offered_min else Offer.NONE
    why = told.why_fewer
    if not why and away is not None:
        why = f"away: {away.why}" if away.why else "away"
    return HandDay(
        day=day,
        starts_at=told.starts_at,
        ends_at=told.ends_at,
        break_min=told.break_min,
        offered_min=offered_min,
        offer=offer,
        worked_min=max(told.worked_min, on_work_min) if told.is_open else told.worked_min,
        on_work_min=on_work_min,
        is_reported=told.is_reported,
        is_over=day < today,
        why_fewer=why,
        waiting=facts.waiting.get((hand_id, day.isoformat()), 0) if facts.waiting else 0,
        is_planned=key in facts.planned,
    )


class _Told(NamedTuple):
    """What the reports of a day say together; `is_open` is whether any of them is begun and not ended, or none is there."""

    starts_at: dt.datetime | None
    ends_at: dt.datetime | None
    break_min: int
    worked_min: int
    offered_min: int | None
    why_fewer: str
    is_reported: bool
    is_open: bool

    @classmethod
    def of(cls, rows: Sequence[WorkDay]) -> "_Told":
        of_hours = [row for row in rows if _tells_hours(row)]
        stated = [row.offered_min for row in rows if row.offered_min is not None]
        return cls(
            starts_at=min((row.starts_at for row in rows if row.starts_at is not None), default=None),
            ends_at=max((row.ends_at for row in rows if row.ends_at is not None), default=None),
            break_min=sum(row.break_min for row in rows),
            worked_min=sum(row.worked_min for row in of_hours),
            offered_min=sum(stated) if stated else None,
            why_fewer="; ".join(dict.fromkeys(row.why_fewer for row in rows if row.why_fewer)),
            is_reported=bool(of_hours),
            is_open=not of_hours or any(row.ends_at is None and not row.worked_min for row in of_hours),
        )


NOTHING_TOLD = _Told.of(())


def _tells_hours(row: WorkDay) -> bool:
    """Return whether a row is more than the reason that the office gave for a day that nobody reported."""
    return row.starts_at is not None or row.worked_min > 0 or row.offered_min is not None


def _by_shift(hand: Hand, day: dt.date, facts: _Facts) -> int:
    """Return the minutes of the regular shift of a day, none of the owner or of a hand who was not employed yet."""
    is_employed = hand.works and not hand.is_owner and (hand.started_on is None or hand.started_on <= day)
    return facts.shift_min.get((hand.pk, day.weekday()), 0) if is_employed else 0
