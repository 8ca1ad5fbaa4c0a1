"""The farm whose pages are measured: five seasons of books, and beside them ground, weather, people, plans and mail.

The books are those of the bench of the ledger (`ledger_place`, `ledger_fill`); what the pages need besides is laid
here and in the modules beside (`pages_plan`, `pages_told`, `pages_books`, `pages_mail`) in bulk, the same rows each time.
"""

import datetime as dt
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import F

from farmops.bench.ledger_fill import fill, laid_out
from farmops.bench.ledger_place import CODE, OPERATIONS, YEARS
from farmops.bench.pages_books import lay_books
from farmops.bench.pages_keys import instant, row_id
from farmops.bench.pages_mail import lay_mail
from farmops.bench.pages_plan import lay_plan
from farmops.bench.pages_told import lay_incidents, lay_sprayings
from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import (
    Farm,
    Field,
    Hand,
    HandSkill,
    Implement,
    ImplementOperation,
    Machine,
    Membership,
    Pivot,
    Pump,
    Role,
    Shift,
    SoilZone,
)
from farmops.weather.models import DailyWeather, ForecastHour, ForecastIssue, GaugeReading, Station
from scheduling.models import FieldPass, PassLink, PassState, PivotPlace

DAY = dt.date(2026, 6, 10)
"""The day that the pages are about: the weather is known up to the day before."""
MANAGER = "bench-manager"
TEXTURES = ("sandy_loam", "loamy_sand", "loam", "sandy_clay_loam")
LINES_A_FIELD = 200
AT_ONCE = 5_000
SIDE_DEG = 0.006
YEARS_OF_WEATHER = 3
FORECAST_HOURS = 168
DONE_BY_NOW = 4
"""So many of the operations of a season lie behind by now."""


@dataclass(frozen=True)
class PagesSize:
    """How large the farm is."""

    fields: int
    hands: int
    outfits: int


def lay_pages(*, fields: int, hands: int, outfits: int) -> dict[str, Any]:
    """Lay out the farm, its books, and all that its pages show; return how many rows there are of what."""
    size = PagesSize(fields, hands, outfits)
    laid_out(fields=fields)
    fill(lines=LINES_A_FIELD * fields)
    farm = Farm.objects.get(code=CODE)
    grounds = _lay_ground(farm)
    _lay_weather(farm, grounds)
    _lay_people(farm, size)
    _lay_passes(farm)
    lay_plan(farm=farm, day=DAY)
    incidents = lay_incidents(farm=farm)
    lay_sprayings(farm=farm)
    bills = lay_books(farm=farm, incidents=incidents)
    mails = lay_mail(farm=farm, day=DAY - dt.timedelta(days=DAY.weekday()), now=clock.now())
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return {
        "fields": len(grounds),
        "hands": Hand.objects.filter(farm=farm).count(),
        "passes": FieldPass.objects.filter(farm=farm).count(),
        "incidents": len(incidents),
        "bills": bills,
        "mails": mails,
    }


