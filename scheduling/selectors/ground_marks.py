"""What the ground of a day is worked out from, as marks: of the whole farm in one query, and field by field.

Whoever makes the ground or its windows look at another kind of row adds it here; a test changes each kind that there
is and sees the mark change.
"""

import datetime as dt
import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection

from farmops import science, weather
from farmops.farms.models import CropWaterFacts, Farm, Field, Pivot, Pump, PumpShutHours, Season, SoilZone
from farmops.farms.operations import Operation
from farmops.weather.models import DailyWeather, ForecastIssue, GaugeReading, SoilReading, Station
from farmops.weather.sources.rows import QUANTITIES
from scheduling import selectors, windows
from scheduling.models import (
    FieldPass,
    FieldReport,
    LimitChoice,
    ParkedState,
    PassLink,
    PivotPlace,
    PlannedTask,
    PlanState,
    Remark,
    ReportKind,
    SaySo,
    Spraying,
    Watering,
    WorkRecord,
)
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.row_marks import Marked, as_statement
from scheduling.windows.limits_file import SHIPPED

DAY = dt.timedelta(days=1)
WIDE = 0
"""In place of a field's id: what counts for every field."""
ANY_FIELD = -(2**53)
"""In place of a field's id in a query that is put together once for all fields."""


def farm_mark(*, farm: Farm, day: dt.date, as_of: dt.date) -> str:
    """Return the mark of all that the ground of a day is worked out from, in two queries.

    It is another after any write of these rows; whether one changed what the ground rests on, `field_marks` says.
    """
    with connection.cursor() as cursor:
        cursor.execute(*_statement(farm.pk, farm.zone, day, as_of, connection.vendor))
        marks = sorted(cursor.fetchall())
    return _digest([_basis(farm, day, as_of), marks, sorted(_waiting(farm))])


@lru_cache(maxsize=256)
def _statement(
    farm_id: int, zone: str, day: dt.date, as_of: dt.date, vendor: str
) -> tuple[str, tuple[Any, ...]]:
    """Return the query of the marks of all kinds."""
    farm = Farm(pk=farm_id, zone=zone)
    kinds = [*_marked(farm, day, day, as_of), Marked("link", PassLink.objects.filter(farm=farm))]
    return as_statement([one.as_written() for one in kinds])


def field_marks(*, farm: Farm, day: dt.date, as_of: dt.date) -> dict[int, str]:
    """Return the mark of each field by its row id, and under `WIDE` that of what counts for every field."""
    told: dict[int, list[Any]] = defaultdict(list)
    open_links = PassLink.objects.filter(
        farm=farm, after__state__in=OPEN_STATES, before__state__in=OPEN_STATES
    )
    kinds = [
        *_marked(farm, day, day, as_of),
        Marked("link", open_links, "after__season__field_id", ("pk", "before_id", "after_id")),
    ]
    wide = [one.whole() for one in kinds if not one.field_path]
    told[WIDE] += sorted(wide[0].union(*wide[1:], all=True))
    of_fields = [one.by_field() for one in kinds if one.field_path]
    for field_id, name, mark in of_fields[0].union(*of_fields[1:], all=True):
        told[field_id or WIDE].append((name, mark))
    for report_id, field_id in _fields_of_waiting(farm):
        told[field_id].append(("waiting", str(report_id)))
    base = _digest([_basis(farm, day, as_of), sorted(told.pop(WIDE))])
    return {WIDE: base} | {field_id: _digest([base, sorted(rows)]) for field_id, rows in told.items()}


def ahead_mark(*, farm: Farm, field: Field, first: dt.date, last: dt.date, as_of: dt.date) -> str:
    """Return the mark of all that one field's ground and the windows of its passes on some days are worked out from.

    One query. The choices of all limits count, since a choice that no limit follows any more is told of everywhere.
    """
    return _ahead(farm, field, first, last, as_of, is_written=False)


def ahead_written(*, farm: Farm, field: Field, first: dt.date, last: dt.date, as_of: dt.date) -> str:
    """Return what `ahead_mark` does, but another after any write of these rows, in all their columns: cheaper."""
    return _ahead(farm, field, first, last, as_of, is_written=True)


def _ahead(
    farm: Farm, field: Field, first: dt.date, last: dt.date, as_of: dt.date, *, is_written: bool
) -> str:
    with connection.cursor() as cursor:
        sql, params = _ahead_statement(
            farm.pk, farm.zone, first, last, as_of, connection.vendor, is_written=is_written
        )
        cursor.execute(sql, tuple(field.pk if one == ANY_FIELD else one for one in params))
        marks = sorted(cursor.fetchall())
    return _digest([_basis(farm, first, as_of), str(last), field.name, marks])


@lru_cache(maxsize=256)
def _ahead_statement(
    farm_id: int, zone: str, first: dt.date, last: dt.date, as_of: dt.date, vendor: str, *, is_written: bool
) -> tuple[str, tuple[Any, ...]]:
    """Return the query of `ahead_mark` or `ahead_written` with `ANY_FIELD` where the field's row id goes."""
    farm = Farm(pk=farm_id, zone=zone)
    reports = FieldReport.objects.filter(farm=farm, parked__state=ParkedState.WAITING)
    kinds = [
        *(
            one if not one.field_path or one.name == "limit" else replace(one, rows=one.of_field(ANY_FIELD))
            for one in _marked(farm, first, last, as_of)
        ),
        Marked("waiting", reports, columns=("pk",)),
    ]
    return as_statement([one.as_written() if is_written else one.whole() for one in kinds])


