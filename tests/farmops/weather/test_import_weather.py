"""The command that reads weather in: what it writes, what it refuses, and how it ends."""

import datetime as dt
import json
from io import StringIO
from pathlib import Path

import pytest
import time_machine
from django.conf import settings
from django.core.management import CommandError, call_command

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, ForecastHour, ForecastIssue, Station
from farmops.weather.selectors import daily_series, hourly_forecast
from farmops.weather.services.imports import ImportRefused, import_weather
from tests.factories import make_farm

pytestmark = pytest.mark.django_db

FIXTURES = Path(settings.BASE_DIR) / "fixtures" / "weather"
HEADER = "date,temp_min_c,temp_max_c,rain_mm\n"


@pytest.fixture
def farm() -> Farm:
    return make_farm()


def run(format: str, path: Path, *more: str, farm: str = "heron-slough") -> tuple[int, str, str]:
    """Run the command as a person would; return exit code, standard output and what it said on failing."""
    out = StringIO()
    try:
        call_command("import_weather", "--farm", farm, "--format", format, str(path), *more, stdout=out)
    except CommandError as error:
        return error.returncode, out.getvalue(), str(error)
    return 0, out.getvalue(), ""


def everything() -> list[tuple]:
    return [
        *Station.objects.order_by("pk").values_list(),
        *DailyWeather.objects.order_by("pk").values_list(),
        *ForecastIssue.objects.order_by("pk").values_list(),
        *ForecastHour.objects.order_by("pk").values_list(),
    ]


def write(folder: Path, text: str, name: str = "days.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("format", "name"),
    [
        ("daily-csv", "daily.csv"),
        ("ghcn-daily", "ghcn_long.csv"),
        ("ghcn-daily", "ghcn_long_morning.csv"),
        ("ghcn-daily", "ghcn_wide.csv"),
        ("nws-grid", "nws_grid.json"),
    ],
)
def test_the_same_file_again_changes_nothing(farm: Farm, format: str, name: str) -> None:
    assert run(format, FIXTURES / name)[0] == 0
    before = everything()
    assert len(before) > 3
    code, out, _ = run(format, FIXTURES / name, "--json")
    report = json.loads(out)
    assert code == 0
    assert (report["new"], report["completed"], report["replaced"], report["filled"]) == (0, 0, 0, 0)
    assert report["same"] > 0
    assert everything() == before


def test_a_gap_of_two_days_is_filled_and_flagged(farm: Farm) -> None:
    run("daily-csv", FIXTURES / "daily.csv")
    made = DailyWeather.objects.filter(is_filled=True).order_by("day")
    assert [row.day.day for row in made] == [4, 6, 7]
    sixth = DailyWeather.objects.get(day="2026-04-06")
    assert sixth.temp_min_c == pytest.approx(8.3 + (10.0 - 8.3) / 3)
    assert sixth.rain_mm == 0.0
    fourth = DailyWeather.objects.get(day="2026-04-04")
    assert fourth.filled_names == "solar_mj_m2"
    assert fourth.solar_mj_m2 == pytest.approx((8.7 + 21.4) / 2)
    series = daily_series(farm=farm, first=dt.date(2026, 4, 5), last=dt.date(2026, 4, 8))
    assert series.kind == ["observed", "filled", "filled", "observed"]


def test_a_reading_takes_the_place_of_a_made_value(farm: Farm, tmp_path: Path) -> None:
    run("daily-csv", FIXTURES / "daily.csv")
    code, out, _ = run("daily-csv", write(tmp_path, HEADER + "2026-04-06,7.0,19.0,25.4\n"), "--json")
    assert (code, json.loads(out)["replaced"]) == (0, 1)
    sixth = DailyWeather.objects.get(day="2026-04-06")
    assert (sixth.rain_mm, sixth.is_filled, sixth.filled_names) == (
        25.4,
        True,
        "solar_mj_m2 wind_m_s humidity_min_pct humidity_max_pct",
    )
    assert DailyWeather.objects.get(day="2026-04-07").rain_mm == pytest.approx(12.7)


def test_a_value_made_before_stays_when_a_later_file_makes_another_of_that_day(
    farm: Farm, tmp_path: Path
) -> None:
    header = "date,temp_min_c,temp_max_c,rain_mm,solar_mj_m2,wind_m_s\n"
    winds = {4: "2", 5: "", 6: "", 7: "5"}
    solars = {4: "20", 5: "20", 6: "", 7: ""}
    rows = "".join(f"2026-04-0{day},5,20,0,{solars[day]},{winds[day]}\n" for day in winds)
    run("daily-csv", write(tmp_path, header + rows))
    sixth = DailyWeather.objects.get(day="2026-04-06")
    assert (sixth.wind_m_s, sixth.filled_names) == (4.0, "wind_m_s")
    run("daily-csv", write(tmp_path, header + "2026-04-09,5,20,0,24,5\n"))
    sixth.refresh_from_db()
    assert (sixth.wind_m_s, sixth.solar_mj_m2) == (4.0, 21.0)
    assert sixth.filled_names == "solar_mj_m2 wind_m_s"


