"""What came to be known since a plan was laid out, and which of its jobs lie in hours that are shut by now."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Max, Model, Q

from farmops.core.clock import local_date
from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, ForecastIssue, GaugeReading, SoilReading
from scheduling.models import (
    FieldReport,
    LimitChoice,
    ParkedState,
    PivotPlace,
    Remark,
    SaySo,
    Spraying,
    Watering,
    WeekPlan,
    WorkRecord,
)
from scheduling.selectors.ground_marks import farm_mark
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.out_now import out_now
from scheduling.selectors.passes import OPEN_STATES, open_passes, pass_key
from scheduling.selectors.plan_documents import digest_of
from scheduling.selectors.plans import tasks_of_plan, worked_hours
from scheduling.selectors.speaking import speaking
from scheduling.selectors.windows import pass_windows
from scheduling.selectors.worked_out import worked_out

LAID_AT = "laid_at"
"""Under this name the limits of a plan that came of another's problem tell when that was laid out."""
WEATHER = "weather"
"""Under this name the limits of a plan tell what weather was in when it was laid out: `weather_in`."""
SOME_MIN = 60
"""Farm judgement: less of a job than this in shut hours is the edge of a morning, no news."""
WRITTEN = (
    (GaugeReading, "recorded_at"),
    (SoilReading, "recorded_at"),
    (SaySo, "said_at"),
    (Remark, "recorded_at"),
    (PivotPlace, "recorded_at"),
    (Watering, "recorded_at"),
    (Spraying, "recorded_at"),
    (WorkRecord, "recorded_at"),
)

_Asked = tuple[type[Model], Mapping[str, Any]]


@dataclass(frozen=True)
class Broken:
    """A job of a plan that cannot be as planned by what is known now: its id, when it begins, and why, in words."""

    task: str
    starts_at: dt.datetime
    why: str


def laid_at(*, plan: WeekPlan) -> dt.datetime:
    """Return when the problem of a plan was laid out: a plan that a move made has that of the plan before."""
    told = plan.limits.get(LAID_AT)
    return dt.datetime.fromisoformat(told) if told else plan.made_at


def weather_in(*, farm: Farm) -> dict[str, Any]:
    """Return what weather of a farm is in: its last day, and when the newest forecast was issued, as text or None.

    Of neither is it kept when it came in.
    """
    day = DailyWeather.objects.filter(farm=farm).aggregate(last=Max("day"))["last"]
    issued_at = ForecastIssue.objects.filter(farm=farm).aggregate(last=Max("issued_at"))["last"]
    return {"to": day and day.isoformat(), "forecast": issued_at and issued_at.isoformat()}


def is_news(*, plan: WeekPlan) -> bool:
    """Say whether weather, readings, words on fields or reports came in since a plan was laid out; one query."""
    since = laid_at(plan=plan)
    # Plans of older versions do not tell: of them, what is of a later day or hour is newer.
    known = plan.limits.get(WEATHER, {"to": local_date(since, plan.farm.zone), "forecast": since})
    newer: list[_Asked] = [(model, {f"{at}__gt": since}) for model, at in WRITTEN]
    newer.append((DailyWeather, {"day__gt": known["to"]} if known["to"] else {}))
    newer.append((ForecastIssue, {"issued_at__gt": known["forecast"]} if known["forecast"] else {}))
    return _is_any(plan, newer)


def _may_be_shut(plan: WeekPlan) -> bool:
    """Say whether without news hours may be shut that were open: by limits, waiting reports, or a word that is taken back."""
    since = laid_at(plan=plan)
    first = local_date(plan.starts_at, plan.farm.zone)
    days = first, first + dt.timedelta(days=plan.days)
    asked: list[_Asked] = [
        (LimitChoice, {"set_at__gt": since}),
        (FieldReport, {"received_at__gt": since, "parked__state": ParkedState.WAITING}),
        (SaySo, {"is_taken_back": True, "said_at__lte": since, "day__range": days}),
    ]
    return _is_any(plan, asked)


def _is_any(plan: WeekPlan, asked: Iterable[_Asked]) -> bool:
    rows = [
        model._default_manager.filter(farm=plan.farm_id, **how).order_by().values("farm_id")
        for model, how in asked
    ]
    return rows[0].union(*rows[1:]).exists()


