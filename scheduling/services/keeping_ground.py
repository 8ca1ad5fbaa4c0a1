"""Keeping the ground of a day: worked out once, and anew as soon as anything that it was worked out from is another."""

import datetime as dt
from zoneinfo import ZoneInfo

from django.db import transaction

from farmops.farms.models import Farm, Field
from farmops.weather.models import FieldGroundKept, GroundKept
from scheduling.selectors.day_ground import is_fit_at_some_hour, work_out_day
from scheduling.selectors.ground_marks import WIDE, farm_mark, field_marks


def ground_of_day(*, farm: Farm, day: dt.date, as_of: dt.date, now: dt.datetime) -> GroundKept:
    """Return the ground of a day as all that is recorded now has it, worked out where that is another than before.

    What is recorded of one field renews that field alone, weather and limits renew all. Two that ask at once work it
    out once. Raises what `farm_ground` raises, and keeps nothing then.
    """
    mark = farm_mark(farm=farm, day=day, as_of=as_of)
    kept = GroundKept.objects.filter(farm=farm, day=day, as_of=as_of).first()
    if kept is not None and kept.mark == mark:
        return kept
    with transaction.atomic():
        GroundKept.objects.get_or_create(farm=farm, day=day, as_of=as_of, defaults={"made_at": now})
        kept = GroundKept.objects.select_for_update().get(farm=farm, day=day, as_of=as_of)
        mark = farm_mark(farm=farm, day=day, as_of=as_of)
        if kept.mark != mark:
            _renew(kept, farm, mark, now)
    return kept


def _renew(kept: GroundKept, farm: Farm, mark: str, now: dt.datetime) -> None:
    marks = field_marks(farm=farm, day=kept.day, as_of=kept.as_of)
    described = list(Field.objects.filter(farm=farm, zones__isnull=False).distinct().order_by("id"))
    known = dict(kept.fields.values_list("field_id", "mark"))
    changed = [field for field in described if known.get(field.pk) != marks[field.pk]]
    gone = set(known) - {field.pk for field in described}
    if gone:
        kept.fields.filter(field__in=gone).delete()
    if changed or not described:
        start = dt.datetime.combine(kept.day, dt.time(), ZoneInfo(farm.zone))
        worked = work_out_day(farm=farm, day=kept.day, as_of=kept.as_of, fields=changed)
        if kept.wide_mark != marks[WIDE]:
            kept.air = worked.air
        FieldGroundKept.objects.bulk_create(
            [
                FieldGroundKept(
                    farm=farm,
                    kept=kept,
                    field=field,
                    mark=marks[field.pk],
                    is_fit=is_fit_at_some_hour(worked.fields[field.pk]["windows"], start=start),
                    told=worked.fields[field.pk],
                )
                for field in changed
            ],
            update_conflicts=True,
            unique_fields=["kept", "field"],
            update_fields=["mark", "is_fit", "told"],
            batch_size=200,
        )
    kept.mark, kept.wide_mark, kept.made_at = mark, marks[WIDE], now
    kept.save()


def forget_old_ground(*, farm: Farm, before: dt.date) -> int:
    """Delete what is kept of a farm's days before one, and return how many days that were."""
    old = GroundKept.objects.filter(farm=farm, day__lt=before)
    count = old.count()
    old.delete()
    return count
