"""The ground of one place from a weather file, without a database."""

import csv
import datetime as dt
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connections
from pyfao56 import refet

from farmops.science.heat_units import corn_86_50_f, dd60_f
from farmops.science.textures import TEXTURES
from tests.open_climates import CHAMPION_STATION, as_ghcn_long, climate
from tests.published.packaged_data import greensboro

HEADER = "date,temp_min_c,temp_max_c,rain_mm,solar_mj_m2,wind_m_s,humidity_min_pct,humidity_max_pct"
COLUMNS = (
    "date et0_mm runoff_mm evaporation_mm drainage_mm topsoil_m3_m3 rootzone_depletion_mm soil_temp_mean_c "
    "soil_temp_8am_c heat_units_dd60_f heat_units_86_50_f gaps"
).split()
FIRST = dt.date(2026, 3, 1)
HERE = ("--latitude", "31.5", "--elevation", "105", "--texture", "sandy_loam")


def day_line(
    index: int, *, low: str = "10", high: str = "24", rain: str = "0", rest: str = "18,2,40,90"
) -> str:
    return f"{FIRST + dt.timedelta(days=index)},{low},{high},{rain},{rest}"


def weather_file(folder: Path, lines: list[str]) -> Path:
    path = folder / "weather.csv"
    path.write_text("\n".join([HEADER, *lines]) + "\n", encoding="utf-8")
    return path


def ground(
    path: Path, *more: str, out: Path | None = None, format: str = "daily-csv"
) -> list[dict[str, str]]:
    out = out or path.with_name("ground.csv")
    call_command(
        "ground",
        "--weather",
        str(path),
        "--format",
        format,
        *HERE,
        *more,
        "--csv",
        str(out),
        stdout=StringIO(),
    )
    with out.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def numbers(rows: list[dict[str, str]], name: str) -> np.ndarray:
    return np.array([float(row[name]) for row in rows])


def rainy(count: int = 60) -> list[str]:
    return [day_line(index, rain="25" if index % 9 == 4 else "0") for index in range(count)]


def test_one_row_a_day_with_the_columns_and_units_in_their_names(tmp_path: Path) -> None:
    rows = ground(weather_file(tmp_path, rainy()))
    assert list(rows[0]) == COLUMNS
    assert [row["date"] for row in rows] == [str(FIRST + dt.timedelta(days=index)) for index in range(60)]


def test_a_day_without_a_gap_after_the_start_is_settled_says_nothing(tmp_path: Path) -> None:
    rows = ground(weather_file(tmp_path, rainy()))
    assert rows[0]["gaps"].startswith("start unsure: topsoil 0.")
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


