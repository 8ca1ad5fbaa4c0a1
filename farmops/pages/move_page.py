"""What the page says on which a pass is moved: what comes of it, in dollars and in what gives way, as plain data.

For: seeing what moving one pass would cost before it is kept. The manager decides here whether it is worth it.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.desk.week_table import PARTS
from farmops.farms.models import Farm
from farmops.pages import words
from scheduling.models import FieldPass, PlannedTask, WeekPlan
from scheduling.selectors.holding import spoken
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import tasks_of_plan
from scheduling.selectors.spoken import names_of_plan
from scheduling.services.moving import Priced
from scheduling.solver.moving import Shift
from scheduling.solver.plan import PlacedTask

MOST_IN_A_HEADLINE = 2


@dataclass(frozen=True)
class Way:
    """An outfit that a plan reckons with for a pass, in words, and the machine, implement and hand that it is of."""

    outfit: str
    says: str
    resources: tuple[str, ...]


def ways_of(*, plan: WeekPlan, field_pass: FieldPass, names: Mapping[str, str]) -> list[Way]:
    """Return the outfits that a plan reckons with for a pass; none where it does not know the pass."""
    key = pass_key(field_pass)
    row = next((one for one in plan.problem.get("tasks", []) if one["id"].partition("#")[0] == key), None)
    modes = row["modes"] if row is not None else []
    return [
        Way(one["id"], words.capital(names.get(one["id"], one["id"])), tuple(one["resources"]))
        for one in modes
    ]


def move_facts(*, farm: Farm, plan: WeekPlan, field_pass: FieldPass) -> dict[str, Any]:
    """Return where a plan has a pass, who could do it, and what stands in the boxes at first."""
    zone = ZoneInfo(farm.zone)
    task = first_task(plan, field_pass)
    ways = ways_of(plan=plan, field_pass=field_pass, names=names_of_plan(plan=plan))
    begins = task.starts_at.astimezone(zone) if task is not None else plan.starts_at.astimezone(zone)
    return {
        "field_pass": field_pass,
        "field": field_pass.season.field,
        "work_on": words.capital(spoken(field_pass)),
        "work_low": spoken(field_pass),
        "planned": said_place(task, zone, ways) if task is not None else "",
        "ways": ways,
        "first_on": plan.starts_at.astimezone(zone).date().isoformat(),
        "last_on": (plan.starts_at.astimezone(zone).date() + dt.timedelta(days=plan.days - 1)).isoformat(),
        "blank": {
            "outfit": task.mode if task is not None else (ways[0].outfit if ways else ""),
            "day": begins.date().isoformat(),
            "hour": f"{begins:%H:%M}" if task is not None else "07:00",
        },
    }


def first_task(plan: WeekPlan, field_pass: FieldPass) -> PlannedTask | None:
    """Return the first part of a pass that a plan has."""
    return tasks_of_plan(plan=plan).filter(field_pass=field_pass).first()


def said_place(task: PlannedTask, zone: ZoneInfo, ways: Sequence[Way]) -> str:
    """Return where a plan has a pass: when, and who with what."""
    outfit = next((one.says for one in ways if one.outfit == task.mode), "")
    at = moment(task.starts_at.astimezone(zone))
    return f"{at}, {outfit}" if outfit else at


def price_facts(*, priced: Priced) -> dict[str, Any]:
    """Return what comes of a move in words: the headline, what gives way, and which parts of the cost change."""
    plan = priced.base
    teller = _Teller(plan)
    moved = teller.shifts(priced.shifts)
    return {
        "headline": _headline(priced.more_cents, moved),
        "to": teller.place(priced.task, priced.plan.tasks),
        "moved": moved,
        "parts": _parts(priced),
        "before": words.dollars(priced.cost_before_cents),
        "after": words.dollars(priced.plan.cost),
    }


def plan_shifts(*, before: WeekPlan, after: WeekPlan) -> list[str]:
    """Return what one plan has elsewhere than another, a sentence each."""
    horizon = Horizon(after.starts_at, after.farm.zone, after.days)
    later = horizon.after(before.starts_at)
    old, new = (_by_task(one.plan["tasks"], by) for one, by in ((before, later), (after, 0)))
    shifts = [
        Shift(one, old.get(one), new.get(one))
        for one in {**old, **new}
        if _at(old.get(one)) != _at(new.get(one))
    ]
    return _Teller(after, before).shifts(shifts)


def moment(local: dt.datetime) -> str:
    """Return an instant on the farm's clock as a person says it."""
    return _("{day}, {clock}").format(day=words.long_date(local.date()), clock=words.clock(local))


