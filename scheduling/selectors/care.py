"""What service of a farm is due when: its rules, what was done, and what was run since."""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from farmops.farms.models import CareRule, Farm, Implement, Machine
from scheduling.care import Every, Left, Reading, Run, Worked, left_of, meter_h, worked_since
from scheduling.models import CareDone, HourReading, WorkRecord

JUST_BEFORE_NOON = dt.time(11, 59)
"""When work without an hour counts as begun: a meter read at noon or later shows it, one read in the morning does not."""
CARE = "care"
"""What a problem calls the operation of a service stop."""


@dataclass(frozen=True)
class CareDue:
    """One rule: when it was last done, what was run since, and what is left. `meter_h` is None for an implement."""

    rule: CareRule
    last_done: CareDone | None
    run: Run
    left: Left
    meter_h: Decimal | None


def care_id(rule: CareRule) -> str:
    """Return the name of a service stop in a problem: that of its rule."""
    return f"{CARE}:{rule.code}"


def care_names(*, farm: Farm) -> dict[str, str]:
    """Return each service in words, by its name in a problem: `change engine oil, tractor 1`."""
    rules = CareRule.objects.filter(farm=farm).select_related("machine", "implement")
    return {care_id(rule): f"{rule.what}, {rule.machine or rule.implement}" for rule in rules}


def care_rules(*, farm: Farm) -> QuerySet[CareRule]:
    """Return the rules that are in use, with what planning and showing them needs."""
    rules = CareRule.objects.filter(farm=farm, is_used=True)
    return rules.select_related("machine", "implement").prefetch_related("hands__hand").order_by("code")


def standing_care(*, farm: Farm) -> QuerySet[CareDone]:
    """Return the care done that stands: not corrected by a newer row, not taken back."""
    return CareDone.objects.filter(farm=farm, superseded_by__isnull=True, is_taken_back=False)


def care_due(*, farm: Farm, at: dt.datetime) -> list[CareDue]:
    """Return every rule of a farm with what is left of it at an instant; a fixed number of queries."""
    rules = list(care_rules(farm=farm))
    if not rules:
        return []
    facts = _facts_of(farm, rules, at)
    return [_due(rule, facts, at, ZoneInfo(farm.zone)) for rule in rules]


def shown_h(*, machine: Machine, at: dt.datetime) -> Decimal:
    """Return what the hour meter of a machine shows at an instant, as far as readings and work records say."""
    zone = ZoneInfo(machine.farm.zone)
    rows = HourReading.objects.filter(machine=machine).values_list("read_at", "reading_h")
    worked = _work(WorkRecord.objects.filter(machine=machine, superseded_by__isnull=True), zone)
    return meter_h(
        readings=[Reading(*row) for row in rows],
        worked=worked["Machine", machine.pk],
        start_h=machine.meter_start_h,
        at=at,
    )


Thing = tuple[str, int]


@dataclass(frozen=True)
class _Facts:
    readings: Mapping[int, Sequence[Reading]]
    worked: Mapping[Thing, Sequence[Worked]]
    done: Mapping[int, CareDone]


def _facts_of(farm: Farm, rules: Sequence[CareRule], at: dt.datetime) -> _Facts:
    machines = {rule.machine_id for rule in rules if rule.machine_id is not None}
    implements = {rule.implement_id for rule in rules if rule.implement_id is not None}
    readings: dict[int, list[Reading]] = defaultdict(list)
    rows = HourReading.objects.filter(machine__in=machines)
    for machine_id, read_at, reading_h in rows.values_list("machine_id", "read_at", "reading_h"):
        readings[machine_id].append(Reading(read_at, reading_h))
    records = WorkRecord.objects.filter(
        Q(machine__in=machines) | Q(implement__in=implements), farm=farm, superseded_by__isnull=True
    )
    done = standing_care(farm=farm).filter(done_at__lte=at).order_by("done_at", "id")
    return _Facts(readings, _work(records, ZoneInfo(farm.zone)), {row.rule_id: row for row in done})


def _work(records: QuerySet[WorkRecord], zone: ZoneInfo) -> Mapping[Thing, list[Worked]]:
    """Return the work of machines and implements; work without an hour counts as begun before noon."""
    found: dict[Thing, list[Worked]] = defaultdict(list)
    columns = ("machine_id", "implement_id", "starts_at", "work_on", "machine_min", "done_ac")
    for machine_id, implement_id, starts_at, work_on, machine_min, done_ac in records.values_list(*columns):
        began_at = starts_at or dt.datetime.combine(work_on, JUST_BEFORE_NOON, tzinfo=zone)
        one = Worked(began_at, machine_min, done_ac)
        if machine_id is not None:
            found["Machine", machine_id].append(one)
        if implement_id is not None:
            found["Implement", implement_id].append(one)
    return found


def _due(rule: CareRule, facts: _Facts, at: dt.datetime, zone: ZoneInfo) -> CareDue:
    thing: Machine | Implement | None = rule.machine or rule.implement
    assert thing is not None  # a check in the database says so
    worked = [one for one in facts.worked.get((type(thing).__name__, thing.pk), ()) if one.began_at < at]
    last = facts.done.get(rule.pk)
    since = last.done_at if last is not None else _midnight(rule.counts_from_on, zone)
    run_h, run_ac = worked_since(worked, since)
    shows: Decimal | None = None
    if isinstance(thing, Machine):
        readings = facts.readings.get(thing.pk, ())

        def shown(instant: dt.datetime) -> Decimal:
            return meter_h(readings=readings, worked=worked, start_h=thing.meter_start_h, at=instant)

        shows = shown(at)
        run_h = shows - _began_h(rule, last, since, thing, shown)
    run = Run(hours=max(run_h, Decimal(0)), days=_days(since, worked, at, zone), acres=run_ac)
    every = Every(hours=rule.every_h, days=rule.every_days, acres=rule.every_ac)
    return CareDue(rule, last, run, left_of(every, run), shows)


def _began_h(
    rule: CareRule,
    last: CareDone | None,
    since: dt.datetime | None,
    machine: Machine,
    shown: Callable[[dt.datetime], Decimal],
) -> Decimal:
    if last is not None:
        return last.meter_h if last.meter_h is not None else shown(last.done_at)
    if rule.counts_from_h is not None:
        return rule.counts_from_h
    return machine.meter_start_h if since is None else shown(since)


def _midnight(day: dt.date | None, zone: ZoneInfo) -> dt.datetime | None:
    return None if day is None else dt.datetime.combine(day, dt.time(), tzinfo=zone)


def _days(since: dt.datetime | None, worked: Sequence[Worked], at: dt.datetime, zone: ZoneInfo) -> int | None:
    began = since or min((one.began_at for one in worked), default=None)
    return None if began is None else (at.astimezone(zone).date() - began.astimezone(zone).date()).days
