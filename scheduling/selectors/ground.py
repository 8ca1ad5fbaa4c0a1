"""The ground of a farm's fields on given days, from its soil, its weather and what was seen, read and done on each."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field, Season, SoilZone
from farmops.farms.operations import Operation
from farmops.science.crops import CROP_WATER
from farmops.science.textures import TEXTURES
from farmops.science.units import m_from_feet
from farmops.science.workability import RetentionCurve, dry_limit_m3_m3, workable_limit_m3_m3
from farmops.weather.selectors import daily_series, hourly_forecast, known_days
from scheduling.selectors.forecast_hours import rain_weights, told_hours
from scheduling.selectors.zone_facts import plantings, zone_facts
from scheduling.windows import Limit, load_limits
from scheduling.windows.day_weather import Place, WeatherDays
from scheduling.windows.ground import DAYS_BEYOND, Ground, ZoneSoil, spin_up_first, work_out
from scheduling.windows.ground_table import ground_table
from scheduling.windows.history import PastDays
from scheduling.windows.members import CLIMATOLOGY, MEMBERS
from scheduling.windows.report import ZoneGround

USUAL_SOIL_DEPTH_IN = 4.0
USUAL_SEED_DEPTH_IN = 1.5
POLAR_FROM_DEG = 66
DAY = dt.timedelta(days=1)
FEW_ROWS = 200
"""Up to so many zones are asked for by their fields; for more it is quicker to read the seasons of the farm."""


class NoSoil(DomainError):
    """A field's soil is not described, or by a texture that nobody knows."""

    code = "no_soil"


class NoSunEveryDay(DomainError):
    """A place where the sun does not rise and set every day; the ground is not modeled there."""

    code = "no_sun_every_day"


@dataclass(frozen=True)
class FarmGround:
    """The ground of a farm's zones; `zones_of` lists the places of each field's zones by its row id."""

    ground: Ground
    first: dt.date
    last: dt.date
    zones_of: Mapping[int, tuple[int, ...]]
    notes: tuple[str, ...]

    def table(self) -> tuple[ZoneGround, ...]:
        """Return one row per zone and day."""
        return ground_table(self.ground, first=self.first, last=self.last)


def farm_ground(
    *,
    farm: Farm,
    first: dt.date,
    last: dt.date,
    as_of: dt.date,
    fields: Collection[Field] | None = None,
    limits: Sequence[Limit] | None = None,
    members: int = MEMBERS,
    with_remarks: bool = True,
) -> FarmGround:
    """Work out the ground of `first`..`last` as it was known at the end of `as_of`, of all fields or some.

    What was said and read on the ground counts up to the day after, so that the morning's remarks are in the morning's
    plan; without `with_remarks` the water is the model's alone. Raises NoSoil for a field without a described soil,
    NoWeather for a farm without weather, NoSunEveryDay for one near a pole.
    """
    if abs(farm.latitude_deg) > POLAR_FROM_DEG:
        raise NoSunEveryDay(
            _(
                "{farm} lies at {latitude}° of latitude; the ground is worked out only up to {most}°, where the sun "
                "rises and sets every day."
            ).format(farm=farm.name, latitude=f"{abs(farm.latitude_deg.normalize()):f}", most=POLAR_FROM_DEG)
        )
    rows = _zone_rows(farm, fields)
    only = None if fields is None else {row.field_id for row in rows}
    planted = plantings(farm=farm, as_of=as_of, only=only)
    begins = spin_up_first(
        first=first,
        as_of=as_of,
        planted_on=min(
            (planted[row.field_id].planted_on for row in rows if row.field_id in planted), default=None
        ),
    )
    series = daily_series(farm=farm, first=begins, last=last + dt.timedelta(days=DAYS_BEYOND), as_of=as_of)
    weather = WeatherDays(
        days=tuple(series.days),
        kind=tuple(series.kind),
        **{
            name: getattr(series, name)
            for name in WeatherDays.__dataclass_fields__
            if name not in ("days", "kind")
        },
    )
    forecast = hourly_forecast(farm=farm, as_of=as_of)
    facts = zone_facts(farm=farm, zones=rows, days=weather.days, as_of=as_of, planted=planted)
    ground = work_out(
        place=Place(
            latitude_deg=float(farm.latitude_deg),
            longitude_deg=float(farm.longitude_deg),
            elevation_m=float(m_from_feet(float(farm.elevation_ft))),
            zone=farm.zone,
        ),
        zones=_zone_soils(farm, rows, load_limits() if limits is None else limits),
        facts=facts if with_remarks else [replace(one, remarks=()) for one in facts],
        weather=weather,
        as_of=as_of,
        first=first,
        last=last,
        rain_weight_at=rain_weights(forecast, zone=farm.zone),
        told_hours=told_hours(forecast),
        past=_past_days(farm, as_of) if CLIMATOLOGY in weather.kind else None,
        members=members,
    )
    places: dict[int, list[int]] = defaultdict(list)
    for place, row in enumerate(rows):
        places[row.field_id].append(place)
    return FarmGround(
        ground=ground,
        first=first,
        last=last,
        zones_of={field_id: tuple(found) for field_id, found in places.items()},
        notes=series.notes,
    )


