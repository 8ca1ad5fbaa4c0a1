"""What the page shows on which a pass is held to an outfit or an hour, as plain data."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.desk.days import first_instant
from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.walks import walks_to_call_off
from scheduling.models import FieldPass, PlannedTask, WeekPlan
from scheduling.selectors.holding import outfit_in_words, outfits_to_offer, spoken
from scheduling.selectors.passes import OPEN_STATES, pass_key
from scheduling.selectors.plan_documents import NEWEST, with_documents
from scheduling.selectors.reasons import Why, why_each
from scheduling.selectors.speaking import named_in

EARLY = dt.time(7)
"""Farm judgement: where no plan says an hour, the box offers this one."""


def hold_facts(*, farm: Farm, field_pass: FieldPass, now: dt.datetime) -> dict[str, Any]:
    """Return where the newest plan has a pass, what holds it, who can do it, and what stands in the boxes at first."""
    zone = ZoneInfo(farm.zone)
    newest = next(iter(NEWEST.ask(farm.pk)), None)
    if newest is not None:
        newest.farm = farm  # at hand: who asks for it reads no row
    plan = None if newest is None else with_documents(plan=newest)
    tasks = list(_tasks(plan, field_pass)) if plan is not None else []
    task = tasks[0] if tasks else None
    first = first_instant(farm=farm, now=now)
    keep = [task.mode] if task is not None else []
    outfits = outfits_to_offer(
        farm=farm, field_pass=field_pass, first_on=local_date(first, farm.zone), keep=keep
    )
    choices = [(one.id, words.capital(outfit_in_words(one))) for one in outfits]
    held = field_pass.fixed_from is not None or bool(field_pass.fixed_outfit)
    names = dict(choices)
    return {
        "field_pass": field_pass,
        "field": field_pass.season.field,
        "work_on": words.capital(spoken(field_pass)),
        "headline": _headline(field_pass, names, task, zone, first),
        "planned": _planned(plan, task, tasks, zone) if plan is not None else "",
        "plan": plan,
        "why": _why(plan, field_pass) if plan is not None else None,
        "task": task,
        "is_held": held,
        "is_open": field_pass.state in OPEN_STATES,
        "choices": choices,
        "walk": walks_to_call_off(farm=farm, passes=[field_pass]).get(field_pass.pk),
        "blank": _blank(field_pass, task, zone, first.astimezone(zone).date()),
    }


def _tasks(plan: WeekPlan, field_pass: FieldPass) -> QuerySet[PlannedTask]:
    """Return the parts in which a plan has a pass, in the order of their starts, with what goes out."""
    rows = PlannedTask.objects.filter(plan=plan, field_pass=field_pass)
    return rows.select_related("machine", "implement", "hand").order_by("starts_at", "task_key")


def _headline(
    field_pass: FieldPass, names: dict[str, str], task: PlannedTask | None, zone: ZoneInfo, first: dt.datetime
) -> str:
    said = words.capital(spoken(field_pass))
    if field_pass.state not in OPEN_STATES:
        state = words.named(field_pass.get_state_display())
        return _("{what} is {state}: there is nothing left to hold.").format(what=said, state=state)
    if field_pass.fixed_from is None and not field_pass.fixed_outfit:
        if task is None:
            return _("{what}: no plan has it yet.").format(what=said)
        return _("{what}: the plan chooses who does it and when.").format(what=said)
    told = []
    if field_pass.fixed_from is not None:
        told.append(_moment(field_pass.fixed_from.astimezone(zone)))
    if field_pass.fixed_outfit:
        told.append(names.get(field_pass.fixed_outfit, field_pass.fixed_outfit))
    if field_pass.fixed_from is not None and field_pass.fixed_from < first:
        says = _("{what} was fixed: {to}. That hour is over, and the plan chooses again.")
    else:
        says = _("{what} is held: {to}.")
    return says.format(what=said, to=", ".join(told))


def _planned(plan: WeekPlan, task: PlannedTask | None, tasks: list[PlannedTask], zone: ZoneInfo) -> str:
    if task is None:
        return _("Plan {number} does not have it.").format(number=plan.number)
    begins, ends = task.starts_at.astimezone(zone), tasks[-1].ends_at.astimezone(zone)
    until = words.clock(ends) if ends.date() == begins.date() else _moment(ends)
    outfit = [named_in(one) for one in (task.machine, task.implement, task.hand) if one is not None]
    if outfit:
        says = ngettext(
            "Plan {number} has it {begins} to {ends} with {outfit}.",
            "Plan {number} has it {begins} to {ends} with {outfit}, in {parts} parts.",
            len(tasks),
        )
    else:
        says = ngettext(
            "Plan {number} has it {begins} to {ends}.",
            "Plan {number} has it {begins} to {ends}, in {parts} parts.",
            len(tasks),
        )
    return says.format(
        number=plan.number, begins=_moment(begins), ends=until, outfit=", ".join(outfit), parts=len(tasks)
    )


def _why(plan: WeekPlan, field_pass: FieldPass) -> Why | None:
    """Return why the first part of the pass stands where it does, or why it is left."""
    key = pass_key(field_pass)
    whys = why_each(plan=plan)
    return next((why for task_id, why in whys.items() if task_id.partition("#")[0] == key), None)


def _blank(
    field_pass: FieldPass, task: PlannedTask | None, zone: ZoneInfo, first_on: dt.date
) -> dict[str, str]:
    outfit = field_pass.fixed_outfit
    at = field_pass.fixed_from
    if at is None and not outfit and task is not None:
        outfit, at = task.mode, task.starts_at
    if at is None:
        return {"outfit": outfit, "day": first_on.isoformat(), "hour": "" if outfit else f"{EARLY:%H:%M}"}
    local = at.astimezone(zone)
    return {"outfit": outfit, "day": local.date().isoformat(), "hour": f"{local:%H:%M}"}


def _moment(local: dt.datetime) -> str:
    return f"{words.long_date(local.date())}, {words.clock(local)}"