def test_a_gap_of_four_days_is_named_and_left_open(farm: Farm, tmp_path: Path) -> None:
    path = write(tmp_path, HEADER + "2026-04-01,5,20,0\n2026-04-06,6,21,0\n2026-04-07,6,21,0\n")
    _, out, _ = run("daily-csv", path)
    assert "2026-04-02 to 2026-04-05 (4 days): no temp_min_c, temp_max_c, rain_mm" in out
    assert DailyWeather.objects.count() == 3


def test_a_day_with_another_value_is_named_by_file_and_line_and_nothing_is_written(
    farm: Farm, tmp_path: Path
) -> None:
    run("daily-csv", FIXTURES / "daily.csv")
    before = everything()
    path = write(
        tmp_path, HEADER + "2026-04-02,11.1,24.4,0.3\n2026-04-03,14.4,23.3,20.0\n2026-04-20,9,20,0\n"
    )
    code, _, says = run("daily-csv", path)
    assert code == 1
    assert str(path) in says
    assert "line 3: 2026-04-03 rain_mm is 20, but 18.5 is known already" in says
    assert everything() == before


def test_with_partial_the_rest_is_kept_and_the_exit_code_says_so(farm: Farm, tmp_path: Path) -> None:
    path = write(
        tmp_path,
        HEADER + "2026-05-01,11,24,0\n2026-05-02,30,24,0\n2026-05-03,eleven,24,0\n2026-05-04,11,24,-1\n",
    )
    code, _, says = run("daily-csv", path)
    assert (code, everything()) == (1, [])
    assert "3 rows cannot stand" in says
    code, _, says = run("daily-csv", path, "--partial")
    assert code == 3
    assert "line 3: 2026-05-02 temp_min_c 30 is above temp_max_c 24" in says
    assert "line 4: temp_min_c 'eleven' is not a number" in says
    assert "line 5: 2026-05-04 rain_mm is -1; rain cannot be negative" in says
    assert [str(day) for day in DailyWeather.objects.values_list("day", flat=True)] == ["2026-05-01"]


def test_a_dry_run_says_what_would_happen_and_writes_nothing(farm: Farm) -> None:
    code, out, _ = run("daily-csv", FIXTURES / "daily.csv", "--dry-run")
    assert (code, everything()) == (0, [])
    assert "7 days new" in out
    assert "Dry run" in out


def test_a_column_in_fahrenheit_is_refused_even_in_part(farm: Farm, tmp_path: Path) -> None:
    rows = "".join(f"2026-04-{day:02},{55 + day},{76 + day},0\n" for day in range(1, 8))
    path = write(tmp_path, HEADER + rows)
    for more in ((), ("--partial",)):
        code, _, says = run("daily-csv", path, *more)
        assert code == 1
        assert "are they °F instead of °C?" in says
    assert everything() == []


def test_a_doubted_unit_is_taken_when_a_person_says_it_is_right(farm: Farm, tmp_path: Path) -> None:
    rows = "".join(
        f"2026-{4 + day // 30:02}-{day % 30 + 1:02},5,15,{0.1 + day / 100:.2f}\n" for day in range(30)
    )
    path = write(tmp_path, HEADER + rows)
    code, _, says = run("daily-csv", path)
    assert code == 1
    assert "is rain_mm in inches?" in says
    assert run("daily-csv", path, "--units-are-right")[0] == 0
    assert DailyWeather.objects.count() == 30


def test_a_later_file_completes_a_day_that_lacked_a_quantity(farm: Farm, tmp_path: Path) -> None:
    run("daily-csv", write(tmp_path, HEADER + "2026-04-01,9.4,22.8,0\n"))
    text = "date,temp_min_c,temp_max_c,rain_mm,wind_m_s\n2026-04-01,9.4,22.8,0,2.5\n"
    _, out, _ = run("daily-csv", write(tmp_path, text), "--json")
    assert json.loads(out)["completed"] == 1
    assert DailyWeather.objects.get().wind_m_s == 2.5


def test_the_archives_flags_are_honored(farm: Farm) -> None:
    _, out, _ = run("ghcn-daily", FIXTURES / "ghcn_long.csv")
    rows = {row.day.day: row for row in DailyWeather.objects.all()}
    assert rows[1].rain_mm == 0.0  # a trace
    assert rows[3].filled_names == "temp_min_c"  # the reading failed a check
    assert rows[4].filled_names == "rain_mm"  # missing, presumed zero
    assert rows[5].filled_names == "rain_mm"  # -9999
    assert rows[4].rain_mm == pytest.approx(18.5 + (5.1 - 18.5) / 3)
    assert rows[6].rain_mm == 5.1
    assert "quality checks: 1 value." in out
    assert Station.objects.get().code == "US1XXINV001"


