"""A report of a hand's day: when it started and stopped, hours offered and worked, why fewer, and which passes."""

import datetime as dt
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass, FieldReport, WorkDay
from scheduling.services.record_rules import DAY_MIN, FIRST_YEAR
from scheduling.services.refusals import BadRecord, HoursOverlap, NotThisFarm, Over24Hours
from scheduling.services.report_body import BodyReader
from scheduling.services.report_takes import at_clock, refuse_ahead, refuse_long_ago

LONGEST_DAY_MIN = (
    18 * 60
)  # farm judgement: a day that seems longer has its start and stop the wrong way round


def take_day(
    *,
    farm: Farm,
    hand: Hand,
    report: FieldReport,
    body: dict[str, Any],
    now: dt.datetime,
    sent_by: User | None,
) -> None:
    """Keep a hand's day. A stop at or before the start lies on the next day of the farm's clock.

    With a start alone the day is begun; a later report with the stop takes its place. Worked are the minutes between
    start and stop less the break, by the instants, so that a night in which the clock changes is as long as it was.
    """
    read = BodyReader(body, farm.zone)
    work_on = read.day("work_on")
    starts, ends = read.clock_if_any("starts"), read.clock_if_any("ends")
    break_min = read.whole_if_any("break_minutes", most=DAY_MIN) or 0
    offered_h, worked_h = read.number_if_any("offered_hours"), read.number_if_any("worked_hours")
    why_fewer = read.text("why_fewer", most=200)
    passes = read.wholes("passes")
    read.finish()
    Hand.objects.select_for_update().get(pk=hand.pk)  # two reports of one hand wait for each other
    _refuse_other_passes(farm, passes)
    _refuse_odd_day(farm, work_on, now)
    begun = _begun(hand, work_on) if ends is not None or worked_h is not None else None
    starts_at = (
        at_clock(farm, work_on, starts) if starts is not None else (begun.starts_at if begun else None)
    )
    ends_at = None if ends is None else _end(farm, work_on, starts_at, ends)
    worked_min = _worked(starts_at, ends_at, break_min, worked_h)
    row = WorkDay(
        farm=farm,
        client_id=report.client_id,
        hand=hand,
        work_on=work_on,
        starts_at=starts_at,
        ends_at=ends_at,
        break_min=break_min,
        offered_min=None if offered_h is None else _minutes(offered_h),
        worked_min=worked_min,
        why_fewer=why_fewer,
        supersedes=begun,
        recorded_by=sent_by,
        recorded_at=now,
    )
    _refuse_a_long_day(row)
    row.save()


def doubt_day(*, farm: Farm, hand: Hand, report: FieldReport, body: dict[str, Any], now: dt.datetime) -> None:
    """Doubt a day long ago, one that is too long to be meant, and hours that lie over others of the same hand."""
    kept = WorkDay.objects.get(farm=farm, client_id=report.client_id)
    refuse_long_ago(farm, kept.work_on, now)
    if kept.starts_at is None or kept.ends_at is None:
        return
    span_min = (kept.ends_at - kept.starts_at) // dt.timedelta(minutes=1)
    if span_min > LONGEST_DAY_MIN:
        raise BadRecord(
            _("From start to stop it is {hours} h; is the stop before the start?").format(
                hours=f"{span_min / 60:.1f}"
            ),
            fields={"ends": "before the start"},
        )
    refuse_ahead(kept.ends_at, now, name="ends")
    if kept.worked_min > span_min:
        raise BadRecord(
            _("{worked} h worked from start to stop, which are {span} h apart.").format(
                worked=f"{kept.worked_min / 60:.1f}", span=f"{span_min / 60:.1f}"
            ),
            fields={"worked_hours": "more than from start to stop"},
        )
    over = WorkDay.objects.filter(
        hand=hand, superseded_by__isnull=True, starts_at__lt=kept.ends_at, ends_at__gt=kept.starts_at
    ).exclude(pk=kept.pk)
    if over.exists():
        raise HoursOverlap(
            _("{hand} reported the same hours of {day} before.").format(hand=hand.name, day=kept.work_on),
            fields={"starts": "overlaps"},
            facts={"day": kept.work_on},
        )


def _begun(hand: Hand, work_on: dt.date) -> WorkDay | None:
    """Return the day that was begun and not ended."""
    rows = WorkDay.objects.filter(
        hand=hand, work_on=work_on, superseded_by__isnull=True, ends_at__isnull=True
    )
    return rows.filter(starts_at__isnull=False, worked_min=0).order_by("-id").first()


def _end(farm: Farm, work_on: dt.date, starts_at: dt.datetime | None, ends: dt.time) -> dt.datetime:
    ends_at = at_clock(farm, work_on, ends)
    if starts_at is not None and ends_at <= starts_at:
        return at_clock(farm, work_on + dt.timedelta(days=1), ends)
    return ends_at


def _worked(
    starts_at: dt.datetime | None, ends_at: dt.datetime | None, break_min: int, worked_h: Decimal | None
) -> int:
    if worked_h is not None:
        return _minutes(worked_h)
    if starts_at is None:
        raise BadRecord(_("The day has no start, and no hours worked."), fields={"starts": "is missing"})
    if ends_at is None:
        return 0
    span_min = (ends_at.astimezone(dt.UTC) - starts_at.astimezone(dt.UTC)) // dt.timedelta(minutes=1)
    if break_min > span_min:
        raise BadRecord(
            _("A break of {minutes} minutes is longer than the day.").format(minutes=break_min),
            fields={"break_minutes": "too long"},
        )
    return span_min - break_min


def _minutes(hours: Decimal) -> int:
    return int((hours * 60).to_integral_value(rounding=ROUND_HALF_UP))


def _refuse_odd_day(farm: Farm, work_on: dt.date, now: dt.datetime) -> None:
    if work_on > local_date(now, farm.zone):
        raise BadRecord(
            _("{day} has not come yet at the farm.").format(day=work_on), fields={"work_on": "in the future"}
        )
    if work_on.year < FIRST_YEAR:
        raise BadRecord(
            _("{day}: is the year right?").format(day=work_on), fields={"work_on": f"before {FIRST_YEAR}"}
        )


def _refuse_a_long_day(row: WorkDay) -> None:
    others = WorkDay.objects.filter(hand=row.hand, work_on=row.work_on, superseded_by__isnull=True)
    if row.supersedes is not None:
        others = others.exclude(pk=row.supersedes.pk)
    before_min = sum(others.values_list("worked_min", flat=True))
    for name, minutes in (("worked", before_min + row.worked_min), ("offered", row.offered_min or 0)):
        if minutes > DAY_MIN:
            raise Over24Hours(
                (
                    _("{hand} would have {hours} h worked on {day}; a day has 24.")
                    if name == "worked"
                    else _("{hand} would have {hours} h offered on {day}; a day has 24.")
                ).format(hand=row.hand.name, hours=f"{minutes / 60:.1f}", day=row.work_on),
                fields={f"{name}_hours": "over 24 hours"},
                facts={"day": row.work_on, "day_h": Decimal(minutes) / 60},
            )


def _refuse_other_passes(farm: Farm, passes: list[int]) -> None:
    known = set(FieldPass.objects.filter(farm=farm, pk__in=passes).values_list("pk", flat=True))
    unknown = sorted(set(passes) - known)
    if unknown:
        raise NotThisFarm(
            _("{farm} has no pass {number}.").format(farm=farm.name, number=unknown[0]),
            fields={"passes": "not known"},
        )
