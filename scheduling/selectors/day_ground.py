"""The ground of one day, field by field, as plain values: what is kept of it, and how it is worked out."""

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Field
from farmops.farms.operations import PIVOT_WORK, Operation
from scheduling.models import FieldPass, PassLink
from scheduling.selectors.ground import FarmGround
from scheduling.selectors.passes import OPEN_STATES, pass_key
from scheduling.selectors.windows import Judged, judged_passes
from scheduling.windows import WorkAsked
from scheduling.windows.limits import LimitKind

OUT_FROM_H, OUT_TO_H = 6, 20
"""Farm judgement: between these hours somebody may be in the field; nights are not told of."""
OF_THE_AIR = frozenset({LimitKind.CERTAINTY, LimitKind.LIGHT, LimitKind.RAIN, LimitKind.DRIFT})


@dataclass(frozen=True)
class WorkedDay:
    """Each field's part by its row id, and the hours of the air for spraying, as `PassWindows.to_json` writes them."""

    fields: dict[int, dict[str, Any]]
    air: dict[str, Any]


def work_out_day(*, farm: Farm, day: dt.date, as_of: dt.date, fields: Sequence[Field]) -> WorkedDay:
    """Work the ground of some described fields out for a day, with the windows of the first pass of each.

    A field's part holds `ground` (a `windows/1` row for each zone), `hours` (by zone: the odds of each hour of the
    day, from `OUT_FROM_H` on, that its topsoil bears tillage) and `windows` with `pass_id`, or nothing where no work
    waits. Raises what `farm_ground` raises.
    """
    first = first_of_each(farm=farm, fields=fields)
    start = dt.datetime.combine(day, dt.time(), ZoneInfo(farm.zone))
    judged = judged_passes(
        farm=farm, passes=list(first.values()), starts_at=start, days=1, as_of=as_of, fields=fields
    )
    found: dict[int, dict[str, Any]] = {}
    by_code = {field.code: field.pk for field in fields}
    for field in fields:
        found[field.pk] = {"ground": [], "hours": {}, "pass_id": None, "windows": None}
    for zone in judged.report.ground:
        found[by_code[zone.field]]["ground"].append(zone.to_json())
    for (code, name), odds in _hours(judged.ground, day).items():
        found[by_code[code]]["hours"][name] = odds
    for field_id, one in first.items():
        found[field_id] |= {"pass_id": one.pk, "windows": judged.report.of(pass_key(one)).to_json()}
    return WorkedDay(found, _air(judged))


def out_minutes(start: dt.datetime) -> tuple[int, int]:
    """Return from and until which minute after a midnight somebody may be in the field."""
    midnight = start.astimezone(dt.UTC)
    begins, ends = (
        round((start.replace(hour=hour).astimezone(dt.UTC) - midnight).total_seconds() / 60)
        for hour in (OUT_FROM_H, OUT_TO_H)
    )
    return begins, ends


def is_fit_at_some_hour(windows: dict[str, Any] | None, *, start: dt.datetime) -> bool | None:
    """Return whether windows of a day are open while somebody may be out; None where no work waits."""
    if windows is None:
        return None
    begins, ends = out_minutes(start)
    return any(one["to"] > begins and one["from"] < ends for one in windows["open"])


def first_of_each(*, farm: Farm, fields: Sequence[Field]) -> dict[int, FieldPass]:
    """Return the first open pass of each field that waits for no other, by the field's row id; where all wait, the first."""
    rows = FieldPass.objects.filter(
        farm=farm, state__in=OPEN_STATES, season__field__in=[one.pk for one in fields]
    )
    waiting = rows.exclude(operation__in=PIVOT_WORK).order_by("season__field__code", "season__part", "id")
    open_before = PassLink.objects.filter(
        farm=farm, before__state__in=OPEN_STATES, after__state__in=OPEN_STATES
    )
    behind = set(open_before.values_list("after_id", flat=True))
    chosen: dict[int, tuple[bool, int]] = {}
    for pk, field_id in waiting.values_list("pk", "season__field_id"):
        is_behind = pk in behind
        if field_id not in chosen or (chosen[field_id][0] and not is_behind):
            chosen[field_id] = is_behind, pk
    passes = FieldPass.objects.filter(pk__in=[pk for _behind, pk in chosen.values()])
    return {one.season.field_id: one for one in passes.select_related("season__field")}


def _hours(worked_out: FarmGround, day: dt.date) -> dict[tuple[str, str], list[float]]:
    """Return by field and zone, where a field has several, the odds of each hour that the topsoil bears tillage."""
    ground = worked_out.ground
    counts = Counter(zone.field for zone in ground.zones)
    hours = [
        index
        for index, (at, clock_h) in enumerate(zip(ground.grid.day_index, ground.grid.clock_h, strict=True))
        if ground.grid.days[at] == day and OUT_FROM_H <= clock_h < OUT_TO_H
    ]
    found = {}
    for zone, column in zip(ground.zones, ground.columns, strict=True):
        if counts[zone.field] > 1:
            chance = (ground.topsoil_m3_m3[hours, column, :] < zone.workable_below_m3_m3).mean(axis=1)
            found[zone.field, zone.name] = [round(float(share), 4) for share in chance]
    return found


def _air(judged: Judged) -> dict[str, Any]:
    """Return when wind, inversion, rain and light let anybody spray, whatever the ground is like."""
    limits = [one for one in judged.limits.everywhere if one.kind in OF_THE_AIR]
    asked = WorkAsked(field="", operation=Operation.SPRAY, crop="", zones=(0,))
    return replace(judged.judge.windows(asked=asked, limits=limits), key="air").to_json()
