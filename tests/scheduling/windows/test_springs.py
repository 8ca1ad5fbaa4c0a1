"""Days fit for disking in real springs: public daily records that ship with `pcse` and `aquacrop`.

Wageningen, 1976 to 1999: 24 springs with sun, vapor pressure and wind. Champion, Nebraska: the driest and the wettest
April and May of 1982 to 2018, with temperatures only. A day counts as fit with five open hours from 8 am to 6 pm.
"""

import datetime as dt
import importlib.util
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from farmops.farms.operations import Operation
from scheduling.windows import Horizon, WorkAsked, horizon_min, judge
from scheduling.windows.day_weather import Place, WeatherDays
from scheduling.windows.ground import work_out
from tests.scheduling.windows.scene import LIMITS, soil

YEARS = range(1976, 2000)
WAGENINGEN = Place(51.97, 5.67, 7.0, "Europe/Amsterdam")
CHAMPION = Place(40.4, -101.7, 1029.0, "America/Denver")
NIL = -99.0
FIRST_FIT_H, LAST_FIT_H, HOURS_OF_A_FIT_DAY = 8, 18, 5


def installed(package: str, *parts: str) -> Path:
    found = importlib.util.find_spec(package)
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent.joinpath(*parts)


def weather(days: tuple[dt.date, ...], **read: np.ndarray) -> WeatherDays:
    missing = np.full(len(days), np.nan)
    return WeatherDays(
        days=days,
        temp_min_c=read["low"],
        temp_max_c=read["high"],
        rain_mm=read["rain"],
        rain_if_wet_mm=read["rain"],
        rain_chance=(read["rain"] > 0).astype(float),
        solar_mj_m2=read.get("sun", missing),
        wind_m_s=read.get("wind", missing),
        humidity_min_pct=read.get("driest", missing),
        humidity_max_pct=read.get("dampest", missing),
        kind=("observed",) * len(days),
    )


def wageningen(year: int) -> WeatherDays:
    """Read January to May: irradiation in kJ/m², vapor pressure of the early morning in kPa, wind at 2 m."""
    path = installed("pcse", "tests", "test_data", f"NL1.{year % 1000}")
    rows = [
        line.split() for line in path.read_text(encoding="latin-1").splitlines() if line.startswith("   1 ")
    ]
    table = np.array([[float(cell) for cell in row[2:9]] for row in rows if int(row[2]) <= 152])
    table[table == NIL] = np.nan
    day, sun, low, high, vapor, wind, rain = table.T
    at_low, at_high = (0.6108 * np.exp(17.27 * temp / (temp + 237.3)) for temp in (low, high))
    return weather(
        tuple(dt.date(year, 1, 1) + dt.timedelta(days=int(number) - 1) for number in day),
        low=low,
        high=high,
        rain=rain,
        sun=sun / 1000,
        wind=wind,
        driest=np.clip(100 * vapor / at_high, 5, 100),
        dampest=np.clip(100 * vapor / at_low, 5, 100),
    )


@cache
def champion_table() -> np.ndarray:
    return np.loadtxt(installed("aquacrop", "data", "champion_climate.txt"), skiprows=1)


def champion(year: int) -> WeatherDays:
    table = champion_table()
    chosen = table[(table[:, 2] == year) & (table[:, 1] <= 5)]
    return weather(
        tuple(dt.date(year, int(month), int(day)) for day, month in chosen[:, :2]),
        low=chosen[:, 3],
        high=chosen[:, 4],
        rain=chosen[:, 5],
    )


def fit_days(place: Place, days: WeatherDays, *, first: dt.date, texture: str) -> np.ndarray:
    """Return for each day from `first` whether it is fit for disking."""
    last = days.days[-1]
    count = (last - first).days + 1
    ground = work_out(
        place=place,
        zones=[soil(texture)],
        weather=days,
        as_of=last,
        first=first,
        rain_weight_at={},
        members=1,
    )
    clock = ZoneInfo(place.zone)
    start = dt.datetime.combine(first, dt.time(), clock)
    minutes = horizon_min(starts_at=start, days=count, zone=place.zone)
    windows = judge(
        asked=WorkAsked("plot", Operation.DISK, "corn", (0,)),
        limits=LIMITS,
        ground=ground,
        horizon=Horizon(start, minutes),
    )
    hours = np.zeros(count)
    for one in windows.open:
        for minute in range(one.from_min, one.to_min, 60):
            local = (start.astimezone(dt.UTC) + dt.timedelta(minutes=minute)).astimezone(clock)
            if FIRST_FIT_H <= local.hour < LAST_FIT_H:
                hours[(local.date() - first).days] += 1
    return hours >= HOURS_OF_A_FIT_DAY


@pytest.fixture(scope="module")
def dutch_springs() -> dict[int, tuple[float, int, int]]:
    """Rain of March to May in mm, fit days of the three months, and of May alone, by year."""
    springs = {}
    for year in YEARS:
        days = wageningen(year)
        first = dt.date(year, 3, 1)
        fit = fit_days(WAGENINGEN, days, first=first, texture="silt_loam")
        rain = float(days.rain_mm[days.days.index(first) :].sum())
        springs[year] = (rain, int(fit.sum()), int(fit[61:].sum()))
    return springs


def ranks(values: list[float]) -> np.ndarray:
    return np.argsort(np.argsort(values, kind="stable"), kind="stable").astype(float)


def test_wet_dutch_springs_have_fewer_fit_days(dutch_springs: dict[int, tuple[float, int, int]]) -> None:
    by_rain = sorted(dutch_springs.values())
    driest, wettest = by_rain[:4], by_rain[-4:]
    assert min(fit for _, fit, _ in driest) > max(fit for _, fit, _ in wettest)
    rain, fit = zip(*((rain, fit) for rain, fit, _ in by_rain), strict=True)
    assert np.corrcoef(ranks(list(rain)), ranks(list(fit)))[0, 1] < -0.75


def test_the_wettest_may_of_the_record_hardly_opens(dutch_springs: dict[int, tuple[float, int, int]]) -> None:
    # May 1983 is known in the Netherlands as extremely wet, the spring of 1976 as extremely dry (from memory)
    may = {year: fit for year, (_, _, fit) in dutch_springs.items()}
    assert min(may, key=lambda year: may[year]) == 1983
    assert may[1983] <= 5
    assert may[1976] == 31


def test_no_dutch_spring_is_without_a_window(dutch_springs: dict[int, tuple[float, int, int]]) -> None:
    assert min(fit for _, fit, _ in dutch_springs.values()) >= 20
    assert min(may for _, _, may in dutch_springs.values()) >= 1


def test_wet_springs_at_champion_have_fewer_fit_days() -> None:
    table = champion_table()
    spring = table[(table[:, 1] >= 4) & (table[:, 1] <= 5)]
    rain = {int(year): spring[spring[:, 2] == year, 5].sum() for year in np.unique(spring[:, 2])}
    order = sorted(rain, key=lambda year: rain[year])

    def fit(year: int) -> int:
        return int(fit_days(CHAMPION, champion(year), first=dt.date(year, 4, 1), texture="silt_loam").sum())

    driest, wettest = [fit(year) for year in order[:4]], [fit(year) for year in order[-4:]]
    assert min(driest) > max(wettest)
    assert min(wettest) >= 10
