"""What shuts fields after spraying: what is recorded, and what was told of it that no record holds yet.

A report that waits for the manager, whatever does not fit in it, may well tell of a field that was sprayed: until it is
set aside, the hours of its label keep people out. Work on a spraying pass counts with the label's hours of its plan.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from farmops.core.clock import local_date
from farmops.farms.models import Farm, Field
from farmops.farms.operations import SPRAYING
from scheduling.models import FieldPass, FieldReport, ParkedState, ReportKind, Spraying, WorkRecord
from scheduling.selectors.by_farm import rows_by_farm
from scheduling.selectors.field_facts import sprayings_of, sprayings_of_farms
from scheduling.windows.stops import Sprayed

LONGEST_REENTRY_DAYS = 60
"""No label's hours are longer, with the most that a farm may add to them."""
LONGEST_PLANT_BACK_DAYS = 1460
"""No label's days to the next crop are more; what a report says beyond is a slip of the pen."""
MOST_NAMES = 300


@dataclass(frozen=True)
class Reported:
    """Spraying that work tells of, with no label's hours kept on the field since."""

    pass_id: int
    field_id: int
    field_name: str
    day: dt.date
    sprayed: Sprayed | None


@dataclass(frozen=True)
class SprayRows:
    """The rows of a farm and some days: sprayings, work on spraying passes, and reports that wait."""

    sprayings: Sequence[Spraying] = ()
    works: Sequence[WorkRecord] = ()
    waiting: Sequence[FieldReport] = ()

    def waiting_of(self, kind: ReportKind) -> list[FieldReport]:
        """Return the reports of a kind that wait, in the order in which they came."""
        return [row for row in self.waiting if row.kind == kind]


NOTHING_SPRAYED = SprayRows()


def spray_rows(*, farms: Collection[int], zone: str, first: dt.date, last: dt.date) -> dict[int, SprayRows]:
    """Read what `sprayed_fields` and `reported_without_a_label` look at, of all fields of some farms in one zone.

    Three queries, however many farms; by the farm's row id, without those that have nothing.
    """
    sprayings = rows_by_farm(sprayings_of_farms(farms=farms, zone=zone, first=first, last=last))
    works = rows_by_farm(_spraying_work(farms, first, last))
    waiting = rows_by_farm(_waiting_of(farms, (ReportKind.SPRAY, ReportKind.WORK)))
    return {
        pk: SprayRows(sprayings.get(pk, ()), works.get(pk, ()), waiting.get(pk, ()))
        for pk in {*sprayings, *works, *waiting}
    }


def sprayed_fields(
    *,
    farm: Farm,
    first: dt.date,
    last: dt.date,
    only: Collection[int] | None = None,
    read: SprayRows | None = None,
) -> dict[int, list[Sprayed]]:
    """Return what was sprayed on days of the farm's clock by the fields' row ids: recorded, or told by what waits.

    `only` are the row ids of the fields asked for, else all. `read` are the rows of these days, where they are read.
    """
    found: dict[int, list[Sprayed]] = defaultdict(list)
    rows = sprayings_of(farm=farm, first=first, last=last, only=only) if read is None else read.sprayings
    for row in rows:
        found[row.field_id].append(
            Sprayed(row.ended_at, row.products, float(row.reentry_h), row.plant_back_days)
        )
    told_of = _waiting(farm, ReportKind.SPRAY) if read is None else read.waiting_of(ReportKind.SPRAY)
    waiting = [row.body for row in told_of]
    if waiting:
        of_farm = Field.objects.filter(farm=farm) if only is None else Field.objects.filter(pk__in=only)
        ids = dict(of_farm.values_list("code", "pk"))
        for body in waiting:
            field_id, told = ids.get(str(body.get("field"))), _told(body, farm.zone)
            if field_id is not None and told is not None and _is_in(told, first, last, farm.zone):
                found[field_id].append(told)
    return found


def reported_without_a_label(
    *,
    farm: Farm,
    first: dt.date,
    last: dt.date,
    sprayings: Mapping[int, Sequence[Sprayed]],
    only: Collection[int] | None = None,
    read: SprayRows | None = None,
) -> list[Reported]:
    """Return the work on spraying passes of some days after which no label's hours are among `sprayings`.

    `only` are the row ids of the fields asked for, else all. `read` are the rows of these days, where they are read.
    """
    works: Iterable[WorkRecord]
    if read is not None:
        works, waiting = read.works, read.waiting_of(ReportKind.WORK)
    else:
        works = _spraying_work([farm.pk], first, last)
        works = works if only is None else works.filter(field_pass__season__field__in=only)
        waiting = _waiting(farm, ReportKind.WORK)
    told = [(row.field_pass, row.work_on, _as_planned(row, farm.zone)) for row in works]
    told += _waiting_work(farm, waiting, first, last)
    return [
        Reported(one.pk, field.pk, field.name, day, sprayed)
        for one, day, sprayed in told
        for field in [one.season.field]
        if (only is None or field.pk in only)
        and not any(local_date(each.ended_at, farm.zone) >= day for each in sprayings.get(field.pk, ()))
    ]