def _lay_ground(farm: Farm) -> list[Field]:
    grounds = list(Field.objects.filter(farm=farm).order_by("id"))
    across = math.ceil(math.sqrt(len(grounds)))
    for number, ground in enumerate(grounds):
        west = -83.5 - across * SIDE_DEG / 2 + (number % across) * SIDE_DEG
        south = 31.6 - across * SIDE_DEG / 2 + (number // across) * SIDE_DEG
        ground.boundary = {"type": "Polygon", "coordinates": [_ring(west, south, number)]}
        ground.longitude_deg = Decimal(f"{west + SIDE_DEG / 2:.6f}")
        ground.latitude_deg = Decimal(f"{south + SIDE_DEG / 2:.6f}")
    Field.objects.bulk_update(
        grounds, ["boundary", "longitude_deg", "latitude_deg"], batch_size=AT_ONCE // 10
    )
    SoilZone.objects.bulk_create(_zones(farm, grounds), batch_size=AT_ONCE)
    pumps = Pump.objects.bulk_create(
        Pump(farm=farm, code=f"pump-{one}", name=f"Pump {one}", flow_gpm=Decimal(900))
        for one in range(1, len(grounds) // 20 + 2)
    )
    pivots = Pivot.objects.bulk_create(
        Pivot(
            farm=farm,
            field=ground,
            pump=pumps[number // 20],
            name=f"Pivot {number + 1}",
            last_tower_radius_ft=Decimal(1200),
            walk_ft_per_min=Decimal(8),
            tower_count=7,
            parking_angle_deg=Decimal(90),
        )
        for number, ground in enumerate(grounds)
        if number % 4 == 0
    )
    PivotPlace.objects.bulk_create(
        PivotPlace(
            farm=farm,
            client_id=row_id("pivot", number, back),
            pivot=pivot,
            seen_at=instant(DAY - dt.timedelta(days=back), 11),
            is_running=(number + back) % 3 == 0,
            angle_deg=Decimal((number * 31 + back * 40) % 360),
            recorded_at=instant(DAY - dt.timedelta(days=back), 11),
        )
        for number, pivot in enumerate(pivots)
        for back in range(1, 9)
    )
    return grounds


def _ring(west: float, south: float, number: int) -> list[list[float]]:
    """Return a field of 24 corners inside its square of the grid, each a little different."""
    corners = []
    for turn in range(24):
        angle = turn * math.pi / 12
        radius = SIDE_DEG * (0.40 + 0.05 * math.sin(3 * angle + number))
        corners.append(
            [
                round(west + SIDE_DEG / 2 + radius * math.cos(angle), 6),
                round(south + SIDE_DEG / 2 + radius * math.sin(angle), 6),
            ]
        )
    return [*corners, corners[0]]


def _zones(farm: Farm, grounds: Sequence[Field]) -> Iterator[SoilZone]:
    for number, ground in enumerate(grounds):
        texture = TEXTURES[number % len(TEXTURES)]
        if number % 8 == 0:
            yield SoilZone(farm=farm, field=ground, name="hill", texture=texture, share_pct=Decimal(60))
            yield SoilZone(
                farm=farm, field=ground, name="low end", texture="clay_loam", share_pct=Decimal(40)
            )
        else:
            yield SoilZone(farm=farm, field=ground, name="all", texture=texture, share_pct=Decimal(100))


def _lay_weather(farm: Farm, grounds: Sequence[Field]) -> None:
    station = Station.objects.create(
        farm=farm,
        code="bench-station",
        name="Shop",
        latitude_deg=Decimal("31.6"),
        longitude_deg=Decimal("-83.5"),
        elevation_m=Decimal(107),
    )
    days = [DAY - dt.timedelta(days=back) for back in range(1, 365 * YEARS_OF_WEATHER)]
    DailyWeather.objects.bulk_create(_weather_of(farm, station, day) for day in days)
    issue = ForecastIssue.objects.create(
        farm=farm,
        source="bench",
        issued_at=instant(DAY - dt.timedelta(days=1), 21),
        file_sha256="0" * 64,
    )
    begins = instant(DAY - dt.timedelta(days=1), 22)
    ForecastHour.objects.bulk_create(
        ForecastHour(
            farm=farm,
            issue=issue,
            hour_at=begins + dt.timedelta(hours=hour),
            temp_c=24 + 7 * math.sin(hour / 24 * 2 * math.pi),
            dewpoint_c=19.0,
            humidity_pct=70 - 20 * math.sin(hour / 24 * 2 * math.pi),
            wind_m_s=3 + 2 * math.sin(hour / 17),
            sky_cover_pct=40.0,
            rain_chance_pct=20.0 if hour % 60 < 12 else 5.0,
            rain_mm=0.3 if hour % 60 < 6 else 0.0,
        )
        for hour in range(FORECAST_HOURS)
    )
    GaugeReading.objects.bulk_create(
        GaugeReading(
            farm=farm,
            client_id=row_id("gauge", number, back),
            field=ground,
            day=DAY - dt.timedelta(days=back),
            rain_in=Decimal((number + back) % 5) / 10,
            recorded_at=instant(DAY - dt.timedelta(days=back - 1), 11),
        )
        for number, ground in enumerate(grounds)
        if number % 5 == 0
        for back in range(1, 22, 3)
    )


def _weather_of(farm: Farm, station: Station, day: dt.date) -> DailyWeather:
    turn = day.timetuple().tm_yday
    warm = 20 + 9 * math.sin((turn - 110) / 365 * 2 * math.pi)
    wet = (day.toordinal() * 7919) % 100
    return DailyWeather(
        farm=farm,
        station=station,
        day=day,
        temp_min_c=warm - 6,
        temp_max_c=warm + 6,
        rain_mm=(wet - 70) / 2 if wet > 70 else 0.0,
        solar_mj_m2=18 + 7 * math.sin((turn - 80) / 365 * 2 * math.pi),
        wind_m_s=2.0,
        humidity_min_pct=45.0,
        humidity_max_pct=90.0,
    )


def _lay_people(farm: Farm, size: PagesSize) -> None:
    have = Hand.objects.filter(farm=farm).count()
    Hand.objects.bulk_create(
        Hand(farm=farm, code=f"hand-{one}", name=f"Hand {one}", email=f"hand-{one}@bench.example")
        for one in range(have + 1, size.hands + 1)
    )
    hands = list(Hand.objects.filter(farm=farm).order_by("id"))
    Shift.objects.bulk_create(
        Shift(farm=farm, hand=hand, weekday=weekday, starts_at=dt.time(6), ends_at=dt.time(17))
        for hand in hands
        for weekday in range(6)
    )
    HandSkill.objects.bulk_create(
        HandSkill(farm=farm, hand=hand, operation=operation) for hand in hands for operation in OPERATIONS
    )
    have = Machine.objects.filter(farm=farm).count()
    Machine.objects.bulk_create(
        Machine(
            farm=farm,
            code=f"tractor-{one}",
            name=f"Tractor {one}",
            power_hp=Decimal(180 + one),
            meter_start_h=Decimal(900),
        )
        for one in range(have + 1, size.outfits + 1)
    )
    Implement.objects.bulk_create(
        Implement(
            farm=farm,
            code=f"implement-{one}",
            name=f"Implement {one}",
            width_ft=Decimal(30),
            speed_min_mph=Decimal(4),
            speed_mph=Decimal(5),
            speed_max_mph=Decimal(6),
            efficiency_pct=Decimal(80),
            power_needed_hp=Decimal(120),
        )
        for one in range(have + 1, size.outfits + 1)
    )
    ImplementOperation.objects.bulk_create(
        ImplementOperation(farm=farm, implement=tool, operation=OPERATIONS[number % len(OPERATIONS)])
        for number, tool in enumerate(Implement.objects.filter(farm=farm).order_by("id"))
    )
    user = User.objects.create(username=MANAGER)
    Membership.objects.bulk_create(
        Membership(farm=farm, user=user, role=role, hand=hands[0] if role == Role.HAND else None)
        for role in Role
    )


def _lay_passes(farm: Farm) -> None:
    """Put the passes of earlier years and those of this year's spring behind, and link each to the one before it."""
    of_farm = FieldPass.objects.filter(farm=farm)
    of_farm.filter(season__crop_year__lt=YEARS[-1]).update(state=PassState.FINISHED, done_ac=F("area_ac"))
    this_year = of_farm.filter(season__crop_year=YEARS[-1])
    this_year.filter(operation__in=OPERATIONS[:DONE_BY_NOW]).update(
        state=PassState.FINISHED, done_ac=F("area_ac")
    )
    this_year.filter(operation__in=OPERATIONS[DONE_BY_NOW:]).update(leave_cents=90_000)
    this_year.filter(operation=OPERATIONS[DONE_BY_NOW]).update(
        due_on=DAY + dt.timedelta(days=3), late_cents_per_day=12_000
    )
    rows: dict[int, dict[str, int]] = {}
    for pk, season_id, operation in this_year.values_list("pk", "season_id", "operation"):
        rows.setdefault(season_id, {})[operation] = pk
    PassLink.objects.bulk_create(
        (
            PassLink(farm=farm, before_id=of_season[first], after_id=of_season[then], min_gap_min=1440)
            for of_season in rows.values()
            for first, then in itertools.pairwise(OPERATIONS)
        ),
        batch_size=AT_ONCE,
    )
