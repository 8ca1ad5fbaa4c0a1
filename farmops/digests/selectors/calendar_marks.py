"""Read, of all farms at once, what their calendars depend on: while that is the same they need no look."""

import datetime as dt
import hashlib
from collections import defaultdict
from collections.abc import Sequence

from django.db.models import Count, F, Max, QuerySet, Sum

from farmops.digests.models import MailTimes, PersonLink, Purpose
from farmops.digests.selectors.clocks import FarmClock
from farmops.farms.models import Membership, Role
from ledger.models import Bill, BillPayment, PeriodMark, PostingWait
from scheduling.models import CareDone, FieldPass, PassState, PlannedTask, PlanState, WeekPlan
from scheduling.selectors.plans import LONGEST_DAYS

ONE_DAY = dt.timedelta(days=1)
RULING = (PlanState.SENT, PlanState.REPLACED)
OVER = (PassState.FINISHED, PassState.CALLED_OFF)


def calendar_marks(*, clocks: Sequence[FarmClock], now: dt.datetime) -> dict[int, str]:
    """Return a hash of what the calendars of each farm depend on, by its id: the same few queries for any number of farms.

    Farms without a plan of these days, and without anybody who reads a calendar, are left out. Names of fields and
    machines are not looked at: those wait for the look that asks nothing first.
    """
    since = now - ONE_DAY * (LONGEST_DAYS + 1)
    plans = WeekPlan.objects.filter(state__in=RULING, starts_at__gt=since)
    told = _of_farms(plans, Count("pk"), Max("pk"), Max("sent_at"), Sum("pk"))
    linked, keepers = _readers()
    facts: dict[int, list[object]] = {
        one.farm.pk: [one.day, one.farm.zone, told.get(one.farm.pk), linked.get(one.farm.pk)]
        for one in clocks
        if one.farm.pk in told or one.farm.pk in linked
    }
    tasks = PlannedTask.objects.filter(plan__state__in=RULING, ends_at__gt=now - ONE_DAY)
    over = FieldPass.objects.filter(state__in=OVER, pk__in=tasks.values("field_pass"))
    _add(facts, _of_farms(over, Count("pk"), Sum("pk")))
    _add(facts, _of_farms(CareDone.objects.filter(recorded_at__gt=since), Count("pk"), Max("pk")))
    if keepers:
        for model in (Bill, BillPayment, PeriodMark, PostingWait):
            rows = model.objects.filter(farm__in=keepers)
            _add(facts, _of_farms(rows, Count("pk"), Max("pk")))
        times = MailTimes.objects.filter(farm__in=keepers)
        _add(facts, _of_farms(times, Max("changed_at")))
    return {pk: hashlib.sha256(repr(found).encode()).hexdigest() for pk, found in facts.items()}


def _readers() -> tuple[dict[int, list[object]], set[int]]:
    """Return who reads a calendar, by the farm's id, and the ids of the farms where a bookkeeper does."""
    links = PersonLink.objects.filter(purpose=Purpose.CALENDAR, revoked_at=None)
    linked: dict[int, list[object]] = defaultdict(list)
    rows = links.order_by("pk").values_list("farm_id", "pk", "hand_id", "user_id", "user__language")
    users: set[int] = set()
    for farm_id, link_id, hand_id, user_id, language in rows:
        linked[farm_id].append((link_id, hand_id, user_id, language))
        if user_id is not None:
            users.add(user_id)
    keepers = set()
    members = Membership.objects.filter(farm__in=linked, user__in=users, user__is_active=True)
    for farm_id, user_id, role in members.order_by("pk").values_list("farm_id", "user_id", "role"):
        linked[farm_id].append((user_id, role))
        if role == Role.BOOKKEEPER:
            keepers.add(farm_id)
    return linked, keepers


def _of_farms(
    rows: QuerySet, *counts: Count | Max | Sum, of: str = "farm_id"
) -> dict[int, tuple[object, ...]]:
    names = {f"n{number}": one for number, one in enumerate(counts)}
    found = rows.order_by().values(of_farm=F("farm_id")).annotate(**names)
    return {row.pop("of_farm"): tuple(row.values()) for row in found}


def _add(facts: dict[int, list[object]], found: dict[int, tuple[object, ...]]) -> None:
    for pk, known in facts.items():
        known.append(found.get(pk))
