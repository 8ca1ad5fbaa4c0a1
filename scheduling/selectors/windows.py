"""The windows of a farm's passes: a constant number of queries, then pure judging."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Field, Pivot
from farmops.farms.operations import Operation
from scheduling.models import FieldPass, SaySo
from scheduling.selectors.ground import FarmGround, NoSoil, farm_ground
from scheduling.selectors.passes import pass_key
from scheduling.windows import Horizon, PassWindows, WindowsReport, WorkAsked, horizon_min, judge, load_limits
from scheduling.windows.power import PowerCut
from scheduling.windows.sayings import Saying, Word


def pass_windows(
    *,
    farm: Farm,
    passes: Sequence[FieldPass],
    starts_at: dt.datetime,
    days: int,
    as_of: dt.date,
    fields: Collection[Field] | None = None,
) -> WindowsReport:
    """Judge every pass from `starts_at` until the farm's clock shows the same hour `days` days later.

    Weather counts as it was known at the end of `as_of`. The report holds the ground of all fields, or of `fields`
    (which must then hold the passes' fields).
    """
    if days < 1:
        raise ValueError(f"days is {days}; it must be 1 or more")
    clock = ZoneInfo(farm.zone)
    horizon = Horizon(starts_at, horizon_min(starts_at=starts_at, days=days, zone=farm.zone))
    first = starts_at.astimezone(clock).date()
    ends = starts_at.astimezone(dt.UTC) + dt.timedelta(minutes=horizon.minutes - 1)
    last = ends.astimezone(clock).date()
    limits = load_limits()
    worked_out = farm_ground(farm=farm, first=first, last=last, as_of=as_of, fields=fields, limits=limits)
    sayings = _sayings(farm, first, last)
    pivots = _pivots(farm)
    known: dict[tuple[int, str, str], PassWindows] = {}
    judged = []
    for one in passes:
        field = one.season.field
        kind = (field.pk, one.operation, one.season.crop)
        if kind not in known:
            known[kind] = judge(
                asked=_asked(one, worked_out, sayings, pivots),
                limits=limits,
                ground=worked_out.ground,
                horizon=horizon,
            )
        judged.append(replace(known[kind], key=pass_key(one)))
    return WindowsReport(
        start=starts_at.astimezone(clock),
        zone=farm.zone,
        days=days,
        as_of=as_of,
        horizon_min=horizon.minutes,
        passes=tuple(judged),
        ground=worked_out.table(),
        notes=worked_out.notes,
    )


def _asked(
    one: FieldPass, worked_out: FarmGround, sayings: dict[int, list[Saying]], pivots: dict[int, Pivot]
) -> WorkAsked:
    field = one.season.field
    zones = worked_out.zones_of.get(field.pk)
    if zones is None:
        raise NoSoil(f"No soil is described for the field {field.code}.")
    pivot = pivots.get(field.pk)
    cuts = pivot.pump.shut_hours.all() if pivot is not None else ()
    return WorkAsked(
        field=field.code,
        operation=Operation(one.operation),
        crop=one.season.crop,
        zones=zones,
        sayings=tuple(sayings.get(field.pk, ())),
        power_cuts=tuple(PowerCut(cut.weekday, cut.starts_at, cut.ends_at) for cut in cuts),
        pump=pivot.pump.name if pivot is not None else "",
    )


def _sayings(farm: Farm, first: dt.date, last: dt.date) -> dict[int, list[Saying]]:
    rows = (
        SaySo.objects.filter(farm=farm, day__range=(first, last))
        .select_related("zone")
        .order_by("said_at", "id")
    )
    found: dict[int, list[Saying]] = defaultdict(list)
    for row in rows:
        zone_name = row.zone.name if row.zone is not None else None
        found[row.field_id].append(Saying(zone_name, row.day, Word(row.word), row.after_at, row.said_at))
    return found


def _pivots(farm: Farm) -> dict[int, Pivot]:
    rows = Pivot.objects.filter(farm=farm).select_related("pump").prefetch_related("pump__shut_hours")
    return {pivot.field_id: pivot for pivot in rows}
