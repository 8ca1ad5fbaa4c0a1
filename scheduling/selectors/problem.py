"""The planning problem of a farm's week, built from its records.

Task ids are pass keys, with `#1`, `#2` … behind them where a pass is split into day parts; those of service stops are
`care:` and the code of their rule. Mode ids are the codes of
the outfit joined by `+`. Times are elapsed minutes from the start.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from farmops.farms.models import Farm, Field
from farmops.farms.operations import ALONE
from scheduling.models import FieldPass, PassLink, WeekPlan
from scheduling.selectors.care_stops import CareStop, care_stops
from scheduling.selectors.day_parts import day_parts, longest_part_min
from scheduling.selectors.fleet import YARD, Fleet, fleet_of, place_of
from scheduling.selectors.gaps import least_gap_min
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.keeping_out import kept_apart
from scheduling.selectors.lateness import delays_of
from scheduling.selectors.missing import missing_for
from scheduling.selectors.outfits import Outfit, minutes_for, outfits_for
from scheduling.selectors.passes import open_passes, pass_key
from scheduling.selectors.prices import PlanPrices
from scheduling.selectors.resources import daylight, hand_calendar, resources_of
from scheduling.selectors.roads import road_minutes
from scheduling.selectors.sent import Sent, price_changes, sent_tasks
from scheduling.selectors.task_rows import STEP_MIN, Task, task_row
from scheduling.selectors.waiting import NotOffered, Offer, offer_of
from scheduling.windows.report import WindowsReport

FORMAT = "planning-problem/1"
OF_A_START = frozenset({"fixed", "earliest", "latest", "hold_limit"})


@dataclass(frozen=True)
class Built:
    """A problem, and what is needed to read its plan back."""

    problem: dict[str, Any]
    horizon: Horizon
    tasks: Mapping[str, Task]
    outfits: Mapping[str, Outfit]
    not_offered: list[NotOffered]
    stops: Mapping[str, CareStop] = field(default_factory=dict)


def build_problem(
    *,
    farm: Farm,
    windows: WindowsReport,
    starts_at: dt.datetime,
    days: int,
    prices: PlanPrices,
    sent: WeekPlan | None,
    now: dt.datetime,
) -> dict[str, Any]:
    """Return the problem of a week as `planning-problem/1`; the same records give the same problem.

    With a `sent` plan, each task that stands in it has its place there as `was`, or goes on if it is under way.
    Nothing new starts before `now`, if that lies in the week.
    """
    return lay_problem(
        farm=farm, windows=windows, starts_at=starts_at, days=days, prices=prices, sent=sent, now=now
    ).problem


def lay_problem(
    *,
    farm: Farm,
    windows: WindowsReport,
    starts_at: dt.datetime,
    days: int,
    prices: PlanPrices,
    sent: WeekPlan | None,
    now: dt.datetime,
    known_at: dt.datetime | None = None,
) -> Built:
    """Build the problem and keep what its ids stand for; `known_at` is the clock's instant where `now` is another."""
    horizon = Horizon(starts_at, farm.zone, days)
    soonest = horizon.after(now) if horizon.start < now < horizon.at(horizon.minutes) else 0
    fleet = _at_work(fleet_of(farm=farm, horizon=horizon, soonest_min=soonest), horizon)
    held = sent_tasks(plan=sent, horizon=horizon, soonest_min=soonest)
    waiting = list(open_passes(farm=farm))
    outfits_of = {
        field_pass.pk: _fixed_only(
            field_pass,
            outfits_for(field_pass=field_pass, fleet=fleet, prices=prices, keep=_kept(field_pass, held)),
        )
        for field_pass in waiting
    }
    offer = offer_of(
        farm=farm,
        horizon=horizon,
        missing_of={
            field_pass.pk: missing_for(field_pass=field_pass, fleet=fleet, horizon=horizon)
            for field_pass in waiting
            if not outfits_of[field_pass.pk]
        },
        passes=waiting,
    )
    tasks = _tasks(offer, outfits_of, fleet, horizon)
    last_of = {task.field_pass.pk: task.id for task in tasks}
    first_of = {task.field_pass.pk: task.id for task in reversed(tasks)}
    is_hired = any(task.field_pass.custom_ac_per_h is not None for task in tasks)
    light = daylight(farm=farm, horizon=horizon) if is_hired else []
    apart = kept_apart(offer)
    delays = delays_of(farm=farm, horizon=horizon, waiting=waiting, offered=offer.passes)
    rows: list[dict[str, Any]] = []
    standing: dict[str, tuple[str, str | None]] = {}
    before: Task | None = None
    for task in tasks:
        after = [
            _after(link, last_of[link.before_id])
            for link in offer.links_of[task.field_pass.pk]
            if task.id == first_of[task.field_pass.pk]
        ]
        if task.id == first_of[task.field_pass.pk]:
            after += [
                {"task": last_of[pk], "min_gap": gap} if gap else {"task": last_of[pk]}
                for pk, gap in apart.get(task.field_pass.pk, ())
            ]
        if before is not None and before.field_pass.pk == task.field_pass.pk:
            after.append({"task": before.id})
        row = task_row(
            task,
            windows=windows,
            outfits=outfits_of[task.field_pass.pk],
            fleet=fleet,
            horizon=horizon,
            light=light,
            delay=delays[task.field_pass.pk],
            soonest_min=soonest,
            is_first=task.id == first_of[task.field_pass.pk],
            is_last=task.id == last_of[task.field_pass.pk],
        )
        row["earliest"] = max(row["earliest"], soonest, offer.soonest_of.get(task.field_pass.pk, 0))
        row |= {"after": after} if after else {}
        row |= held.standing(task.id, task.field_pass, row=row, waits=bool(after))
        stands = held.stands_in_field(task.id, task.field_pass, waits=bool(after))
        for mode in row["modes"]:
            if mode["id"] == stands:
                standing |= dict.fromkeys(mode["resources"], (row["place"], mode.get("setup")))
        if "under_way" in row:
            row = {key: value for key, value in row.items() if key not in OF_A_START} | {"earliest": 0}
        rows.append(row)
        before = task
    stops, no_care = care_stops(
        farm=farm,
        fleet=fleet,
        horizon=horizon,
        prices=prices,
        sent=sent,
        soonest_min=soonest,
        used=_used(rows),
        held=_held(rows),
        known_at=known_at,
    )
    rows += [stop.row for stop in stops]
    resources = resources_of(
        farm=farm, fleet=fleet, horizon=horizon, prices=prices, used=_used(rows), standing=standing
    )
    fields = _fields(farm, {row["place"] for row in rows} | {row["home"] for row in resources})
    problem = {
        "format": FORMAT,
        "start": horizon.local_start.isoformat(),
        "zone": farm.zone,
        "horizon": horizon.minutes,
        "step": STEP_MIN,
        "resources": resources,
        "places": [YARD, *(place_of(one.code) for one in fields)],
        "road_minutes": road_minutes(farm=farm, fields=fields),
        "tasks": rows,
    }
    price_changes(problem, sent=held, now=now)
    return Built(
        problem=problem,
        horizon=horizon,
        tasks={task.id: task for task in tasks},
        outfits={outfit.id: outfit for outfits in outfits_of.values() for outfit in outfits},
        not_offered=[*offer.not_offered, *no_care],
        stops={stop.id: stop for stop in stops},
    )