REFUSED = {
    "latitude": ((), ("--latitude", "91"), "--latitude is 91; it must be from -90 to 90"),
    "elevation": ((), ("--elevation", "9000"), "--elevation is 9000"),
    "texture": (
        (),
        ("--texture", "peat"),
        "--texture 'peat' is not known; known are sand, loamy_sand, sandy_loam",
    ),
    "depth": ((), ("--depth-cm", "31"), "--depth-cm is 31; it must be from 0 to 30"),
    "order": (
        (),
        ("--from", "2026-04-01", "--to", "2026-03-31"),
        "--from 2026-04-01 is after --to 2026-03-31",
    ),
    "no date": ((), ("--from", "spring"), "--from is 'spring'; give a date such as"),
    "outside": ((), ("--to", "2027-01-01"), "which reaches from 2026-03-01 to 2026-03-12"),
    "crossed": (
        (day_line(12, low="25", high="20"),),
        (),
        "line 14: 2026-03-13 temp_min_c 25 is above temp_max_c 20",
    ),
    "negative rain": (
        (day_line(12, rain="-1"),),
        (),
        "line 14: 2026-03-13 rain_mm is -1; rain cannot be negative",
    ),
    "humidity 0": ((day_line(12, rest="18,2,0,90"),), (), "humidity_min_pct is 0 %; possible is 1 to 100"),
    "humidity 110": (
        (day_line(12, rest="18,2,40,110"),),
        (),
        "humidity_max_pct is 110 %; possible is 1 to 100",
    ),
    "one day in F": ((day_line(12, low="50", high="75"),), (), "temp_max_c is 75 °C; possible is -60 to 57"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_bad_input_is_refused_with_its_sentence_and_nothing_is_written(tmp_path: Path, case: str) -> None:
    lines, options, says = REFUSED[case]
    path = weather_file(tmp_path, [*rainy(12), *lines])
    with pytest.raises(CommandError) as refused:
        ground(path, *options)
    assert says in str(refused.value)
    assert refused.value.returncode == 1
    assert sorted(tmp_path.iterdir()) == [path]


def test_a_column_in_fahrenheit_is_refused_by_its_range_or_its_spread(tmp_path: Path) -> None:
    summer = [day_line(index, low="68", high="92") for index in range(20)]
    with pytest.raises(CommandError, match="are they °F instead of °C"):
        ground(weather_file(tmp_path, summer))
    winter = [day_line(index, low="20", high="54") for index in range(20)]
    with pytest.raises(
        CommandError, match="highs are 34 degrees above lows on average: are the temperatures °F"
    ):
        ground(weather_file(tmp_path, winter))
    assert len(ground(weather_file(tmp_path, winter), "--units-are-right")) == 20


def test_files_that_cannot_be_read_or_written_are_named(tmp_path: Path) -> None:
    path = weather_file(tmp_path, rainy(12))
    with pytest.raises(CommandError, match="There is no file"):
        ground(tmp_path / "none.csv")
    with pytest.raises(CommandError, match="is a folder; --csv names a file"):
        ground(path, out=tmp_path)
    with pytest.raises(CommandError, match="there is no such folder"):
        ground(path, out=tmp_path / "none" / "ground.csv")
    with pytest.raises(CommandError, match="is the weather file itself"):
        ground(path, out=path)
    with pytest.raises(CommandError, match="is neither layout of ghcn-daily"):
        ground(path, format="ghcn-daily")
    with pytest.raises(CommandError, match="temp_min_c 'warm' is not a number"):
        ground(weather_file(tmp_path, [day_line(0, low="warm")]))


def wide(latitude: str, *stations: str) -> str:
    """Return two days of each station in the archive's wide layout."""
    head = "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES,PRCP,PRCP_ATTRIBUTES"
    days = [
        f"{code},2026-04-{day},{latitude},-83.5,105,HERON SLOUGH,240,,100,,{rain},"
        for code in stations
        for day, rain in (("01", 0), ("02", 127))
    ]
    return "\n".join([head, *days]) + "\n"


def test_a_station_at_another_latitude_is_refused_with_its_distance(tmp_path: Path) -> None:
    path = tmp_path / "station.csv"
    path.write_text(wide("31.6", "US1GAHS0001"), encoding="utf-8")
    assert [row["date"] for row in ground(path, format="ghcn-daily")] == ["2026-04-01", "2026-04-02"]
    path.write_text(wide("-31.6", "US1GAHS0001"), encoding="utf-8")
    with pytest.raises(CommandError, match=r"stands at latitude -31.6, 70\d\d km from --latitude 31.5"):
        ground(path, format="ghcn-daily")


def test_a_file_of_two_stations_asks_which(tmp_path: Path) -> None:
    path = tmp_path / "station.csv"
    path.write_text(wide("31.6", "US1GAHS0001", "US1GAHS0002"), encoding="utf-8")
    with pytest.raises(CommandError, match=r"holds 2 stations \(US1GAHS0001, US1GAHS0002\); choose one"):
        ground(path, format="ghcn-daily")
    assert len(ground(path, "--station", "US1GAHS0002", format="ghcn-daily")) == 2
    with pytest.raises(CommandError, match="holds no station 'US1GAHS0003'"):
        ground(path, "--station", "US1GAHS0003", format="ghcn-daily")


def test_a_write_that_fails_leaves_the_old_file_and_no_draft(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = weather_file(tmp_path, rainy(12))
    out = tmp_path / "ground.csv"
    out.write_text("before", encoding="utf-8")

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(CommandError, match="cannot be written: No space left on device"):
        call_command("ground", "--weather", str(path), "--format", "daily-csv", *HERE, "--csv", str(out))
    assert out.read_text(encoding="utf-8") == "before"
    assert sorted(tmp_path.iterdir()) == [out, path]


def test_a_polar_night_is_refused_with_the_latitude(tmp_path: Path) -> None:
    path = tmp_path / "weather.csv"
    path.write_text(f"{HEADER}\n2026-12-20,-20,-10,0,0,2,80,90\n", encoding="utf-8")
    with pytest.raises(CommandError, match=r"cannot be worked out: .*latitude"):
        ground(path, "--latitude", "80")


@pytest.fixture
def no_database(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object, **options: object) -> None:
        raise AssertionError("the command opened the database")

    for connection in connections.all():
        monkeypatch.setattr(connection, "connect", refuse)
        monkeypatch.setattr(connection, "cursor", refuse)


@pytest.mark.usefixtures("no_database")
def test_no_connection_is_opened(tmp_path: Path) -> None:
    assert len(ground(weather_file(tmp_path, rainy(12)))) == 12


def test_it_runs_from_the_shell_where_the_database_cannot_be_opened(tmp_path: Path) -> None:
    path, out = weather_file(tmp_path, rainy(12)), tmp_path / "ground.csv"
    ran = subprocess.run(
        [
            sys.executable,
            "manage.py",
            "ground",
            "--weather",
            path,
            "--format",
            "daily-csv",
            *HERE,
            "--csv",
            out,
        ],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(tmp_path / "no" / "such" / "folder" / "farm.sqlite3"),
            "FARMOPS_SECRET_KEY": "for-a-test-only",
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "12 days, 2026-03-01 to 2026-03-12" in ran.stdout
    assert not (tmp_path / "no").exists()
