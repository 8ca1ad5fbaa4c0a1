"""The ground of one field over some days and the windows of its passes, kept until anything that they rest on is another."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Field
from scheduling.models import FieldPass
from scheduling.selectors.ground import field_ground_table
from scheduling.selectors.ground_marks import ahead_mark
from scheduling.selectors.passes import pass_key
from scheduling.selectors.windows import pass_windows
from scheduling.selectors.worked_out import worked_out


@dataclass(frozen=True)
class FieldAhead:
    """Rows of `windows/1`: the passes judged from the first day on, and each zone's ground from some days before it."""

    passes: list[dict[str, Any]]
    ground: list[dict[str, Any]]
    notes: list[str]


def field_ahead(
    *,
    farm: Farm,
    field: Field,
    passes: Sequence[FieldPass],
    first: dt.date,
    days: int,
    days_back: int,
    as_of: dt.date,
) -> FieldAhead:
    """Return the windows of a field's passes on `days` days from `first` on, and its ground of `days_back` more days.

    Raises what `farm_ground` raises, and keeps nothing then.
    """
    last = first + dt.timedelta(days=days - 1)

    def make() -> dict[str, Any]:
        report = pass_windows(
            farm=farm,
            passes=passes,
            starts_at=dt.datetime.combine(first, dt.time(), ZoneInfo(farm.zone)),
            days=days,
            as_of=as_of,
            fields=[field],
        )
        begins = first - dt.timedelta(days=days_back)
        zones = field_ground_table(farm=farm, field=field, first=begins, last=last, as_of=as_of)
        return {
            "passes": report.to_json()["passes"],
            "ground": [zone.to_json() for zone in zones],
            "notes": list(report.notes),
        }

    mark = ahead_mark(farm=farm, field=field, first=first, last=last, as_of=as_of)
    made_from = [farm.pk, field.pk, days_back, mark, [[one.pk, pass_key(one)] for one in passes]]
    return FieldAhead(**worked_out("field-ahead-1", made_from, make))
