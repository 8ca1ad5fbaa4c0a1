"""The work of machines and implements, and that of a whole farm at hand: records are only ever added, so a process reads
them again only when there are more. What is at hand is shared by all readers and not to be written into.
"""

import datetime as dt
from collections import OrderedDict, defaultdict
from collections.abc import Hashable, Mapping
from threading import Lock
from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models import QuerySet

from farmops.farms.models import Farm
from scheduling.care import Worked
from scheduling.models import WorkRecord

JUST_BEFORE_NOON = dt.time(11, 59)
"""When work without an hour counts as begun: a meter read at noon or later shows it, one read in the morning does not."""
MOST_FARMS = 4
"""Fifteen thousand records take three megabytes."""

Thing = tuple[str, int]
WorkByThing = Mapping[Thing, list[Worked]]
NEWEST = (
    "SELECT (SELECT COUNT(*) FROM scheduling_workrecord WHERE farm_id = %s), id, recorded_at"
    " FROM scheduling_workrecord WHERE farm_id = %s ORDER BY id DESC LIMIT 1"
)
"""How many records there are, and the newest of them: both the database finds in indexes."""

_kept: OrderedDict[Hashable, tuple[Hashable, WorkByThing]] = OrderedDict()
_lock = Lock()


def standing_work(*, farm: Farm) -> QuerySet[WorkRecord]:
    """Return the work records that no newer one corrects."""
    return WorkRecord.objects.filter(farm=farm, superseded_by__isnull=True)


def work_by_thing(records: QuerySet[WorkRecord], zone: ZoneInfo) -> WorkByThing:
    """Return the work of machines and implements; work without an hour counts as begun before noon."""
    found: dict[Thing, list[Worked]] = defaultdict(list)
    noons: dict[dt.date, dt.datetime] = {}
    columns = ("machine_id", "implement_id", "starts_at", "work_on", "machine_min", "done_ac")
    for machine_id, implement_id, starts_at, work_on, machine_min, done_ac in records.values_list(*columns):
        if starts_at is None and work_on not in noons:
            noons[work_on] = dt.datetime.combine(work_on, JUST_BEFORE_NOON, tzinfo=zone).astimezone(dt.UTC)
        one = Worked(starts_at or noons[work_on], machine_min, done_ac)
        if machine_id is not None:
            found["Machine", machine_id].append(one)
        if implement_id is not None:
            found["Implement", implement_id].append(one)
    return found


def work_at_hand(*, farm: Farm) -> WorkByThing:
    """Return the standing work of all machines and implements of a farm; one query where this process has it at hand."""
    named = connection.settings_dict
    key = (named["NAME"], named["HOST"], farm.pk)
    with connection.cursor() as cursor:
        cursor.execute(NEWEST, [farm.pk, farm.pk])
        mark = (farm.zone, cursor.fetchone())
    with _lock:
        kept = _kept.get(key)
        if kept is not None and kept[0] == mark:
            _kept.move_to_end(key)
            return kept[1]
    found = dict(work_by_thing(standing_work(farm=farm).order_by(), ZoneInfo(farm.zone)))
    with _lock:
        _kept[key] = mark, found
        _kept.move_to_end(key)
        while len(_kept) > MOST_FARMS:
            _kept.popitem(last=False)
    return found


def forget() -> None:
    """Forget all work at hand: another database may have other work under the same numbers."""
    with _lock:
        _kept.clear()
