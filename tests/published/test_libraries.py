"""Years of public weather, computed here and by other people's programs."""

import dataclasses
import datetime as dt
import warnings

import numpy as np
import pandas as pd
import pyfao56
import pytest
from pvlib import solarposition
from pyfao56 import refet

from farmops.science import atmosphere, evapotranspiration
from farmops.science.ranges import Array
from farmops.science.soil_column import ColumnRun, at_field_capacity, bare_days, column_soils, run_column
from farmops.science.textures import TEXTURES
from tests.published.packaged_data import european_series, greensboro, open_years

with warnings.catch_warnings():
    # Where it lays its settings out for the first time, it leaves a file open.
    warnings.simplefilter("ignore")
    from pcse.util import penman_monteith

GREENSBORO = greensboro()
VAPOR_KPA = atmosphere.vapor_pressure_from_dewpoint_kpa(dewpoint_c=GREENSBORO.dewpoint_c)


def _greensboro_by_day() -> np.ndarray:
    days: np.ndarray = evapotranspiration.reference_et_mm_d(
        temp_min_c=GREENSBORO.temp_min_c,
        temp_max_c=GREENSBORO.temp_max_c,
        latitude_deg=GREENSBORO.latitude_deg,
        elevation_m=GREENSBORO.elevation_m,
        day_of_year=GREENSBORO.day_of_year,
        vapor_pressure_kpa=VAPOR_KPA,
        wind_2m_m_s=GREENSBORO.wind_2m_m_s,
        solar_mj_m2_d=GREENSBORO.solar_mj_m2_d,
    )
    return days


def test_greensboros_typical_year_agrees_with_a_second_library() -> None:
    ours = _greensboro_by_day()
    theirs = np.array(
        [
            refet.ascedaily(
                rfcrp="S",
                z=GREENSBORO.elevation_m,
                lat=GREENSBORO.latitude_deg,
                doy=GREENSBORO.day_of_year[day],
                israd=GREENSBORO.solar_mj_m2_d[day],
                tmax=GREENSBORO.temp_max_c[day],
                tmin=GREENSBORO.temp_min_c[day],
                vapr=VAPOR_KPA[day],
                wndsp=GREENSBORO.wind_2m_m_s[day],
            )
            for day in range(365)
        ]
    )
    assert 1000 < theirs.sum() < 1300
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.002)
    assert np.abs(ours - theirs).max() < 0.05


def test_greensboros_typical_year_agrees_with_a_third_library() -> None:
    """That library (pcse, of Wageningen) takes the sun above the air a little stronger: 5 mm of 1125 in the year."""
    ours = _greensboro_by_day()
    theirs = np.array(
        [
            penman_monteith(
                dt.date(2001, 1, 1) + dt.timedelta(days=day),
                GREENSBORO.latitude_deg,
                GREENSBORO.elevation_m,
                GREENSBORO.temp_min_c[day],
                GREENSBORO.temp_max_c[day],
                1e6 * GREENSBORO.solar_mj_m2_d[day],
                10 * VAPOR_KPA[day],
                GREENSBORO.wind_2m_m_s[day],
            )
            for day in range(365)
        ]
    )
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.006)
    assert np.abs(ours - theirs).mean() < 0.02
    assert np.abs(ours - theirs).max() < 0.2


def test_hours_of_the_typical_year_add_up_to_about_its_days() -> None:
    hours = evapotranspiration.hourly_reference_et_mm_h(
        temp_c=GREENSBORO.hourly_temp_c,
        vapor_pressure_kpa=atmosphere.vapor_pressure_from_dewpoint_kpa(
            dewpoint_c=GREENSBORO.hourly_dewpoint_c
        ),
        wind_2m_m_s=GREENSBORO.hourly_wind_m_s,
        solar_mj_m2_h=GREENSBORO.hourly_solar_mj_m2,
        latitude_deg=GREENSBORO.latitude_deg,
        longitude_deg=GREENSBORO.longitude_deg,
        elevation_m=GREENSBORO.elevation_m,
        day_of_year=GREENSBORO.day_of_year[:, np.newaxis],
        utc_offset_h=GREENSBORO.utc_offset_h,
        midpoint_h=np.linspace(0.5, 23.5, 24),
    )
    assert hours.sum() == pytest.approx(_greensboro_by_day().sum(), rel=0.06)


