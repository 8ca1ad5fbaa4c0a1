"""What the page says when somebody else changed the week before a move was kept: both versions, side by side.

For: not overwriting somebody else's work unseen. The manager decides here whether the move still makes sense in the week
as it is now, or whether that week stays.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.move_page import first_task, moment, plan_shifts, said_place, ways_of
from scheduling.models import FieldPass, WeekPlan
from scheduling.selectors.holding import spoken
from scheduling.selectors.passes import open_passes
from scheduling.selectors.spoken import names_of

MOST_TOLD = 12


def changed_facts(
    *, farm: Farm, seen: WeekPlan, newest: WeekPlan, field_pass: FieldPass, typed: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the move as it was asked for beside the week as it is now: its newest plan, who made it, what is held in it."""
    zone = ZoneInfo(farm.zone)
    names = names_of(farm=farm, problem=seen.problem) | names_of(farm=farm, problem=newest.problem)
    ways = {plan.pk: ways_of(plan=plan, field_pass=field_pass, names=names) for plan in (seen, newest)}
    was, now = first_task(seen, field_pass), first_task(newest, field_pass)
    told = plan_shifts(before=seen, after=newest) if newest.pk != seen.pk else []
    return {
        "work_on": words.capital(spoken(field_pass)),
        "seen": seen,
        "newest": newest,
        "was": said_place(was, zone, ways[seen.pk]) if was is not None else "",
        "now": said_place(now, zone, ways[newest.pk]) if now is not None else "",
        "yours": _asked(typed, names),
        "made": _made(newest, zone),
        "held": _held(field_pass, zone, names),
        "others_held": [
            _("{what}: {to}").format(what=words.capital(spoken(one)), to=_held(one, zone, names))
            for one in open_passes(farm=farm)
            if one.pk != field_pass.pk and (one.fixed_from is not None or one.fixed_outfit)
        ],
        "shifts": told[:MOST_TOLD],
        "more": max(0, len(told) - MOST_TOLD),
    }


def _asked(typed: Mapping[str, Any], names: Mapping[str, str]) -> str:
    """Return what the move asked for; what was not understood stands as it was typed."""
    outfit = words.capital(names.get(typed.get("outfit", ""), str(typed.get("outfit", ""))))
    try:
        day = dt.date.fromisoformat(typed.get("day", ""))
        hour = dt.time.fromisoformat(typed.get("hour", ""))
    except ValueError:
        return f"{typed.get('day', '')} {typed.get('hour', '')}, {outfit}"
    return f"{moment(dt.datetime.combine(day, hour))}, {outfit}"


def _made(plan: WeekPlan, zone: ZoneInfo) -> str:
    at = moment(plan.made_at.astimezone(zone))
    if plan.made_by is None:
        return words.one_stop(_("Plan {number}, made {at}.").format(number=plan.number, at=at))
    who = plan.made_by.get_full_name() or plan.made_by.get_username()
    return words.one_stop(
        _("Plan {number}, made by {who} on {at}.").format(number=plan.number, who=who, at=at)
    )


def _held(field_pass: FieldPass, zone: ZoneInfo, names: Mapping[str, str]) -> str:
    """Return what a pass is held to now; empty where the plan chooses."""
    told = []
    if field_pass.fixed_from is not None:
        told.append(moment(field_pass.fixed_from.astimezone(zone)))
    if field_pass.fixed_outfit:
        told.append(names.get(field_pass.fixed_outfit, field_pass.fixed_outfit))
    return ", ".join(told)