def _by_task(rows: Sequence[Mapping[str, Any]], later_min: int) -> dict[str, PlacedTask]:
    return {
        one["id"]: PlacedTask(one["id"], one["mode"], one["from"] + later_min, one["to"] + later_min)
        for one in rows
    }


def _at(placed: PlacedTask | None) -> tuple[str, int] | None:
    return None if placed is None else (placed.mode, placed.start)


def _headline(more_cents: int, moved: Sequence[str]) -> str:
    if more_cents > 0:
        price = _("{amount} more").format(amount=words.dollars(more_cents))
    elif more_cents < 0:
        price = _("{amount} less").format(amount=words.dollars(-more_cents))
    else:
        price = _("It costs the same")
    if not moved:
        return _("{price}: nothing else moves.").format(price=price)
    if len(moved) <= MOST_IN_A_HEADLINE:
        told = "; ".join(_without_stop(one) for one in moved)
        return words.one_stop(_("{price}: {moved}.").format(price=price, moved=told))
    rest = len(moved) - 1
    says = ngettext(
        "{price}: {moved}; {rest} other changes too.", "{price}: {moved}; {rest} others change too.", rest
    )
    return says.format(price=price, moved=_without_stop(moved[0]), rest=rest)


def _without_stop(sentence: str) -> str:
    """Return a sentence to go on from; the point of its last word, as a.m. has one, stays."""
    return sentence if sentence.endswith((" a.m.", " p.m.")) else sentence.removesuffix(".")


def _parts(priced: Priced) -> list[tuple[str, str, str, str]]:
    """Return the parts of the cost that change: what for, before, after, and the difference."""
    old = dict(priced.base.plan.get("cost_parts") or {})
    new = dict(priced.plan.cost_parts or {})
    others = sum(cents for name, cents in old.items() if name != "change")
    old["change"] = priced.cost_before_cents - others
    told = []
    for name, says in PARTS:
        was, now = old.get(name, 0), new.get(name, 0)
        # The parts are rounded one by one and can miss the whole by a cent or two.
        if abs(now - was) <= 2:
            continue
        sign = "+" if now > was else "−"
        told.append(
            (words.named(says), words.dollars(was), words.dollars(now), sign + words.dollars(abs(now - was)))
        )
    return told


class _Teller:
    """Says places and shifts of a plan's tasks in the names of the farm's records."""

    def __init__(self, plan: WeekPlan, other: WeekPlan | None = None) -> None:
        self.horizon = Horizon(plan.starts_at, plan.farm.zone, plan.days)
        self.zone = ZoneInfo(plan.farm.zone)
        self.names = dict(names_of_plan(plan=other)) if other is not None else {}
        self.names |= names_of_plan(plan=plan)

    def at(self, minute: int) -> str:
        return moment(self.horizon.at(minute).astimezone(self.zone))

    def place(self, task: str, tasks: Sequence[PlacedTask]) -> str:
        stands = next(one for one in tasks if one.id == task)
        return f"{self.at(stands.start)}, {self.names.get(stands.mode, stands.mode)}"

    def shifts(self, shifts: Sequence[Shift]) -> list[str]:
        return [
            self._shift(one) for one in sorted(shifts, key=lambda one: (one.new is not None, _first(one)))
        ]

    def _shift(self, shift: Shift) -> str:
        what = self.names.get(shift.task, shift.task)
        if shift.old is None and shift.new is not None:
            return words.one_stop(
                _("{what} finds a place: {at}.").format(what=what, at=self.at(shift.new.start))
            )
        if shift.old is not None and shift.new is None:
            says = _("{what} is left for later; it was planned for {at}.")
            return words.one_stop(says.format(what=what, at=self.at(shift.old.start)))
        assert shift.old is not None
        assert shift.new is not None
        outfit = self.names.get(shift.new.mode, shift.new.mode)
        if shift.old.start == shift.new.start:
            return _("{what} goes to {outfit}.").format(what=what, outfit=outfit)
        later, same = shift.new.start > shift.old.start, shift.old.mode == shift.new.mode
        says = {
            (True, True): _("{what} slips to {at}."),
            (False, True): _("{what} comes forward to {at}."),
            (True, False): _("{what} slips to {at} and goes to {outfit}."),
            (False, False): _("{what} comes forward to {at} and goes to {outfit}."),
        }[later, same]
        return words.one_stop(says.format(what=what, at=self.at(shift.new.start), outfit=outfit))


def _first(shift: Shift) -> int:
    placed = shift.new or shift.old
    return placed.start if placed is not None else 0
