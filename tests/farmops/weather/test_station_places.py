"""Where imported weather is from: far stations, stations that moved, places off the globe, days that do not connect."""

import datetime as dt
import json
import re
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, ForecastIssue, Station
from farmops.weather.selectors import daily_series
from farmops.weather.services.imports import ImportRefused, ImportReport, import_weather
from tests.factories import make_farm

pytestmark = pytest.mark.django_db

FIXTURES = Path(settings.BASE_DIR) / "fixtures" / "weather"
HEADER = "date,temp_min_c,temp_max_c,rain_mm\n"
TODAY = dt.date(2026, 4, 20)


@pytest.fixture
def farm() -> Farm:
    return make_farm()


def wide(folder: Path, latitude: str = "31.62", longitude: str = "-83.51") -> Path:
    text = (FIXTURES / "ghcn_wide.csv").read_text(encoding="utf-8")
    path = folder / "wide.csv"
    path.write_text(text.replace("31.62", latitude).replace("-83.51", longitude), encoding="utf-8")
    return path


def grid(folder: Path, *changes: tuple[str, str]) -> Path:
    text = (FIXTURES / "nws_grid.json").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "grid.json"
    path.write_text(text, encoding="utf-8")
    return path


def days(folder: Path, *rows: str) -> Path:
    path = folder / "days.csv"
    path.write_text(HEADER + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return path


def taken(farm: Farm, path: Path, format: str = "ghcn-daily", **how: object) -> ImportReport:
    return import_weather(farm=farm, format=format, path=path, **how)  # type: ignore[arg-type]


def refused(farm: Farm, path: Path, format: str = "ghcn-daily", **how: object) -> str:
    with pytest.raises(ImportRefused) as refusal:
        taken(farm, path, format, **how)
    assert Station.objects.count() == DailyWeather.objects.count() == ForecastIssue.objects.count() == 0
    return refusal.value.says


def test_a_station_far_away_is_said_with_its_distance(farm: Farm, tmp_path: Path) -> None:
    # A degree of latitude at 33 N is 110.92 km (meridian arc, from memory); 34.85 - 31.60 = 3.25 degrees.
    report = taken(farm, wide(tmp_path, "34.85"))
    assert "Station US1XXINV003 stands 360 km from Heron Slough." in report.notes
    near = taken(farm, FIXTURES / "ghcn_long.csv")
    assert not [note for note in near.notes if "km from" in note]


def test_a_station_of_another_place_is_refused_unless_it_is_meant(farm: Farm, tmp_path: Path) -> None:
    path = wide(tmp_path, "35.22")  # 3.62 degrees
    says = refused(farm, path)
    assert says == (
        f"{path} is of another place. Station US1XXINV003 stands 402 km from Heron Slough, and what is farther than "
        "400 km says nothing about the farm. Nothing was written. If it is meant, say --far-station."
    )
    report = taken(farm, path, far_station=True)
    assert "Station US1XXINV003 stands 402 km from Heron Slough." in report.notes
    assert report.new > 0
    assert taken(farm, path).changes == 0  # said once, it is known


def test_the_command_lets_a_far_station_in_only_when_told(farm: Farm, tmp_path: Path) -> None:
    command = ["import_weather", str(wide(tmp_path, "35.22")), "--farm", farm.code, "--format", "ghcn-daily"]
    with pytest.raises(CommandError, match="say --far-station") as refusal:
        call_command(*command, stdout=StringIO())
    assert refusal.value.returncode == 1
    out = StringIO()
    call_command(*command, "--far-station", stdout=out)
    assert "stands 402 km from Heron Slough" in out.getvalue()


@pytest.mark.parametrize(
    ("latitude", "longitude", "says"),
    [
        ("131.62", "-83.51", "gives station US1XXINV003 the latitude 131.62; possible is -90 to 90 (line 2)"),
        (
            "31.62",
            "-183.51",
            "gives station US1XXINV003 the longitude -183.51; possible is -180 to 180 (line 2)",
        ),
        ("31N", "-83.51", "gives the LATITUDE '31N', which is no number of degrees (line 2)"),
        ("nan", "-83.51", "gives the LATITUDE 'nan', which is no number of degrees (line 2)"),
    ],
)
def test_a_place_off_the_globe_is_refused_by_its_line(
    farm: Farm, tmp_path: Path, latitude: str, longitude: str, says: str
) -> None:
    path = wide(tmp_path, latitude, longitude)
    for partial in (False, True):
        assert refused(farm, path, partial=partial) == f"{path} {says}."


def test_a_grid_cell_far_away_or_off_the_globe_is_refused(farm: Farm, tmp_path: Path) -> None:
    far = grid(tmp_path, ("31.59]", "36.59]"), ("31.61]", "36.61]"))
    says = refused(farm, far, "nws-grid")
    # 5 degrees of latitude at 34 N, of 110.94 km each (meridian arc, from memory)
    assert re.search(r"The grid cell XXX/12,34 lies 55[45] km from Heron Slough", says)
    assert taken(farm, far, "nws-grid", far_station=True).new == 30
    ForecastIssue.objects.get().hours.all().delete()
    ForecastIssue.objects.all().delete()
    odd = grid(tmp_path, ("[-83.53, 31.59]", "[-83.53, 91.59]"))
    assert "gives its cell the latitude 91.59; possible is -90 to 90 (/geometry/coordinates)" in refused(
        farm, odd, "nws-grid"
    )


def test_a_daily_csv_is_told_where_its_station_stands(farm: Farm, tmp_path: Path) -> None:
    path = days(tmp_path, "2026-04-01,9,24,0")
    call_command(
        "import_weather", str(path), "--farm", farm.code, "--format", "daily-csv", "--station", "creek",
        "--latitude", "31.7", "--longitude", "-83.4", stdout=StringIO(),
    )  # fmt: skip
    creek = Station.objects.get()
    assert (creek.code, float(creek.latitude_deg or 0), float(creek.longitude_deg or 0)) == (
        "creek",
        31.7,
        -83.4,
    )


@pytest.mark.parametrize(
    ("format", "name", "place", "says"),
    [
        (
            "daily-csv",
            "daily.csv",
            (131.6, -83.4),
            "The place of the station has the latitude 131.6; possible is",
        ),
        (
            "daily-csv",
            "daily.csv",
            (31.6, 183.4),
            "The place of the station has the longitude 183.4; possible is",
        ),
        ("daily-csv", "daily.csv", (float("nan"), -83.4), "has the latitude nan"),
        ("daily-csv", "daily.csv", (31.6, None), "--latitude and --longitude go together"),
        ("daily-csv", "daily.csv", (45.0, -83.4), "Station farm stands 1487 km from Heron Slough"),
        ("ghcn-daily", "ghcn_wide.csv", (31.6, -83.4), "says itself where station US1XXINV003 stands"),
        ("nws-grid", "nws_grid.json", (31.6, -83.4), "A forecast grid says its own place"),
    ],
)
def test_a_place_that_cannot_be_told_is_refused(
    farm: Farm, format: str, name: str, place: tuple[float, float | None], says: str
) -> None:
    latitude_deg, longitude_deg = place
    told = refused(farm, FIXTURES / name, format, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    assert says in told


def test_a_station_gets_its_place_when_a_later_file_brings_it(farm: Farm, tmp_path: Path) -> None:
    Station.objects.create(farm=farm, code="US1XXINV003")
    taken(farm, wide(tmp_path))
    station = Station.objects.get()
    assert (station.name, float(station.latitude_deg or 0)) == ("INVENTED GIN 2 N, GA US", 31.62)
    assert "is of another place" in _says(farm, wide(tmp_path, "45.00"), code="US1XXINV004")


def _says(farm: Farm, path: Path, *, code: str) -> str:
    Station.objects.create(farm=farm, code=code)
    path.write_text(path.read_text(encoding="utf-8").replace("US1XXINV003", code), encoding="utf-8")
    with pytest.raises(ImportRefused) as refusal:
        taken(farm, path)
    assert Station.objects.get(code=code).latitude_deg is None
    return refusal.value.says


def test_a_station_that_moved_is_noted_and_its_known_place_stays(farm: Farm, tmp_path: Path) -> None:
    taken(farm, wide(tmp_path))
    same_yard = taken(farm, wide(tmp_path, "31.621"))  # 110 m off
    assert not [note for note in same_yard.notes if "is known at" in note]
    report = taken(farm, wide(tmp_path, "31.72"))
    assert (
        "Station US1XXINV003 is known at 31.62, -83.51; this file puts it 11 km from there. "
        "The place that is known stays; a station that moved wants a code of its own."
    ) in report.notes
    assert float(Station.objects.get().latitude_deg or 0) == 31.62


def test_a_missing_month_inside_a_file_is_named(farm: Farm, tmp_path: Path) -> None:
    report = taken(farm, days(tmp_path, "2026-03-31,9,24,0", "2026-05-01,12,27,0"), "daily-csv")
    assert report.notes == [
        "2026-04-01 to 2026-04-30 (30 days): no temp_min_c, temp_max_c, rain_mm; too long to be made up."
    ]


def test_a_missing_month_between_two_files_is_named_whichever_comes_first(farm: Farm, tmp_path: Path) -> None:
    march, may = ("2026-03-31,9,24,0",), ("2026-05-01,12,27,0",)
    says = "2026-04-01 to 2026-04-30 (30 days): no day is known at {}."
    taken(farm, days(tmp_path, *march), "daily-csv", station="one")
    assert taken(farm, days(tmp_path, *may), "daily-csv", station="one").notes == [says.format("one")]
    taken(farm, days(tmp_path, *may), "daily-csv", station="two")
    assert taken(farm, days(tmp_path, *march), "daily-csv", station="two").notes == [says.format("two")]
    rows = [f"2026-04-{day:02},9,24,0" for day in range(1, 31)]
    assert taken(farm, days(tmp_path, *rows), "daily-csv", station="two").notes == []


def test_a_gap_of_three_days_between_two_files_is_made_and_not_named(farm: Farm, tmp_path: Path) -> None:
    taken(farm, days(tmp_path, "2026-04-01,9,24,0"), "daily-csv")
    report = taken(farm, days(tmp_path, "2026-04-05,9,24,0"), "daily-csv")
    assert (report.filled, report.notes) == (3, [])


@pytest.mark.parametrize(("today", "is_old"), [(20, False), (21, True), (25, True)])
def test_a_forecast_older_than_a_day_is_noted(farm: Farm, today: int, is_old: bool) -> None:
    report = taken(farm, FIXTURES / "nws_grid.json", "nws-grid", today=dt.date(2026, 4, today))
    said = (
        "This forecast was issued on 2026-04-19, more than a day before today "
        f"(2026-04-{today}): fetch a newer one."
    )
    assert (said in report.notes) == is_old


def test_a_forecast_that_has_not_been_issued_yet_is_noted(farm: Farm) -> None:
    report = taken(farm, FIXTURES / "nws_grid.json", "nws-grid", today=dt.date(2026, 4, 18))
    assert (
        "This forecast was issued on 2026-04-19, which has not come yet (today is 2026-04-18)."
        in report.notes
    )


def test_a_place_told_with_a_file_steers_what_the_farm_gets(farm: Farm, tmp_path: Path) -> None:
    for code, latitude_deg, rain in (("south", 31.51, 8), ("north", 31.78, 0)):
        taken(
            farm,
            days(tmp_path, f"2026-04-01,9,24,{rain}"),
            "daily-csv",
            station=code,
            latitude_deg=latitude_deg,
            longitude_deg=-83.52,
        )
    series = daily_series(farm=farm, first=dt.date(2026, 4, 1), last=dt.date(2026, 4, 1))
    assert series.rain_mm[0] == pytest.approx(6.4, abs=0.01)  # 0.09° and 0.18° away: shares 4/5 and 1/5


def test_the_report_in_json_carries_the_notes(farm: Farm, tmp_path: Path) -> None:
    out = StringIO()
    call_command(
        "import_weather", str(wide(tmp_path, "34.85")), "--farm", farm.code, "--format", "ghcn-daily", "--json",
        stdout=out,
    )  # fmt: skip
    assert "Station US1XXINV003 stands 360 km from Heron Slough." in json.loads(out.getvalue())["notes"]
