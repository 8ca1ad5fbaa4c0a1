"""An invented corn farm at Champion, Nebraska, with the open daily record of that place."""

import datetime as dt
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Field, Season
from ledger.services.rates import set_rate
from scheduling.models import FieldPass
from scheduling.services.limit_choices import choose_limit
from scheduling.services.passes import Step, lay_out
from tests.factories import make_farm, make_field, make_hand, make_implement, make_machine, make_season
from tests.open_climates import as_ghcn_long, climate

ZONE = ZoneInfo("America/Denver")
LATITUDE_DEG, LONGITUDE_DEG = 40.4, -101.7
FIELDS = (
    ("home-quarter", "silt_loam", 150, 0.010, 0.004),
    ("creek-quarter", "silt_loam", 140, -0.012, 0.009),
    ("school-eighty", "loam", 78, 0.015, -0.020),
    ("sandhill-forty", "sandy_loam", 40, -0.021, -0.011),
)
CENTS_PER_MIN = {"hand": 30, "tractor": 150, "disk": 40, "planter": 60}
"""Whole cents a minute, so that what a minute costs can be multiplied in one's head."""


def write_weather(folder: Path) -> Path:
    """Write the whole record in the daily archive's long layout."""
    path = folder / "champion.csv"
    path.write_text(as_ghcn_long(climate("champion")), encoding="ascii")
    return path


def spring_rain_mm() -> dict[int, Decimal]:
    """Return the rain of April and May by year, straight from the climate file."""
    rain: dict[int, Decimal] = {}
    for row in climate("champion"):
        if row.day.month in (4, 5):
            rain[row.day.year] = rain.get(row.day.year, Decimal(0)) + row.rain_mm
    return rain


def years_by_rain() -> list[int]:
    """Return the years from the driest spring to the wettest."""
    rain = spring_rain_mm()
    return sorted(rain, key=lambda year: (rain[year], year))


def make_corn_farm() -> Farm:
    """Make the farm with its outfits and rates; its fields have no seasons yet."""
    farm = make_farm(
        "badger-flat",
        zone=ZONE.key,
        latitude_deg=Decimal(str(LATITUDE_DEG)),
        longitude_deg=Decimal(str(LONGITUDE_DEG)),
        elevation_ft=Decimal("3379.3"),
    )
    for code, texture, acres, north, east in FIELDS:
        latitude, longitude = LATITUDE_DEG + north, LONGITUDE_DEG + east
        make_field(
            farm,
            code,
            texture=texture,
            boundary=_square(latitude, longitude, acres),
            area_ac=Decimal(acres),
            planted_ac=Decimal(acres),
            latitude_deg=Decimal(str(round(latitude, 6))),
            longitude_deg=Decimal(str(round(longitude, 6))),
        )
    make_machine(farm, "tractor-1", power_hp=Decimal("220"))
    make_machine(farm, "tractor-2", power_hp=Decimal("180"))
    make_implement(farm, "disk-1")
    make_implement(
        farm,
        "planter-1",
        operations=("plant",),
        width_ft=Decimal("30"),
        efficiency_pct=Decimal("65"),
        power_needed_hp=Decimal("120"),
    )
    make_hand(farm, "lourdes", operations=("disk", "plant"))
    make_hand(farm, "amos", operations=("disk", "plant"))
    _set_rates(farm)
    choose_limit(
        farm=farm,
        key="dry_seedbed",
        effect="advice",
        source="farm judgement: corn on the plains goes in deep, dry on top or not",
        set_by=None,
        now=dt.datetime(1982, 1, 1, tzinfo=dt.UTC),
    )
    return farm


def lay_out_corn(farm: Farm, year: int) -> list[FieldPass]:
    """Give every field a corn season of a year: disk, then plant."""
    passes: list[FieldPass] = []
    for field in Field.objects.filter(farm=farm).order_by("code"):
        season: Season = make_season(field, crop="corn", crop_year=year)
        steps = [Step("disk", leave_cents=200_000), Step("plant", leave_cents=600_000)]
        passes += lay_out(season=season, steps=steps)
    return passes


def monday_from(year: int, month: int, day: int) -> dt.date:
    """Return the first Monday on or after a date."""
    date = dt.date(year, month, day)
    return date + dt.timedelta(days=-date.weekday() % 7)


def midnight(day: dt.date) -> dt.datetime:
    """Return the beginning of a day on the farm's clock."""
    return dt.datetime.combine(day, dt.time(), tzinfo=ZONE)


def _set_rates(farm: Farm) -> None:
    rates: tuple[tuple[str, str, str, bool], ...] = (
        ("wage", "", "hand", False),
        ("machine", "", "tractor", True),
        ("implement", "disk-1", "disk", False),
        ("implement", "planter-1", "planter", False),
    )
    for kind, subject, what, holds_fuel in rates:
        set_rate(
            farm=farm,
            kind=kind,
            subject=subject,
            usd_per_unit=Decimal(CENTS_PER_MIN[what] * 60) / 100,
            valid_from=dt.date(1982, 1, 1),
            now=dt.datetime(1982, 1, 1, tzinfo=dt.UTC),
            holds_fuel=holds_fuel,
        )


def _square(latitude: float, longitude: float, acres: float) -> dict[str, object]:
    """Return a square of about so many acres around a place (63.615 m is the side of an acre)."""
    half_north = 63.615 * acres**0.5 / 2 / 111_000
    half_east = half_north / 0.7615  # the cosine of 40.4 degrees
    west, east = longitude - half_east, longitude + half_east
    south, north = latitude - half_north, latitude + half_north
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    return {"type": "Polygon", "coordinates": [[[round(x, 6), round(y, 6)] for x, y in ring]]}