def broken_jobs(
    *, plan: WeekPlan, not_before: dt.datetime, as_of: dt.date, is_newer: bool | None = None
) -> list[Broken]:
    """Return the jobs of a plan, from an instant on, that lie in hours shut by now, or have somebody away or something down.

    `as_of` is the last day whose weather is known. An hour counts where it was open when the plan was laid out.
    `is_newer` is what `is_news` says of the plan, where the caller knows it already.
    """
    is_newer = is_news(plan=plan) if is_newer is None else is_newer
    out = out_now(farm=plan.farm)
    lacking = (
        Q(hand__in=out.away) | Q(machine__down_until__gt=not_before) | Q(implement__down_until__gt=not_before)
    )
    coming = tasks_of_plan(plan=plan).filter(
        lacking, ends_at__gt=not_before, field_pass__state__in=OPEN_STATES
    )
    found = [
        Broken(task.task_key, task.starts_at, why)
        for task in coming
        if (why := out.said(task, _from(not_before, worked_hours(plan=plan, task=task))))
    ]
    if is_newer or _may_be_shut(plan):
        found += _shut_since(plan, not_before, as_of)
    whys: dict[tuple[dt.datetime, str], list[str]] = defaultdict(list)
    for one in found:
        whys[one.starts_at, one.task].append(one.why)
    return [Broken(task, at, "; ".join(of_job)) for (at, task), of_job in sorted(whys.items())]


def _from(
    not_before: dt.datetime, worked: Iterable[tuple[dt.datetime, dt.datetime]]
) -> list[tuple[dt.datetime, dt.datetime]]:
    return [(max(begins, not_before), ends) for begins, ends in worked if ends > not_before]


def _shut_since(plan: WeekPlan, not_before: dt.datetime, as_of: dt.date) -> list[Broken]:
    horizon = Horizon(plan.starts_at, plan.farm.zone, plan.days)
    from_min = max(0, horizon.after(not_before))
    words = SaySo.objects.filter(farm=plan.farm_id)
    said = words.aggregate(last=Max("pk"), back=Count("pk", filter=Q(is_taken_back=True)))
    mark = farm_mark(farm=plan.farm, day=local_date(not_before, plan.farm.zone), as_of=as_of)
    # Within an hour the same jobs are to come, near enough.
    made_from = [digest_of(plan=plan), mark, said, from_min // 60]
    told = worked_out("shut-since-1", made_from, lambda: {"jobs": _shut_jobs(plan, from_min, as_of)})
    return [Broken(task, horizon.at(begins), whys[speaking()]) for task, begins, whys in told["jobs"]]


def _shut_jobs(plan: WeekPlan, from_min: int, as_of: dt.date) -> list[tuple[str, int, dict[str, str]]]:
    """Return id, first minute and reason of the jobs of which an hour was open and is shut now."""
    coming = [row for row in plan.plan.get("tasks", []) if row["to"] > from_min]
    keys = {row["id"].partition("#")[0] for row in coming}
    passes = [one for one in open_passes(farm=plan.farm) if pass_key(one) in keys]
    if not passes:
        return []
    known = {one["pass"]: one["shut"] for one in plan.windows.get("passes", [])}
    fields = list({one.season.field_id: one.season.field for one in passes}.values())
    try:
        report = pass_windows(
            farm=plan.farm,
            passes=passes,
            starts_at=plan.starts_at,
            days=plan.days,
            as_of=as_of,
            fields=fields,
        )
    except DomainError:
        return []  # without weather or soil nothing can be judged, and no plan can be made
    shut_now = {pass_key(one): report.of(pass_key(one)).shut for one in passes}
    found = []
    for row in coming:
        key = row["id"].partition("#")[0]
        begins, ends = max(row["from"], from_min), row["to"]
        for stretch in shut_now.get(key, ()):
            part = (max(begins, stretch.from_min), min(ends, stretch.to_min))
            if _minutes_open(part, known.get(key, ())) >= SOME_MIN:
                found.append((row["id"], row["from"], {"en": stretch.says_en, "es": stretch.says_es}))
                break
    return found


def _minutes_open(part: tuple[int, int], shut: Sequence[Mapping[str, Any]]) -> int:
    """Return how many minutes of a stretch are in none of those that were shut."""
    begins, ends = part
    if ends <= begins:
        return 0
    closed = sum(max(0, min(ends, one["to"]) - max(begins, one["from"])) for one in shut)
    return ends - begins - closed
