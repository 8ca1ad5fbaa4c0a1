"""What the ground's rows hold."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from pyfao56 import refet

from farmops.science.crop_water import kc_max
from farmops.science.heat_units import corn_86_50_f, dd60_f
from farmops.science.soil_column import at_field_capacity, bare_days, column_soils, run_column
from farmops.science.textures import TEXTURES
from scheduling.windows.day_weather import Place
from scheduling.windows.ground_csv import ground_rows
from tests.open_climates import CHAMPION_STATION, as_ghcn_long, climate
from tests.published.packaged_data import greensboro
from tests.scheduling.windows.ground_files import (
    COLUMNS,
    FIRST,
    day_line,
    ground,
    numbers,
    rainy,
    weather_file,
)


def test_one_row_a_day_with_the_columns_and_units_in_their_names(tmp_path: Path) -> None:
    rows = ground(weather_file(tmp_path, rainy()))
    assert list(rows[0]) == COLUMNS
    assert [row["date"] for row in rows] == [str(FIRST + dt.timedelta(days=index)) for index in range(60)]


def test_a_day_without_a_gap_after_the_start_is_settled_says_nothing(tmp_path: Path) -> None:
    rows = ground(weather_file(tmp_path, rainy()))
    # drained ground loses some 6 mm on the first day; the driest start stays at half the wilting point in 0.10 m
    assert rows[0]["gaps"].startswith("start unsure: topsoil 0.11 to 0.2")
    assert "start unsure: soil by" in rows[0]["gaps"]
    assert {row["gaps"] for row in rows[30:]} == {""}


def test_water_of_the_top_15_cm_closes_from_row_to_row(tmp_path: Path) -> None:
    rows = ground(weather_file(tmp_path, rainy()))
    rain = np.array([25.0 if index % 9 == 4 else 0.0 for index in range(60)])
    flows = numbers(rows, "runoff_mm") + numbers(rows, "evaporation_mm") + numbers(rows, "drainage_mm")
    store = 150 * numbers(rows, "topsoil_m3_m3")
    assert np.diff(store) == pytest.approx(
        (rain - flows)[1:], abs=0.004
    )  # three and five decimals are written
    assert numbers(rows, "drainage_mm").min() >= 0
    assert numbers(rows, "evaporation_mm").max() <= 1.25 * numbers(rows, "et0_mm").max()


def test_depletion_is_what_the_topsoil_lacks_of_field_capacity(tmp_path: Path) -> None:
    rows = ground(weather_file(tmp_path, rainy()))
    lacks = 150 * (TEXTURES["sandy_loam"].field_capacity_m3_m3 - numbers(rows, "topsoil_m3_m3"))
    assert numbers(rows, "rootzone_depletion_mm") == pytest.approx(np.maximum(lacks, 0), abs=0.01)


def test_heat_units_are_those_of_the_published_sums(tmp_path: Path) -> None:
    # DD60 of a day of 80 and 61 F is 10.5, 86/50 of a day of 90 and 65 F is 25.5 (a Midwestern crop course)
    lines = [
        day_line(0, low="16.11111111", high="26.66666667"),
        day_line(1, low="18.33333333", high="32.22222222"),
    ]
    rows = ground(weather_file(tmp_path, lines))
    assert float(rows[0]["heat_units_dd60_f"]) == pytest.approx(10.5, abs=0.001)
    assert float(rows[1]["heat_units_86_50_f"]) == pytest.approx(25.5, abs=0.001)
    assert dd60_f(temp_max_f=80.0, temp_min_f=61.0) == 10.5
    assert corn_86_50_f(temp_max_f=90.0, temp_min_f=65.0) == 25.5


def test_mornings_are_colder_than_the_day_and_the_more_so_the_shallower(tmp_path: Path) -> None:
    path = weather_file(tmp_path, rainy())
    shallow, deep = ground(path, "--depth-cm", "5"), ground(path, "--depth-cm", "25")
    swings = [
        numbers(rows, "soil_temp_mean_c") - numbers(rows, "soil_temp_8am_c") for rows in (shallow, deep)
    ]
    assert (swings[0][10:] > 2).all()
    assert (np.abs(swings[1][10:]) < 1.5).all()


def test_daily_means_turn_less_the_deeper(tmp_path: Path) -> None:
    spells = [day_line(index, low="4" if index // 5 % 2 else "14", high="28") for index in range(60)]
    path = weather_file(tmp_path, spells)
    turns = [
        np.abs(np.diff(numbers(ground(path, "--depth-cm", depth), "soil_temp_mean_c")[20:])).sum()
        for depth in ("5", "10", "25")
    ]
    assert turns[0] > 1.03 * turns[1]
    assert turns[1] > 1.2 * turns[2]


def test_wet_ground_swings_less_than_dry(tmp_path: Path) -> None:
    lines = [day_line(index, rain="20" if index < 10 else "0") for index in range(40)]
    rows = ground(weather_file(tmp_path, lines), "--depth-cm", "5")
    swing = numbers(rows, "soil_temp_mean_c") - numbers(rows, "soil_temp_8am_c")
    assert swing[9] < 0.93 * swing[39]


def test_days_before_from_are_run_and_not_written(tmp_path: Path) -> None:
    path = weather_file(tmp_path, rainy())
    whole = ground(path)
    part = ground(path, "--from", "2026-04-01", "--to", "2026-04-10")
    assert part == whole[31:41]


def test_a_missing_month_leaves_rows_with_empty_cells_and_an_unsure_start_after_it(tmp_path: Path) -> None:
    lines = rainy(120)
    path = weather_file(tmp_path, lines[:40] + lines[70:])
    rows = ground(path)
    assert len(rows) == 120
    for row in rows[40:70]:
        assert row["gaps"].startswith("missing temp_min_c temp_max_c rain_mm solar_mj_m2")
        assert {row[name] for name in COLUMNS[1:-1]} == {""}
    assert rows[39]["gaps"] == ""
    assert "start unsure: topsoil" in rows[70]["gaps"]
    assert rows[119]["gaps"] == ""


def test_a_month_without_rain_readings_keeps_what_hangs_on_temperature(tmp_path: Path) -> None:
    lines = [day_line(index, rain="" if 20 <= index < 50 else "5") for index in range(70)]
    rows = ground(weather_file(tmp_path, lines))
    assert rows[30]["gaps"] == "missing rain_mm"
    assert rows[30]["topsoil_m3_m3"] == rows[30]["drainage_mm"] == ""
    assert float(rows[30]["et0_mm"]) > 2
    assert float(rows[30]["soil_temp_mean_c"]) == pytest.approx(17, abs=2.5)
    assert float(rows[30]["heat_units_dd60_f"]) > 0


def test_three_missing_days_are_made_as_at_import_and_said_so(tmp_path: Path) -> None:
    lines = rainy(40)
    rows = ground(weather_file(tmp_path, lines[:20] + lines[23:]))
    assert [row["gaps"].partition(";")[0] for row in rows[20:23]] == [
        "made temp_min_c temp_max_c rain_mm solar_mj_m2 wind_m_s humidity_min_pct humidity_max_pct"
    ] * 3
    assert rows[23]["gaps"] == ""


def test_a_file_of_temperatures_and_rain_says_what_it_lacks_each_day(tmp_path: Path) -> None:
    path = tmp_path / "station.csv"
    chosen = tuple(row for row in climate("champion") if row.day.year == 1994)
    path.write_text(as_ghcn_long(chosen), encoding="utf-8")
    rows = ground(path, "--station", CHAMPION_STATION, format="ghcn-daily")
    assert len(rows) == 365
    assert {row["gaps"] for row in rows[100:]} == {
        "missing solar_mj_m2 wind_m_s humidity_min_pct humidity_max_pct"
    }


def test_more_rain_leaves_no_later_day_drier(tmp_path: Path) -> None:
    path = weather_file(tmp_path, rainy())
    before = numbers(ground(path), "topsoil_m3_m3")
    wetter = [line if index != 20 else day_line(20, rain="30") for index, line in enumerate(rainy())]
    after = numbers(ground(weather_file(tmp_path, wetter)), "topsoil_m3_m3")
    assert (after >= before - 1e-5).all()
    assert after[20] > before[20] + 0.02


def test_evapotranspiration_of_a_typical_year_is_a_second_librarys(tmp_path: Path) -> None:
    # Greensboro, North Carolina: typical year of the US renewable energy laboratory, computed by pyfao56
    year = greensboro()
    saturated = [
        0.6108 * np.exp(17.27 * temp / (temp + 237.3)) for temp in (year.temp_min_c, year.temp_max_c)
    ]
    vapor = 0.6108 * np.exp(17.27 * year.dewpoint_c / (year.dewpoint_c + 237.3))
    dampest, driest = (np.clip(100 * vapor / most, 1, 100) for most in saturated)
    lines = [
        f"{dt.date(2025, 1, 1) + dt.timedelta(days=day)},{year.temp_min_c[day]},{year.temp_max_c[day]},0,"
        f"{year.solar_mj_m2_d[day]:.6f},{year.wind_2m_m_s[day]:.6f},{driest[day]:.6f},{dampest[day]:.6f}"
        for day in range(365)
    ]
    here = ("--latitude", str(year.latitude_deg), "--elevation", str(year.elevation_m))
    rows = ground(weather_file(tmp_path, lines), *here)
    theirs = [
        refet.ascedaily(
            rfcrp="S",
            z=year.elevation_m,
            lat=year.latitude_deg,
            doy=year.day_of_year[day],
            israd=year.solar_mj_m2_d[day],
            tmax=year.temp_max_c[day],
            tmin=year.temp_min_c[day],
            rhmax=dampest[day],
            rhmin=driest[day],
            wndsp=year.wind_2m_m_s[day],
        )
        for day in range(365)
    ]
    assert numbers(rows, "et0_mm") == pytest.approx(np.array(theirs), abs=0.05)
    assert 1000 < sum(theirs) < 1300


def test_what_drains_from_the_topsoil_is_what_reaches_the_ground_below() -> None:
    days = [FIRST + dt.timedelta(days=index) for index in range(60)]
    rain = [30.0 if index % 7 == 2 else 0.0 for index in range(60)]
    read = {
        day: {"temp_min_c": 10.0, "temp_max_c": 24.0, "rain_mm": amount} for day, amount in zip(days, rain)
    }
    texture = TEXTURES["clay_loam"]
    place = Place(31.5, -83.5, 105.0, "UTC")
    rows = ground_rows(place=place, read=read, made={}, texture=texture)
    soils = column_soils([texture])
    ran = run_column(
        soils=soils,
        start=at_field_capacity(soils=soils, members=1),
        day_index=np.arange(60),
        share_of_day=np.ones(60),
        daylight_share=np.ones(60),
        rain_mm=np.array(rain),
        et0_mm=np.array([row.et0_mm for row in rows], dtype=float),
        kc_max=np.full(60, kc_max(wind_2m_m_s=2.0, humidity_min_pct=45.0, height_m=0.10)),
        crop=bare_days(days=60, columns=1),
        keep_flows=True,
    )
    below_mm = float(ran.drainage_mm.sum() + (ran.end.subsoil_mm + ran.end.deep_mm).sum())
    assert below_mm > 5
    assert sum(row.drainage_mm or 0.0 for row in rows) == pytest.approx(below_mm, abs=1e-9)
    assert [row.runoff_mm for row in rows] == pytest.approx(ran.runoff_mm[:, 0, 0].tolist(), abs=1e-9)
