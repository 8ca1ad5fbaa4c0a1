"""A hand's day, as plain data."""

import datetime as dt
import uuid
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Hand
from farmops.farms.operations import PIVOT_MOVES, WORDS, Operation
from farmops.pages import phrases, words
from farmops.pages.board import worked_by_day
from scheduling.models import PlannedTask, WorkRecord
from scheduling.selectors.plans import current_plan, tasks_of_hand, tasks_of_plan


def day_of(*, farm: Farm, hand: Hand, today: dt.date) -> dt.date:
    """Return today if the hand has work then, else the next day with work, else the last one, else today."""
    days = _days_with_work(farm, hand)
    later = [day for day in days if day >= today]
    return later[0] if later else days[-1] if days else today


def _days_with_work(farm: Farm, hand: Hand) -> list[dt.date]:
    plan = current_plan(farm=farm)
    if plan is None or plan.sent_at is None:
        return []
    zone = ZoneInfo(farm.zone)
    return sorted(
        {
            task.starts_at.astimezone(zone).date()
            for task in tasks_of_plan(plan=plan)
            if task.hand_id == hand.pk
        }
    )


def day_facts(*, farm: Farm, hand: Hand, day: dt.date) -> dict[str, Any]:
    """Return all that the hand's page shows for a day."""
    language = hand.language
    said = phrases.phrases(language)
    zone = ZoneInfo(farm.zone)
    tasks = list(tasks_of_hand(farm=farm, hand=hand, day=day))
    reported = set(
        WorkRecord.objects.filter(farm=farm, hand=hand, work_on=day).values_list("field_pass_id", flat=True)
    )
    rows = [_task(task, day, zone, language, task.field_pass_id in reported) for task in tasks]
    rows.sort(key=lambda row: row["order"])
    headline = f"{said['first']} {rows[0]['field']}: {rows[0]['work']}." if rows else said["nothing"]
    kinds = {"pivot" if task.operation in PIVOT_MOVES else "field" for task in tasks}
    return {
        "say": said,
        "language": language,
        "hand": hand,
        "day": day,
        "day_said": words.long_date(day, language),
        "headline": headline,
        "tasks": rows,
        "checks": [
            one for kind in sorted(kinds) for one in phrases.said_list(phrases.CHECKS[kind], language)
        ],
        "cautions": [
            one for kind in sorted(kinds) for one in phrases.said_list(phrases.CAUTIONS[kind], language)
        ],
        "other_days": [
            (one, words.long_date(one, language)) for one in _days_with_work(farm, hand) if one != day
        ],
    }


def _task(
    task: PlannedTask, day: dt.date, zone: ZoneInfo, language: str, is_reported: bool
) -> dict[str, Any]:
    worked = worked_by_day(task.plan, task, zone)[day]
    begins, ends = worked[0][0], worked[-1][1]
    spoken = WORDS[Operation(task.operation)]
    outfit = [str(part) for part in (task.machine, task.implement) if part]
    field = task.field
    return {
        "order": begins,
        "pass_id": task.field_pass_id,
        "field": field.name,
        "work": spoken.spanish if language == "es" else spoken.english,
        "begins": words.clock(begins),
        "ends": words.clock(ends),
        "outfit": " + ".join(outfit),
        "acres": task.area_ac,
        "entrance": field.entrance,
        "road_address": field.road_address,
        "place": f"{field.latitude_deg:.5f}, {field.longitude_deg:.5f}",
        "hours": f"{sum((end - begin).total_seconds() for begin, end in worked) / 3600:.1f}",
        "has_machine": task.machine_id is not None,
        "is_reported": is_reported,
        "client_id": uuid.uuid4(),
    }