def test_temperatures_alone_give_the_typical_year_within_a_twentieth() -> None:
    rough = evapotranspiration.reference_et_hargreaves_mm_d(
        temp_min_c=GREENSBORO.temp_min_c,
        temp_max_c=GREENSBORO.temp_max_c,
        latitude_deg=GREENSBORO.latitude_deg,
        day_of_year=GREENSBORO.day_of_year,
    )
    assert rough.sum() == pytest.approx(_greensboro_by_day().sum(), rel=0.05)


STATIONS = {
    # latitude, elevation as the tests of the package that carries the series give them
    "8011_asturias": (43.5667, 130.0, 500),
    "2297_sweden": (64.4833, 37.0, 500),
    "10870_munchen_flughafen": (48.3667, 453.0, 500),
    # the package's tests place it at 3 m, where it is missed by 0.06 mm a day; the town lies at about 750 m
    "8443_ronda": (36.75, 750.0, 400),
}


@pytest.mark.parametrize("station", STATIONS)
def test_a_european_services_daily_series_is_met(station: str) -> None:
    """All four of the service's stations, to about a hundredth of a millimeter a day."""
    latitude_deg, elevation_m, at_least_days = STATIONS[station]
    series = european_series(station)
    # one reported vapor pressure stands 0.0025 kPa above saturation at the day's warmest, by rounding to 0.1 hPa
    ours = evapotranspiration.reference_et_mm_d(
        temp_min_c=series.temp_min_c,
        temp_max_c=series.temp_max_c,
        latitude_deg=latitude_deg,
        elevation_m=elevation_m,
        day_of_year=series.day_of_year,
        vapor_pressure_kpa=series.vapor_pressure_kpa,
        wind_2m_m_s=atmosphere.wind_2m_m_s(wind_m_s=series.wind_10m_m_s, height_m=10),
        solar_mj_m2_d=series.solar_mj_m2_d,
    )
    assert len(ours) > at_least_days
    assert series.et0_mm_d.mean() > 1
    assert np.abs(ours - series.et0_mm_d).mean() < 0.012
    assert np.abs(ours - series.et0_mm_d).max() < 0.3
    assert abs((ours - series.et0_mm_d).mean()) < 0.007


@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "utc_offset_h", "within_min"),
    [(31.2, -83.5, -5.0, 3.5), (47.0, -101.0, -6.0, 7.0), (-33.9, 151.2, 10.0, 3.5)],
)
def test_sunrise_and_sunset_agree_with_an_almanac_to_minutes(
    latitude_deg: float, longitude_deg: float, utc_offset_h: float, within_min: float
) -> None:
    days = pd.date_range("2026-01-01", periods=365, tz="UTC") - pd.Timedelta(hours=utc_offset_h)
    local = days.tz_convert(f"Etc/GMT{-utc_offset_h:+.0f}")
    almanac = solarposition.sun_rise_set_transit_spa(local, latitude_deg, longitude_deg)
    rise, sets = evapotranspiration.sunrise_sunset_h(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        day_of_year=np.arange(1.0, 366.0),
        utc_offset_h=utc_offset_h,
    )
    for ours_h, column in ((rise, "sunrise"), (sets, "sunset")):
        theirs_h = (almanac[column] - local) / pd.Timedelta(hours=1)
        assert 60 * np.abs(ours_h - theirs_h.to_numpy()).max() < within_min


