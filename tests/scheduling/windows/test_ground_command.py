"""The ground of one place from a weather file, without a database: what is refused, and how it is written."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connections

from tests.scheduling.windows.ground_files import HEADER, HERE, day_line, ground, rainy, weather_file

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


def test_a_day_in_fahrenheit_within_a_long_file_is_refused_by_the_days_before_it(tmp_path: Path) -> None:
    path = weather_file(tmp_path, [*rainy(12), day_line(12, low="44", high="56"), day_line(13)])
    with pytest.raises(CommandError, match=r"On 2026-03-13 \(line 14\) the mean is 50, 33 degrees above"):
        ground(path)
    assert len(ground(path, "--units-are-right")) == 14


def test_a_day_that_would_dry_more_than_the_balance_takes_is_named(tmp_path: Path) -> None:
    desert = [
        day_line(index, low="28", high="48", rest=f"30,{20 if index == 8 else 3},2,15") for index in range(12)
    ]
    path = weather_file(tmp_path, desert)
    with pytest.raises(CommandError, match=r"et0_mm is 33; valid is 0 to 30 a day; on 2026-03-09 wind"):
        ground(path)
    assert sorted(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(("low", "high", "rest"), [("-60", "-58", ",2,40,90"), ("24", "40", "44,2,40,90")])
def test_days_at_the_edge_of_what_is_possible_are_worked_out(
    tmp_path: Path, low: str, high: str, rest: str
) -> None:
    rows = ground(
        weather_file(tmp_path, [day_line(index, low=low, high=high, rest=rest) for index in range(12)])
    )
    assert all(row["soil_temp_mean_c"] for row in rows)


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
