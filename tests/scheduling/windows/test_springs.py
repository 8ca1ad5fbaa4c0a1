"""Days fit for disking in real springs: public daily records that ship with `pcse` and `aquacrop`.

Wageningen, 1976 to 1999: 24 springs with sun, vapor pressure and wind. Champion, Nebraska, 1982 to 2017: 36 springs
with temperatures only. A day counts as fit with five open hours from 8 am to 6 pm, the soil a silt loam.

Fit days a month, the mean and in brackets the least and the most of all years:

                          March          April          May
    Wageningen            14.8 (0-31)    21.8 (7-30)    26.0 (0-31)
    Champion              23.5 (11-31)   27.2 (23-30)   26.2 (14-31)

No weather of Georgia ships with any package, so the one public figure for it is only set beside these: the USDA's
days suitable for fieldwork there were 5.1 in the week to 21 April 2019 and 5.7 in the week to 12 May 2019 (as reported
in the trade press). Here a week has 5.1 in April and 5.9 in May at Wageningen, 6.3 and 5.9
at Champion.
"""

import datetime as dt
import importlib.util
from collections.abc import Callable
from dataclasses import dataclass
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

pytestmark = pytest.mark.long

YEARS = range(1976, 2000)
PLAINS_YEARS = range(1982, 2018)
MONTHS = (slice(0, 31), slice(31, 61), slice(61, 92))
APRIL_AND_MAY = slice(1, 3)
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
    by_day: dict[int, list[float]] = {}
    for row in rows:
        by_day.setdefault(int(row[2]), [float(cell) for cell in row[2:9]])  # the file of 1989 has days twice
    table = np.array([by_day[day] for day in range(1, 153)])
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


@dataclass(frozen=True)
class Springs:
    """Rain (mm) and fit days of March, April and May (columns) in each of `years` (rows)."""

    years: tuple[int, ...]
    rain_mm: np.ndarray
    fit: np.ndarray

    def of(self, year: int) -> np.ndarray:
        return np.asarray(self.fit[self.years.index(year)])

    def by_rain(self, months: slice = slice(None)) -> np.ndarray:
        """Return fit days of the months together, from the driest year to the wettest."""
        order = np.argsort(self.rain_mm[:, months].sum(axis=1))
        return np.asarray(self.fit[order, months].sum(axis=1))


def springs(place: Place, years: range, read: Callable[[int], WeatherDays]) -> Springs:
    rain_mm, fit = [], []
    for year in years:
        days = read(year)
        first = dt.date(year, 3, 1)
        open_days = fit_days(place, days, first=first, texture="silt_loam")
        begin = days.days.index(first)
        rain_mm.append([float(days.rain_mm[begin:][month].sum()) for month in MONTHS])
        fit.append([int(open_days[month].sum()) for month in MONTHS])
    return Springs(tuple(years), np.array(rain_mm), np.array(fit))


@pytest.fixture(scope="module")
def dutch() -> Springs:
    return springs(WAGENINGEN, YEARS, wageningen)


@pytest.fixture(scope="module")
def plains() -> Springs:
    return springs(CHAMPION, PLAINS_YEARS, champion)


def ranks(values: np.ndarray) -> np.ndarray:
    return np.argsort(np.argsort(values, kind="stable"), kind="stable").astype(float)


def rank_correlation(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.corrcoef(ranks(one), ranks(other))[0, 1])


def test_there_are_24_dutch_springs_and_36_on_the_plains(dutch: Springs, plains: Springs) -> None:
    assert (dutch.fit.shape, plains.fit.shape) == ((24, 3), (36, 3))


def test_the_table_above_holds(dutch: Springs, plains: Springs) -> None:
    assert dutch.fit.mean(axis=0) == pytest.approx([14.8, 21.8, 26.0], abs=1.5)
    assert plains.fit.mean(axis=0) == pytest.approx([23.5, 27.2, 26.2], abs=1.5)


def test_wet_dutch_springs_have_fewer_fit_days(dutch: Springs) -> None:
    by_rain = dutch.by_rain()
    assert by_rain[:4].min() > by_rain[-4:].max()
    assert rank_correlation(dutch.rain_mm.sum(axis=1), dutch.fit.sum(axis=1)) < -0.8
    for month in range(3):
        assert rank_correlation(dutch.rain_mm[:, month], dutch.fit[:, month]) < -0.7


def test_later_months_are_drier_to_work_in(dutch: Springs) -> None:
    march, april, may = dutch.fit.mean(axis=0)
    assert march < april < may


def test_the_wettest_may_of_the_record_hardly_opens(dutch: Springs) -> None:
    # May 1983 is known in the Netherlands as extremely wet, the spring of 1976 as extremely dry (from memory)
    may = dutch.fit[:, 2]
    assert dutch.years[int(may.argmin())] == 1983
    assert dutch.of(1983)[2] <= 5
    assert dutch.of(1976)[2] == 31
    assert dutch.of(1976).sum() >= np.sort(dutch.fit.sum(axis=1))[-3]


def test_no_dutch_spring_is_without_a_window(dutch: Springs) -> None:
    assert dutch.fit.sum(axis=1).min() >= 20
    without = [year for year, may in zip(dutch.years, dutch.fit[:, 2]) if may == 0]
    assert without in ([], [1983])


def test_wet_springs_on_the_plains_have_fewer_fit_days(plains: Springs) -> None:
    by_rain = plains.by_rain(APRIL_AND_MAY)
    assert by_rain[:4].min() > by_rain[-4:].max()
    assert (
        rank_correlation(
            plains.rain_mm[:, APRIL_AND_MAY].sum(axis=1), plains.fit[:, APRIL_AND_MAY].sum(axis=1)
        )
        < -0.7
    )


def test_no_spring_on_the_plains_is_without_a_window(plains: Springs) -> None:
    assert plains.fit[:, APRIL_AND_MAY].min() >= 10


def test_the_drier_climate_has_more_fit_days(dutch: Springs, plains: Springs) -> None:
    assert plains.fit[:, 1].mean() > dutch.fit[:, 1].mean() + 3