@pytest.fixture(scope="module")
def bare_year() -> pd.DataFrame:
    """A year of bare sandy loam at Champion, Nebraska, by the second library."""
    years = open_years("champion")
    chosen = years.year == 1994
    texture = TEXTURES["sandy_loam"]
    weather = pyfao56.Weather()
    weather.rfcrp, weather.wndht = "S", 2.0
    labels = [f"1994-{day:03d}" for day in range(1, 366)]
    columns: dict[str, object] = dict.fromkeys(weather.cnames, float("nan"))
    columns |= {"Rain": years.rain_mm[chosen], "ETref": years.et0_mm[chosen], "Wndsp": 2.0, "RHmin": 45.0}
    weather.wdata = pd.DataFrame(columns | {"MorP": "M"}, index=labels)
    parameters = pyfao56.Parameters(
        Kcbini=0.0,
        Kcbmid=1e-9,
        Kcbend=1e-9,
        Lini=400,
        hini=0.1,
        hmax=0.1,
        thetaFC=texture.field_capacity_m3_m3,
        thetaWP=texture.wilting_point_m3_m3,
        theta0=texture.field_capacity_m3_m3,
        Ze=0.10,
        REW=texture.readily_evaporable_mm,
        CN2=int(texture.curve_number_fallow),
    )
    model = pyfao56.Model(labels[0], labels[-1], parameters, weather, roff=True)
    model.run()
    year: pd.DataFrame = model.odata
    return year


DRAINS_AT_ONCE = dataclasses.replace(TEXTURES["sandy_loam"], drainage_share_per_day=1.0)
"""The second library keeps no water above field capacity overnight."""


def _bare(*, et0_mm: Array, rain_mm: Array, start_depletion_mm: float) -> ColumnRun:
    soils = column_soils([DRAINS_AT_ONCE])
    drained = at_field_capacity(soils=soils, members=1)
    dried = np.full((1, 1), -start_depletion_mm)
    days = len(rain_mm)
    return run_column(
        soils=soils,
        start=dataclasses.replace(drained, topsoil_mm=dried, surface_mm=dried),
        day_index=np.arange(days),
        share_of_day=np.ones(days),
        daylight_share=np.ones(days),
        rain_mm=rain_mm,
        et0_mm=et0_mm,
        kc_max=np.full(days, 1.2),
        crop=bare_days(days=days, columns=1),
        keep_flows=True,
    )


def _depletion_mm(run: ColumnRun) -> Array:
    return np.asarray(run.rootzone_depletion_mm[:, 0, 0])


def test_bare_ground_dries_day_by_day_as_in_a_second_library(bare_year: pd.DataFrame) -> None:
    depletion = bare_year["De"].to_numpy(dtype=float)
    dry = bare_year["Rain"].to_numpy(dtype=float) == 0
    spells = 0
    for start in range(1, 357):
        if dry[start : start + 8].all() and not dry[start - 1] and depletion[start - 1] < 12:
            ours = _bare(
                et0_mm=bare_year["ETref"].to_numpy(dtype=float)[start : start + 8],
                rain_mm=np.zeros(8),
                start_depletion_mm=depletion[start - 1],
            )
            assert _depletion_mm(ours) == pytest.approx(depletion[start : start + 8], abs=1e-3)
            spells += 1
    assert spells >= 3


def test_bare_ground_over_a_year_is_near_a_second_librarys(bare_year: pd.DataFrame) -> None:
    """That library takes the drying factor before the day's rain, FAO-56 in example 35 after it; hence not nearer."""
    ours = _bare(
        et0_mm=bare_year["ETref"].to_numpy(dtype=float),
        rain_mm=bare_year["Rain"].to_numpy(dtype=float),
        start_depletion_mm=float(bare_year["De"].iloc[0]),
    )
    depletion = bare_year["De"].to_numpy(dtype=float)
    assert np.abs(_depletion_mm(ours) - depletion).mean() < 0.6
    assert np.corrcoef(_depletion_mm(ours), depletion)[0, 1] > 0.94
    assert ours.evaporation_mm.sum() == pytest.approx(bare_year["E"].sum(), rel=0.10)
    assert ours.runoff_mm.sum() == pytest.approx(bare_year["Runoff"].sum(), abs=3)
