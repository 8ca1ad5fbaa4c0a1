"""A hand's day, as plain data."""

import datetime as dt
import uuid
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import CarePlace, Farm, Hand
from farmops.farms.operations import HARVEST, NO_IMPLEMENT, PIVOT_MOVES, SPRAYING, WORDS, Operation
from farmops.pages import phrases, words
from scheduling.models import PlannedTask, WorkRecord
from scheduling.selectors.care import standing_care
from scheduling.selectors.plans import (
    care_of_hand,
    care_of_plan,
    current_plan,
    tasks_of_hand,
    tasks_of_plan,
    worked_by_day,
)

ALL_OF_IT = "all"


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
    begins = [task.starts_at for task in tasks_of_plan(plan=plan) if task.hand_id == hand.pk]
    begins += [stop.starts_at for stop in care_of_plan(plan=plan) if stop.hand_id == hand.pk]
    return sorted({at.astimezone(zone).date() for at in begins})


def day_facts(*, farm: Farm, hand: Hand, day: dt.date) -> dict[str, Any]:
    """Return all that the hand's page shows for a day."""
    language = hand.language
    said = phrases.phrases(language)
    tasks = list(tasks_of_hand(farm=farm, hand=hand, day=day))
    reported = set(
        WorkRecord.objects.filter(farm=farm, hand=hand, work_on=day).values_list("field_pass_id", flat=True)
    )
    rows = [_task(task, day, said, language, task.field_pass_id in reported) for task in tasks]
    rows.sort(key=lambda row: row["order"])
    stops = _stops(farm, hand, day, said)
    kinds = {kind for task in tasks for kind in _kinds(Operation(task.operation))}
    kinds |= {"service"} if stops else set()
    return {
        "say": said,
        "language": language,
        "hand": hand,
        "day": day,
        "day_said": words.long_date(day, language),
        "headline": _headline(rows, stops, said),
        "tasks": rows,
        "stops": stops,
        "checks": [
            one for kind in sorted(kinds) for one in phrases.said_list(phrases.CHECKS.get(kind, []), language)
        ],
        "cautions": [
            one for kind in sorted(kinds) for one in phrases.said_list(phrases.CAUTIONS[kind], language)
        ],
        "other_days": [
            (one, words.long_date(one, language)) for one in _days_with_work(farm, hand) if one != day
        ],
    }


def _headline(tasks: list[dict[str, Any]], stops: list[dict[str, Any]], said: dict[str, str]) -> str:
    """Return what comes first of all that is not reported, else of all."""
    ahead = [row for row in (*tasks, *stops) if not row["is_reported"]] or [*tasks, *stops]
    if not ahead:
        return said["nothing"]
    first = min(ahead, key=lambda row: row["order"])
    return said["first_service" if "what" in first else "first"].format(**first).rstrip(".") + "."


def _stops(farm: Farm, hand: Hand, day: dt.date, said: dict[str, str]) -> list[dict[str, Any]]:
    """Return the service stops of a hand's day; one is done where the service was kept since the plan began."""
    zone, rows = ZoneInfo(farm.zone), []
    stops = care_of_hand(farm=farm, hand=hand, day=day)
    done = standing_care(farm=farm).filter(rule__in={stop.rule_id for stop in stops})
    done_at = {row.rule_id: row.done_at for row in done.order_by("done_at")}
    for stop in stops:
        begins, ends = stop.starts_at.astimezone(zone), stop.ends_at.astimezone(zone)
        what = stop.rule.what_es if hand.language == "es" and stop.rule.what_es else stop.rule.what
        is_done = stop.rule_id in done_at and done_at[stop.rule_id] >= stop.plan.starts_at
        rows.append(
            {
                "order": begins,
                "stop_id": stop.pk,
                "what": what,
                "tool": str(stop.machine or stop.implement or ""),
                "begins": words.clock(begins, hand.language),
                "ends": words.clock(ends, hand.language),
                "place": said["at_yard" if stop.rule.place == CarePlace.YARD else "where_it_stands"],
                "minutes": stop.work_min,
                "has_meter": stop.machine_id is not None,
                "is_reported": is_done,
            }
        )
    return rows


def _kinds(operation: Operation) -> tuple[str, ...]:
    """Return what kinds of checks and cautions a work calls for."""
    if operation in PIVOT_MOVES:
        return ("pivot",)
    if operation is Operation.DEBRIS_WALK:
        return ("foot",)
    if operation in SPRAYING:
        return ("field", "spray")
    return ("field", "harvest") if operation in HARVEST else ("field",)


def _task(
    task: PlannedTask, day: dt.date, said: dict[str, str], language: str, is_reported: bool
) -> dict[str, Any]:
    days = worked_by_day(plan=task.plan, task=task)
    worked = days[day]
    today_s, all_s = _seconds(worked), sum(_seconds(one) for one in days.values())
    begins, ends = worked[0][0], worked[-1][1]
    spoken = WORDS[Operation(task.operation)]
    field = task.field
    return {
        "order": begins,
        "pass_id": task.field_pass_id,
        "field": field.name,
        "work": spoken.spanish if language == "es" else spoken.english,
        "begins": words.clock(begins, language),
        "ends": words.clock(ends, language),
        "outfit": _outfit(task, said),
        "acres": f"{task.area_ac * round(today_s) / round(all_s):.1f}" if task.area_ac else "",
        "part": _part(task, said),
        "entrance": field.entrance,
        "road_address": field.road_address,
        "place": f"{field.latitude_deg:.5f}, {field.longitude_deg:.5f}",
        "hours": f"{today_s / 3600:.1f}",
        "has_machine": task.machine_id is not None,
        "wet_choices": _wet_choices(task, said),
        "is_reported": is_reported,
        "client_id": uuid.uuid4(),
    }


def _wet_choices(task: PlannedTask, said: dict[str, str]) -> list[tuple[str, str]]:
    """Return where the ground may have been too wet: all of it, or a zone; nothing for work that no ground bears."""
    if Operation(task.operation) in NO_IMPLEMENT:
        return []
    zones = list(task.field.zones.all())
    named = [(str(zone.pk), zone.name) for zone in zones] if len(zones) > 1 else []
    return [(ALL_OF_IT, said["all_of_it"]), *named]


def _seconds(stretches: list[tuple[dt.datetime, dt.datetime]]) -> float:
    return sum((end - begin).total_seconds() for begin, end in stretches)


def _outfit(task: PlannedTask, said: dict[str, str]) -> str:
    names = [part.name for part in (task.machine, task.implement) if part]
    if not names:
        return ""
    both = said["hitch"].format(machine=names[0], implement=names[1]) if len(names) > 1 else names[0]
    return said["with"].format(outfit=both)


def _part(task: PlannedTask, said: dict[str, str]) -> str:
    parts = [said["part"].format(number=task.part_no, count=task.part_count)] if task.part_count > 1 else []
    depth_in = task.field_pass.depth_in
    if depth_in is not None:
        parts.append(said["with_water"].format(depth=f"{depth_in.normalize():f}"))
    return ", ".join(parts + ([said["strip"]] if task.field_pass.part == "strip" else []))