def _marked(farm: Farm, first: dt.date, last: dt.date, as_of: dt.date) -> list[Marked]:
    open_passes = FieldPass.objects.filter(farm=farm, state__in=OPEN_STATES)
    ends = dt.datetime.combine(last + DAY, dt.time(), ZoneInfo(farm.zone))
    planned = PlannedTask.objects.filter(farm=farm, plan__state=PlanState.SENT, operation=Operation.IRRIGATE)
    return [
        Marked(
            "weather",
            DailyWeather.objects.filter(farm=farm, day__lte=as_of),
            columns=("pk", "station_id", "day", *QUANTITIES, "is_filled", "filled_names"),
        ),
        Marked(
            "station",
            Station.objects.filter(farm=farm),
            columns=("pk", "latitude_deg", "longitude_deg", "elevation_m"),
        ),
        Marked("forecast", ForecastIssue.objects.filter(farm=farm), columns=("pk", "file_sha256")),
        Marked("crop water", CropWaterFacts.objects.filter(farm=farm)),
        Marked("pump", Pump.objects.filter(farm=farm), columns=("pk", "name")),
        Marked(
            "pump shut",
            PumpShutHours.objects.filter(farm=farm),
            columns=("pk", "pump_id", "weekday", "starts_at", "ends_at"),
        ),
        Marked("limit", LimitChoice.objects.filter(farm=farm), "field_id"),
        Marked(
            "field", Field.objects.filter(farm=farm), "pk", ("pk", "code", "latitude_deg", "longitude_deg")
        ),
        Marked(
            "zone",
            SoilZone.objects.filter(farm=farm),
            "field_id",
            tuple(one.attname for one in SoilZone._meta.concrete_fields),
        ),
        Marked("season", Season.objects.filter(farm=farm), "field_id", ("pk", "crop_year", "crop", "part")),
        Marked(
            "pass",
            open_passes,
            "season__field_id",
            (
                "pk",
                "state",
                "operation",
                "turn",
                "part",
                "season_id",
                "area_ac",
                "done_ac",
                "depth_in",
                "reentry_h",
            ),
        ),
        Marked("irrigation", planned, "field_id", ("pk", "field_pass_id")),
        Marked(
            "pivot",
            Pivot.objects.filter(farm=farm),
            "field_id",
            ("pk", "field_id", "pump_id", "parking_angle_deg"),
        ),
        Marked("pivot place", PivotPlace.objects.filter(farm=farm, seen_at__lt=ends), "pivot__field_id"),
        Marked("gauge", GaugeReading.objects.filter(farm=farm), "field_id"),
        Marked("thermometer", SoilReading.objects.filter(farm=farm), "field_id"),
        Marked("remark", Remark.objects.filter(farm=farm), "field_id"),
        Marked("watering", Watering.objects.filter(farm=farm), "field_id"),
        Marked("spraying", Spraying.objects.filter(farm=farm), "field_id"),
        Marked("work", WorkRecord.objects.filter(farm=farm), "field_pass__season__field_id"),
        Marked(
            "say-so",
            SaySo.objects.filter(farm=farm, day__range=(first, last)),
            "field_id",
            ("pk", "zone_id", "day", "word", "after_at", "is_taken_back"),
        ),
    ]


def _waiting(farm: Farm) -> list[int]:
    rows = FieldReport.objects.filter(
        farm=farm, kind__in=(ReportKind.SPRAY, ReportKind.WORK), parked__state=ParkedState.WAITING
    )
    return list(rows.order_by().values_list("pk", flat=True))


def _fields_of_waiting(farm: Farm) -> Iterable[tuple[int, int]]:
    """Yield the reports that wait and the fields that they tell of, by their row ids."""
    rows = FieldReport.objects.filter(pk__in=_waiting(farm)).values_list("pk", "kind", "body")
    told = [(pk, kind, body) for pk, kind, body in rows if isinstance(body, Mapping)]
    if not told:
        return
    codes = dict(Field.objects.filter(farm=farm).values_list("code", "pk"))
    numbers = [str(body.get("pass_id", "")) for _pk, _kind, body in told]
    passes = FieldPass.objects.filter(
        farm=farm, pk__in=[int(one) for one in numbers if one.isdecimal() and len(one) < 19]
    )
    by_pass = {str(pk): field_id for pk, field_id in passes.values_list("pk", "season__field_id")}
    for pk, kind, body in told:
        if kind == ReportKind.SPRAY:
            field_id = codes.get(str(body.get("field")))
        else:
            number = str(body.get("pass_id", ""))
            field_id = by_pass.get(str(int(number)) if number.isdecimal() else "")
        if field_id is not None:
            yield pk, field_id


def _basis(farm: Farm, day: dt.date, as_of: dt.date) -> list[str]:
    place = (farm.zone, farm.region, farm.latitude_deg, farm.longitude_deg, farm.elevation_ft)
    return [str(one) for one in (*place, day, as_of, _code_mark())]


@lru_cache(maxsize=1)
def _code_mark() -> str:
    """Return the mark of the files that say how ground and windows are worked out: another release works them out anew."""
    packages = [Path(one.__path__[0]) for one in (science, weather, selectors, windows)]
    files = [SHIPPED, *(file for package in packages for file in sorted(package.rglob("*.py")))]
    found = hashlib.sha256()
    for file in files:
        found.update(file.read_bytes())
    return found.hexdigest()


def _digest(value: Any) -> str:
    return hashlib.sha256(json.dumps(value, default=str).encode()).hexdigest()