def field_ground_table(
    *, farm: Farm, field: Field, first: dt.date, last: dt.date, as_of: dt.date
) -> tuple[ZoneGround, ...]:
    """Return the ground of one field, one row per zone and day."""
    return farm_ground(farm=farm, first=first, last=last, as_of=as_of, fields=[field]).table()


def zone_soils(
    *, farm: Farm, fields: Collection[Field] | None = None, limits: Sequence[Limit]
) -> list[tuple[SoilZone, ZoneSoil]]:
    """Return the soil zones of all fields or some, with the water between which each is worked. Raises NoSoil."""
    rows = _zone_rows(farm, fields)
    return list(zip(rows, _zone_soils(farm, rows, limits), strict=True))


def _zone_rows(farm: Farm, fields: Collection[Field] | None) -> list[SoilZone]:
    found_in = SoilZone.objects.filter(farm=farm).select_related("field").defer("field__boundary")
    rows = found_in.order_by("field__code", "id")
    if fields is not None:
        rows = rows.filter(field__in=fields)
    found = list(rows)
    if not found:
        raise NoSoil(_("No soil is described for the fields of {farm}.").format(farm=farm.name))
    return found


def _zone_soils(farm: Farm, rows: Sequence[SoilZone], limits: Sequence[Limit]) -> list[ZoneSoil]:
    """Return what is lasting about each zone: the zone's own numbers where it has them, else its texture's."""
    of_rows = Season.objects.filter(farm=farm)
    if len(rows) <= FEW_ROWS:
        of_rows = of_rows.filter(field__in={row.field_id for row in rows})
    seasons = of_rows.order_by("crop_year", "part")
    crops = dict(seasons.values_list("field_id", "crop"))
    soils = []
    for row in rows:
        texture = TEXTURES.get(row.texture)
        if texture is None:
            known = ", ".join(TEXTURES)
            raise NoSoil(
                _("{zone}: nobody knows the texture {texture}. Known are {known}.").format(
                    zone=row, texture=repr(row.texture), known=known
                )
            )
        curve = _retention(row)
        workable, dry = row.workable_m3_m3, row.dry_m3_m3
        crop = crops.get(row.field_id, "")
        water = CROP_WATER.get((farm.region, crop))
        soils.append(
            ZoneSoil(
                field=row.field.code,
                name=row.name,
                texture=texture,
                workable_below_m3_m3=(
                    float(workable_limit_m3_m3(texture=texture, curve=curve))
                    if workable is None
                    else workable
                ),
                dry_below_m3_m3=float(dry_limit_m3_m3(texture=texture, curve=curve)) if dry is None else dry,
                soil_depth_in=_planting_depth_in(limits, crop),
                seed_depth_in=USUAL_SEED_DEPTH_IN if water is None else water.seed_depth_in,
            )
        )
    return soils


def _retention(row: SoilZone) -> RetentionCurve | None:
    numbers = (
        row.retention_residual_m3_m3,
        row.retention_saturation_m3_m3,
        row.retention_alpha_per_m,
        row.retention_n,
    )
    known = [number for number in numbers if number is not None]
    return RetentionCurve(*known) if len(known) == len(numbers) else None


def _planting_depth_in(limits: Sequence[Limit], crop: str) -> float:
    depths = (
        limit.depth_in
        for limit in limits
        if crop and limit.crop == crop and Operation.PLANT in limit.operations and limit.depth_in
    )
    return next(depths, USUAL_SOIL_DEPTH_IN)


def _past_days(farm: Farm, as_of: dt.date) -> PastDays:
    known = known_days(farm=farm, as_of=as_of)
    return PastDays(**{name: getattr(known, name) for name in PastDays.__dataclass_fields__})