def _spraying_work(farms: Collection[int], first: dt.date, last: dt.date) -> QuerySet[WorkRecord]:
    rows = WorkRecord.objects.filter(
        farm__in=farms,
        field_pass__operation__in=SPRAYING,
        work_on__range=(first, last),
        superseded_by__isnull=True,
    )
    done = rows.filter(Q(done_ac__gt=0) | Q(is_finished=True))
    return done.select_related("field_pass__season__field").order_by("work_on", "id")


def _as_planned(record: WorkRecord, zone: str) -> Sprayed | None:
    """Return a reported spraying with the label's hours that its pass was planned with, if it was."""
    if record.starts_at is not None:
        ended_at = record.starts_at + dt.timedelta(minutes=record.hand_min)
    else:
        ended_at = _midnight_after(record.work_on, zone)
    return _planned(record.field_pass, ended_at)


def _planned(field_pass: FieldPass, ended_at: dt.datetime) -> Sprayed | None:
    hours = field_pass.reentry_h
    if hours is None:
        return None
    return Sprayed(ended_at, "what was planned", float(hours), products_es="lo planeado")


def _waiting_work(
    farm: Farm, waiting: Iterable[FieldReport], first: dt.date, last: dt.date
) -> list[tuple[FieldPass, dt.date, Sprayed | None]]:
    """Return the spraying passes of reports of work that wait; without an hour that is sure they end with the day."""
    told = []
    for row in waiting:
        number, acres = str(row.body.get("pass_id", "")), _decimal(row.body.get("done_ac", 0))
        day = _day(row.body.get("work_on"))
        is_done = row.body.get("finished") is True or acres
        if is_done and number.isdecimal() and day is not None and first <= day <= last:
            told.append((int(number), day))
    if not told:
        return []
    passes = FieldPass.objects.filter(
        farm=farm, pk__in=[number for number, _day_of in told], operation__in=SPRAYING
    ).select_related("season__field")
    known = {one.pk: one for one in passes}
    return [
        (known[number], day, _planned(known[number], _midnight_after(day, farm.zone)))
        for number, day in told
        if number in known
    ]


def _waiting(farm: Farm, kind: ReportKind) -> list[FieldReport]:
    return list(_waiting_of([farm.pk], [kind]))


def _waiting_of(farms: Collection[int], kinds: Collection[ReportKind]) -> QuerySet[FieldReport]:
    rows = FieldReport.objects.filter(farm__in=farms, kind__in=kinds, parked__state=ParkedState.WAITING)
    return rows.order_by("received_at", "id")


def _told(body: Mapping[str, Any], zone: str) -> Sprayed | None:
    """Return what the body of a report tells; None where it holds no hour or no label's hours."""
    ended_at, hours = _instant(body.get("ended_at"), zone), _decimal(body.get("reentry_h"))
    if ended_at is None or hours is None:
        return None
    rows = body.get("products")
    names = [
        str(one.get("name", "")) for one in (rows if isinstance(rows, list) else []) if isinstance(one, dict)
    ]
    days = str(body.get("plant_back_days", ""))
    most_h = Decimal(LONGEST_REENTRY_DAYS * 24)
    return Sprayed(
        ended_at,
        ", ".join(filter(None, names))[:MOST_NAMES],
        float(min(hours, most_h)),
        min(int(days), LONGEST_PLANT_BACK_DAYS) if days.isdecimal() else None,
    )


def _is_in(told: Sprayed, first: dt.date, last: dt.date, zone: str) -> bool:
    return first <= local_date(told.ended_at, zone) <= last


def _midnight_after(day: dt.date, zone: str) -> dt.datetime:
    return dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), ZoneInfo(zone))


def _instant(value: Any, zone: str) -> dt.datetime | None:
    try:
        there = dt.datetime.fromisoformat(str(value).strip())
    except ValueError:
        return None
    return there if there.tzinfo is not None else there.replace(tzinfo=ZoneInfo(zone))


def _day(value: Any) -> dt.date | None:
    try:
        return dt.date.fromisoformat(str(value))
    except ValueError:
        return None


def _decimal(value: Any) -> Decimal | None:
    try:
        number = Decimal(str(value).strip().replace(",", "."))
    except InvalidOperation:
        return None
    return number if number.is_finite() and number >= 0 else None