def _used(rows: list[dict[str, Any]]) -> frozenset[str]:
    return frozenset(name for row in rows for mode in row["modes"] for name in mode["resources"])


def _held(rows: list[dict[str, Any]]) -> frozenset[str]:
    """Return what a task that is under way or fixed may hold."""
    return frozenset(
        name
        for row in rows
        for mode in row["modes"]
        if mode["id"] in {row.get(key, {}).get("mode") for key in ("under_way", "fixed")}
        for name in mode["resources"]
    )


def _at_work(fleet: Fleet, horizon: Horizon) -> Fleet:
    """Return the fleet with the hands apart that have no hour of work in the horizon."""
    present = tuple(
        hand
        for hand in fleet.hands
        if hand_calendar(hand=hand, fleet=fleet, horizon=horizon, extra_cents_per_h=0)
    )
    idle = tuple(hand for hand in fleet.hands if hand not in present)
    return replace(fleet, hands=present, idle_hands=idle)


def _kept(field_pass: FieldPass, held: Sent) -> set[str]:
    return held.modes_of(field_pass.pk) | ({field_pass.fixed_outfit} - {""})


def _fixed_only(field_pass: FieldPass, outfits: list[Outfit]) -> list[Outfit]:
    """Return the fixed outfit alone where the manager holds to an outfit but to no hour."""
    if field_pass.fixed_outfit and field_pass.fixed_from is None:
        return [outfit for outfit in outfits if outfit.id == field_pass.fixed_outfit]
    return outfits


def _tasks(
    offer: Offer, outfits_of: Mapping[int, list[Outfit]], fleet: Fleet, horizon: Horizon
) -> list[Task]:
    calendars = [
        hand_calendar(hand=hand, fleet=fleet, horizon=horizon, extra_cents_per_h=1) for hand in fleet.hands
    ]
    longest_min = longest_part_min(calendars=calendars, horizon=horizon)
    tasks = []
    for field_pass in offer.passes:
        whole_min = max(
            minutes_for(field_pass=field_pass, outfit=outfit, area_ac=field_pass.area_ac, fleet=fleet)
            for outfit in outfits_of[field_pass.pk]
        )
        parts = day_parts(
            area_ac=field_pass.area_ac,
            done_ac=field_pass.done_ac,
            whole_min=whole_min,
            longest_min=whole_min if field_pass.operation in ALONE else longest_min,
        )
        key = pass_key(field_pass)
        tasks += [
            Task(key if part.count == 1 else f"{key}#{part.number}", field_pass, part) for part in parts
        ]
    return tasks


def _after(link: PassLink, before_id: str) -> dict[str, Any]:
    row: dict[str, Any] = {"task": before_id}
    least_min = least_gap_min(link)
    if least_min:
        row["min_gap"] = least_min
    if link.max_gap_min is not None:
        row["max_gap"] = max(link.max_gap_min, least_min)  # the label wins
    return row


def _fields(farm: Farm, places: set[str]) -> list[Field]:
    return [one for one in Field.objects.filter(farm=farm).order_by("code") if place_of(one.code) in places]