def test_the_wide_layout_brings_the_stations_place(farm: Farm) -> None:
    _, out, _ = run("ghcn-daily", FIXTURES / "ghcn_wide.csv")
    station = Station.objects.get()
    assert (station.name, float(station.latitude_deg or 0)) == ("INVENTED GIN 2 N, GA US", 31.62)
    assert "km from" not in out


def test_a_file_of_several_stations_wants_a_choice(farm: Farm, tmp_path: Path) -> None:
    both = "".join(
        (FIXTURES / name).read_text(encoding="utf-8") for name in ("ghcn_long.csv", "ghcn_long_morning.csv")
    )
    path = write(tmp_path, both)
    code, _, says = run("ghcn-daily", path)
    assert code == 1
    assert "holds 2 stations (US1XXINV001, US1XXINV002); choose one with --station" in says
    assert run("ghcn-daily", path, "--station", "US1XXINV002")[0] == 0
    assert Station.objects.get().code == "US1XXINV002"
    assert "holds no station 'US1XXINV009'" in run("ghcn-daily", path, "--station", "US1XXINV009")[2]


def test_a_forecast_is_stored_by_issue_and_hour(farm: Farm) -> None:
    code, out, _ = run("nws-grid", FIXTURES / "nws_grid.json")
    assert code == 0
    assert "The layer skyCover is not there." in out
    issue = ForecastIssue.objects.get()
    assert (issue.source, issue.issued_at) == ("XXX/12,34", dt.datetime(2026, 4, 19, 22, 10, tzinfo=dt.UTC))
    series = hourly_forecast(farm=farm, as_of=dt.date(2026, 4, 19))
    assert series is not None
    assert len(series.hour_at) == 30
    assert series.wind_m_s[0] == pytest.approx(5.0)
    assert series.rain_mm[2:12].tolist() == pytest.approx([0.25] * 6 + [2.0] * 3 + [0.5])


def test_the_same_issue_with_other_values_is_refused(farm: Farm, tmp_path: Path) -> None:
    run("nws-grid", FIXTURES / "nws_grid.json")
    before = everything()
    text = (FIXTURES / "nws_grid.json").read_text(encoding="utf-8").replace('"value": 26.1', '"value": 27.2')
    code, _, says = run("nws-grid", write(tmp_path, text, "grid.json"))
    assert code == 1
    assert "is here already, with other values: temp_c of 2026-04-20T18:00Z is 27.2, known is 26.1" in says
    assert everything() == before


def test_an_older_issue_is_kept_and_said_to_be_stale(farm: Farm, tmp_path: Path) -> None:
    run("nws-grid", FIXTURES / "nws_grid.json")
    text = (
        (FIXTURES / "nws_grid.json")
        .read_text(encoding="utf-8")
        .replace("2026-04-19T22:10", "2026-04-18T10:10")
    )
    code, out, _ = run("nws-grid", write(tmp_path, text, "grid.json"))
    assert code == 0
    assert "A newer forecast is here already (2026-04-19 22:10 UTC)" in out


def test_a_grid_with_a_bad_value_is_kept_in_part_only_when_asked(farm: Farm, tmp_path: Path) -> None:
    text = (FIXTURES / "nws_grid.json").read_text(encoding="utf-8").replace('"value": 70', '"value": 170')
    path = write(tmp_path, text, "grid.json")
    code, _, says = run("nws-grid", path)
    assert (code, everything()) == (1, [])
    assert "/properties/probabilityOfPrecipitation/values/1: has the value 170; possible is 0 to 100" in says
    assert run("nws-grid", path, "--partial")[0] == 3
    assert ForecastHour.objects.filter(rain_chance_pct=None).count() == 16


def test_a_grid_that_was_kept_in_part_is_completed_by_the_whole_one(farm: Farm, tmp_path: Path) -> None:
    text = (FIXTURES / "nws_grid.json").read_text(encoding="utf-8")
    part = write(tmp_path, text.replace('"value": 70', '"value": 170'), "grid.json")
    assert run("nws-grid", part, "--partial")[0] == 3
    code, out, _ = run("nws-grid", FIXTURES / "nws_grid.json")
    assert (code, ForecastHour.objects.filter(rain_chance_pct=None).count()) == (0, 0)
    assert "0 hours new, 16 completed, 0 made ones now read, 14 known already" in out
    before = everything()
    assert run("nws-grid", FIXTURES / "nws_grid.json")[0] == 0
    code, _, says = run("nws-grid", part, "--partial")
    assert (code, everything()) == (1, before)
    assert "rain_chance_pct of 2026-04-20T12:00Z is None, known is 70.0" in says


