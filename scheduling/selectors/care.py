"""What service of a farm is due when: its rules, what was done, and what was run since."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import QuerySet, prefetch_related_objects

from farmops.core.ready import Among, Ready
from farmops.farms.models import CareRule, Farm, Pivot
from scheduling.care import (
    Every,
    Left,
    Meter,
    Run,
    Worked,
    left_of,
    outings_since,
    ran_h,
    starts_since,
    worked_since,
)
from scheduling.models import CareDone
from scheduling.selectors.meters import meters_of
from scheduling.selectors.pivot_runs import Stretch, pivot_runs
from scheduling.selectors.work_of_things import Thing, work_at_hand

CARE = "care"
"""What a problem calls the operation of a service stop."""


@dataclass(frozen=True)
class CareDue:
    """One rule: when it was last done, what was run since, and what is left. `meter_h` is that of a machine alone."""

    rule: CareRule
    last_done: CareDone | None
    run: Run
    left: Left
    meter_h: Decimal | None


def care_id(rule: CareRule) -> str:
    """Return the name of a service stop in a problem: that of its rule."""
    return f"{CARE}:{rule.code}"


NAMED = Ready(
    lambda farm_id: (
        CareRule.objects.filter(farm=farm_id).select_related("machine", "implement", "pivot").order_by("code")
    ),
    -1,
)


def care_names(*, farm: Farm, language: str = "en") -> dict[str, str]:
    """Return each service in words, by its name in a problem: `change engine oil, tractor 1`."""
    rules = NAMED.ask(farm.pk)
    return {care_id(rule): f"{what_is_done(rule, language)}, {thing_name(rule, language)}" for rule in rules}


def thing_name(rule: CareRule, language: str) -> str:
    """Return what is served by its name in a language; in its own where it has none in that."""
    thing = rule.thing
    spanish = "" if isinstance(thing, Pivot) else thing.name_es
    return spanish if language == "es" and spanish else str(thing)


def what_is_done(rule: CareRule, language: str) -> str:
    """Return what a service does in a language; in English where it is said in no other."""
    return rule.what_es if language == "es" and rule.what_es else rule.what


def care_rules(*, farm: Farm) -> QuerySet[CareRule]:
    """Return the rules that are in use, with what planning and showing them needs."""
    return _rules_in_use().filter(farm=farm).prefetch_related("hands__hand")


def _rules_in_use() -> QuerySet[CareRule]:
    rules = CareRule.objects.filter(is_used=True).order_by("code")
    return rules.select_related("machine", "implement", "pivot__field", "pivot__pump")


RULES = Ready(lambda farms: _rules_in_use().filter(Among("farm_id", farms)), (-1,))


def rules_of_farms(*, farms: Collection[int]) -> list[CareRule]:
    """Return the rules of the farms of some row ids, as `care_rules` does."""
    rules = RULES.ask(farms)
    prefetch_related_objects(rules, "hands__hand")
    return rules


def standing_care(*, farm: Farm) -> QuerySet[CareDone]:
    """Return the care done that stands: not corrected by a newer row, not taken back."""
    return CareDone.objects.filter(farm=farm, superseded_by__isnull=True, is_taken_back=False)


def care_due(*, farm: Farm, at: dt.datetime, rules: Sequence[CareRule] | None = None) -> list[CareDue]:
    """Return every rule of a farm with what is left of it at an instant; a fixed number of queries.

    `rules` are those of `care_rules`, where they are read already.
    """
    rules = list(care_rules(farm=farm)) if rules is None else rules
    if not rules:
        return []
    facts = _facts_of(farm, rules, at)
    return [_due(rule, facts, at, ZoneInfo(farm.zone)) for rule in rules]


@dataclass(frozen=True)
class _Facts:
    meters: Mapping[int, Meter]
    worked: Mapping[Thing, Sequence[Worked]]
    ran: Mapping[int, Sequence[Stretch]]
    done: Mapping[int, CareDone]


def _facts_of(farm: Farm, rules: Sequence[CareRule], at: dt.datetime) -> _Facts:
    machines = {rule.machine_id: rule.machine for rule in rules if rule.machine is not None}
    pivots = {rule.pivot_id: rule.pivot for rule in rules if rule.pivot is not None}
    worked = work_at_hand(farm=farm)
    done = standing_care(farm=farm).filter(done_at__lte=at).order_by("done_at", "id")
    return _Facts(
        meters=meters_of(farm=farm, machines=machines.values(), worked=worked),
        worked=worked,
        ran=pivot_runs(farm=farm, pivots=pivots.values(), at=at) if pivots else {},
        done={row.rule_id: row for row in done},
    )


def _due(rule: CareRule, facts: _Facts, at: dt.datetime, zone: ZoneInfo) -> CareDue:
    last = facts.done.get(rule.pk)
    since = last.done_at if last is not None else _midnight(rule.counts_from_on, zone)
    shows_h: Decimal | None = None
    if rule.pivot is not None:
        ran = facts.ran.get(rule.pivot.pk, ())
        began = [begins for begins, _ends in ran]
        run_h, run_ac, starts = ran_h(ran, since), Decimal(0), starts_since(ran, since)
    else:
        thing = rule.thing
        worked = [one for one in facts.worked.get((type(thing).__name__, thing.pk), ()) if one.began_at < at]
        began = [one.began_at for one in worked]
        run_h, run_ac = worked_since(worked, since)
        starts = outings_since((one.began_at for one in worked if one.is_outing), since, zone)
    if rule.machine is not None:
        meter = facts.meters[rule.machine.pk]
        shows_h = meter.shows_h(at)
        run_h = meter.run_h(at) - _began_h(rule, last, since, meter)
    run = Run(hours=max(run_h, Decimal(0)), days=_days(since, began, at, zone), acres=run_ac, starts=starts)
    every = Every(hours=rule.every_h, days=rule.every_days, acres=rule.every_ac, starts=rule.every_starts)
    return CareDue(rule, last, run, left_of(every, run), shows_h)


def _began_h(rule: CareRule, last: CareDone | None, since: dt.datetime | None, meter: Meter) -> Decimal:
    """Return the hours, going on across replaced meters, from which a rule of a machine counts.

    `counts_from_h` is what the meter of the day `counts_from_on` showed, without a day that of the machine's entry.
    """
    if last is not None:
        if last.meter_h is None:
            return meter.run_h(last.done_at)
        return last.meter_h + meter.added_h(last.done_at)
    if rule.counts_from_h is not None:
        return rule.counts_from_h + (meter.added_h(since) if since is not None else Decimal(0))
    return meter.start_h if since is None else meter.run_h(since)


def _midnight(day: dt.date | None, zone: ZoneInfo) -> dt.datetime | None:
    return None if day is None else dt.datetime.combine(day, dt.time(), tzinfo=zone)


def _days(
    since: dt.datetime | None, began: Sequence[dt.datetime], at: dt.datetime, zone: ZoneInfo
) -> int | None:
    first = since or min(began, default=None)
    return None if first is None else (at.astimezone(zone).date() - first.astimezone(zone).date()).days
