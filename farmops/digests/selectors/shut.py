"""Read which fields are shut today for the work that comes next on them, and why."""

import datetime as dt
from collections.abc import Collection, Sequence
from zoneinfo import ZoneInfo

from farmops.core.problems import DomainError
from farmops.digests.farm_facts import ShutField, ShutPart
from farmops.farms.models import Farm, Field
from farmops.farms.operations import PIVOT_WORK, Operation
from scheduling.models import FieldPass, PassLink
from scheduling.selectors.passes import open_passes, pass_key
from scheduling.selectors.windows import pass_windows
from scheduling.slips.words import Said
from scheduling.windows.report import PassWindows

OUT_FROM, OUT_TO = dt.time(6), dt.time(20)
"""Farm judgement: the hours of a working day; a shut night is no news."""
MOST_PARTS = 2


def shut_fields(*, farm: Farm, day: dt.date, planned: Collection[int]) -> tuple[ShutField, ...] | None:
    """Return the fields that are shut for a part of a day, by the weather known the evening before; None without weather.

    A field is judged by the pass planned on it that day (`planned` holds their ids), else by its first open pass that
    waits for no other.
    """
    known = {field.pk: field for field in Field.objects.filter(farm=farm, zones__isnull=False).distinct()}
    open_now = [one for one in open_passes(farm=farm) if one.operation not in PIVOT_WORK]
    passes = _next_of_each([one for one in open_now if one.season.field_id in known], planned)
    if not passes:
        return ()
    zone = ZoneInfo(farm.zone)
    begins = dt.datetime.combine(day, dt.time(), tzinfo=zone)
    fields = [known[pk] for pk in {one.season.field_id for one in passes}]
    try:
        report = pass_windows(
            farm=farm,
            passes=passes,
            starts_at=begins,
            days=1,
            as_of=day - dt.timedelta(days=1),
            fields=fields,
        )
    except DomainError:
        return None
    found = [_shut(one, report.of(pass_key(one)), begins) for one in passes]
    return tuple(sorted((one for one in found if one.parts), key=lambda one: one.field_name))


def _next_of_each(passes: Sequence[FieldPass], planned: Collection[int]) -> list[FieldPass]:
    behind = set(
        PassLink.objects.filter(before__in=passes, after__in=passes).values_list("after_id", flat=True)
    )
    found: dict[int, FieldPass] = {}
    for one in sorted(passes, key=lambda one: (one.pk not in planned, one.pk in behind)):
        found.setdefault(one.season.field_id, one)
    return list(found.values())


def _shut(one: FieldPass, windows: PassWindows, begins: dt.datetime) -> ShutField:
    zone, midnight = begins.tzinfo, begins.astimezone(dt.UTC)
    first, last = (
        dt.datetime.combine(begins.date(), hour, tzinfo=zone).astimezone(dt.UTC)
        for hour in (OUT_FROM, OUT_TO)
    )
    parts: list[ShutPart] = []
    for stretch in windows.shut:
        starts = max(first, midnight + dt.timedelta(minutes=stretch.from_min))
        ends = min(last, midnight + dt.timedelta(minutes=stretch.to_min))
        if starts < ends:
            says = Said(stretch.says_en, stretch.says_es)
            parts.append(ShutPart(starts.astimezone(zone), ends.astimezone(zone), says))
    whole = sum((part.ends_at - part.starts_at for part in parts), dt.timedelta()) >= last - first
    return ShutField(
        field_name=one.season.field.name,
        operation=Operation(one.operation),
        parts=tuple(_longest(parts)[: 1 if whole else MOST_PARTS]),
        is_all_day=whole,
    )


def _longest(parts: list[ShutPart]) -> list[ShutPart]:
    """Return the parts with those that touch and say the same joined, the longest first."""
    joined: list[ShutPart] = []
    for part in parts:
        last = joined[-1] if joined else None
        if last is not None and last.says == part.says and last.ends_at >= part.starts_at:
            joined[-1] = ShutPart(last.starts_at, part.ends_at, last.says)
        else:
            joined.append(part)
    return sorted(joined, key=lambda part: part.starts_at - part.ends_at)