def test_a_refusal_of_the_weather_service_is_told_from_a_forecast(farm: Farm) -> None:
    code, _, says = run("nws-grid", FIXTURES / "nws_refusal.json")
    assert code == 1
    assert "refusal instead of a forecast: Forecast Grid Expired (503)" in says
    assert "issued 2026-04-17T08:20:45+00:00 and has expired" in says


def test_an_unknown_farm_is_named(farm: Farm) -> None:
    code, _, says = run("daily-csv", FIXTURES / "daily.csv", farm="nowhere")
    assert code == 1
    assert "No farm has the code 'nowhere'. Known farms: heron-slough." in says


def test_files_that_are_no_weather_are_refused_with_a_sentence(farm: Farm, tmp_path: Path) -> None:
    cases = {
        b"": "is empty",
        b"\xef\xbb\xbf\r\n": "is empty",
        b"\x1f\x8b\x08\x00": "is packed",
        b"date,temp_min_c\n\xff\xfe": "is not UTF-8 text (line 2)",
        b"date;temp_min_c;temp_max_c;rain_mm\n": "is parted by semicolons",
        b"date,temp_min_k,temp_max_f,rain_in\n": "'temp_min_k' is no column of daily-csv",
        HEADER.encode(): "holds a header and no days",
        b"a\0b": "holds zero bytes",
    }
    for data, says in cases.items():
        path = tmp_path / "odd.csv"
        path.write_bytes(data)
        with pytest.raises(ImportRefused) as refusal:
            import_weather(farm=farm, format="daily-csv", path=path)
        assert says in refusal.value.says
        assert str(path) in refusal.value.says
    with pytest.raises(ImportRefused, match="There is no file"):
        import_weather(farm=farm, format="daily-csv", path=tmp_path / "none.csv")
    with pytest.raises(ImportRefused, match="known: ghcn-daily, daily-csv, nws-grid"):
        import_weather(farm=farm, format="xls", path=tmp_path / "odd.csv")
    assert everything() == []


def test_a_file_larger_than_is_read_at_once_is_refused_unread(farm: Farm, tmp_path: Path) -> None:
    path = tmp_path / "large.csv"
    with path.open("wb") as file:
        file.truncate(3_000_000_000)
    code, _, says = run("daily-csv", path)
    assert (code, everything()) == (1, [])
    assert "large.csv has 3000 MB; at most 20 MB are read at once" in says


@pytest.mark.parametrize("station", ["", "x" * 41, "a\0b", "=1+1", "a\nb"])
def test_a_station_has_a_short_plain_code(farm: Farm, station: str) -> None:
    code, _, says = run("daily-csv", FIXTURES / "daily.csv", "--station", station)
    assert (code, everything()) == (1, [])
    assert f"{station!r} is no code of a station" in says


def test_days_that_have_not_come_yet_are_noted_with_a_line(farm: Farm, tmp_path: Path) -> None:
    path = write(tmp_path, f"{HEADER}2026-04-19,9,24,0\n2026-04-20,9,24,0\n2062-04-21,9,24,0\n")
    report = import_weather(farm=farm, format="daily-csv", path=path, today=dt.date(2026, 4, 20))
    said = "1 day has not come yet (today is 2026-04-20): 2062-04-21 on line 4, for one. Is the year right?"
    assert said in report.notes
    again = import_weather(farm=farm, format="daily-csv", path=path, today=dt.date(2062, 4, 21))
    assert not [note for note in again.notes if "not come yet" in note]
    with time_machine.travel(dt.datetime(2026, 4, 20, 12, tzinfo=dt.UTC), tick=False):
        assert said in run("daily-csv", path)[1]


def test_two_farms_keep_their_own_weather(farm: Farm) -> None:
    make_farm("another")
    run("daily-csv", FIXTURES / "daily.csv")
    run("daily-csv", FIXTURES / "daily.csv", farm="another")
    assert Station.objects.count() == 2
    assert DailyWeather.objects.filter(farm=farm).count() == DailyWeather.objects.count() / 2


def test_a_high_below_the_low_that_is_known_is_named(farm: Farm, tmp_path: Path) -> None:
    run("daily-csv", write(tmp_path, f"{HEADER}2026-04-19,14.5,,0\n"))
    before = everything()
    code, _, says = run("daily-csv", write(tmp_path, f"{HEADER}2026-04-19,,14.4,0\n"))
    assert (code, everything()) == (1, before)
    assert "line 2: 2026-04-19 temp_min_c 14.5 is above temp_max_c 14.4, together with what is known" in says
