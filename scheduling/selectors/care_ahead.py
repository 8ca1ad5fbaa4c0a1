"""When the services of a farm are likely to fall due, and which of them the plan holds."""

import datetime as dt
from dataclasses import dataclass

from farmops.core.clock import local_date
from farmops.farms.models import CareRule, Farm
from scheduling.care import Use, expected_day
from scheduling.models import PlannedCare
from scheduling.selectors.care import CareDue, care_due, care_rules
from scheduling.selectors.machine_use import pace_of, planned_use, use_by_day
from scheduling.selectors.plans import care_of_plan, current_plan_in_short
from scheduling.selectors.work_of_things import Thing

PACE_DAYS = 28
"""Farm judgement: beyond the plan, the coming weeks are like the four before."""

OF_THING = {"Machine": ("machine",), "Implement": ("implement",), "Pivot": ("pivot__field", "pivot__pump")}
"""What is read beside the rules of one thing."""


@dataclass(frozen=True)
class CareAhead:
    """A service: what is left of it, the day on which it is likely to fall due, and its stop in the plan.

    `expected_on` is None where nothing says when: it has not run lately, or the day is more than a year away.
    """

    due: CareDue
    expected_on: dt.date | None
    stop: PlannedCare | None


def thing_key(rule: CareRule) -> Thing:
    """Return what a rule is of, by the name of its model and its row id."""
    return type(rule.thing).__name__, rule.thing.pk


def care_ahead(*, farm: Farm, now: dt.datetime, only: Thing | None = None) -> list[CareAhead]:
    """Return every service that is in use, or those of one thing, the soonest first; a fixed number of queries.

    What the plan has a thing run counts first; beyond the plan, the average day of the `PACE_DAYS` before.
    """
    rules = care_rules(farm=farm)
    if only is not None:
        kind, pk = only
        rules = rules.filter(**{kind.lower(): pk})
        rules = rules.select_related(None).select_related(*OF_THING[kind])
    dues = care_due(farm=farm, at=now, rules=list(rules))
    today = local_date(now, farm.zone)
    since = today - dt.timedelta(days=PACE_DAYS)
    used = use_by_day(farm=farm, since=since, at=now, only=only) if dues else {}
    days, planned = planned_use(farm=farm, now=now) if dues else ([], {})
    stops = _stops(farm, now) if dues else {}
    found = []
    for due in dues:
        key = thing_key(due.rule)
        ahead = [planned.get(key, {}).get(day, Use()) for day in days]
        pace = pace_of(used.get(key, {}), days=PACE_DAYS)
        expected_on = expected_day(due.left, today=today, ahead=ahead, pace=pace)
        found.append(CareAhead(due, expected_on, stops.get(due.rule.pk)))
    return sorted(found, key=lambda one: (one.expected_on or dt.date.max, one.due.rule.code))


def _stops(farm: Farm, now: dt.datetime) -> dict[int, PlannedCare]:
    """Return the stops still to come of the plan that counts, by their rules."""
    plan = current_plan_in_short(farm=farm)
    if plan is None:
        return {}
    return {stop.rule_id: stop for stop in care_of_plan(plan=plan).filter(ends_at__gt=now)}
