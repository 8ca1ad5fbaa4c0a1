"""Every kind of bad weather, brought in as a person would: a sentence that says where, and nothing written."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, ForecastHour, ForecastIssue, Station
from tests.factories import make_farm

pytestmark = pytest.mark.django_db

GRID = Path(settings.BASE_DIR) / "fixtures" / "weather" / "nws_grid.json"
COLUMNS = ("temp_min_c", "temp_max_c", "rain_mm", "humidity_min_pct", "humidity_max_pct")


@pytest.fixture
def farm() -> Farm:
    return make_farm()


def csv(folder: Path, *rows: tuple[Any, ...], first: int = 1) -> Path:
    """Write days of April 2026 with the values of COLUMNS, as many as are given."""
    columns = COLUMNS[: len(rows[0])]
    lines = [",".join(("date", *columns))]
    lines += [
        ",".join([f"2026-04-{first + index:02}", *(str(value) for value in row)])
        for index, row in enumerate(rows)
    ]
    path = folder / "days.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def bring(farm: Farm, path: Path, format: str = "daily-csv", *more: str) -> str:
    out = StringIO()
    call_command("import_weather", str(path), "--farm", farm.code, "--format", format, *more, stdout=out)
    return out.getvalue()


def refusal(farm: Farm, path: Path, format: str = "daily-csv", *more: str) -> str:
    before = counts()
    with pytest.raises(CommandError) as refused:
        bring(farm, path, format, *more)
    assert refused.value.returncode == 1
    assert counts() == before
    says = str(refused.value)
    assert says.startswith(str(path))
    return says


def counts() -> list[int]:
    return [model.objects.count() for model in (Station, DailyWeather, ForecastIssue, ForecastHour)]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ((24, 9, 0), "line 3: 2026-04-02 temp_min_c 24 is above temp_max_c 9"),
        ((9, 24, -0.1), "line 3: 2026-04-02 rain_mm is -0.1; rain cannot be negative"),
        ((9, 24, 0, 0, 90), "line 3: 2026-04-02 humidity_min_pct is 0 %; possible is 1 to 100"),
        ((9, 24, 0, 40, 110), "line 3: 2026-04-02 humidity_max_pct is 110 %; possible is 1 to 100"),
        ((9, 24, 0, 80, 40), "line 3: 2026-04-02 humidity_min_pct 80 is above humidity_max_pct 40"),
        ((58, 79, 0), "line 3: 2026-04-02 temp_min_c is 58 °C; possible is -60 to 50"),
    ],
)
def test_a_value_that_cannot_be_is_named_by_its_line(
    farm: Farm, tmp_path: Path, row: tuple[Any, ...], says: str
) -> None:
    plain = (9, 24, 0, 40, 90)[: len(row)]
    assert says in refusal(farm, csv(tmp_path, plain, row, plain))


def test_fahrenheit_is_told_by_its_range(farm: Farm, tmp_path: Path) -> None:
    path = csv(tmp_path, *[(55 + day, 76 + day, 0) for day in range(7)])
    assert "the temperatures go to 82: are they °F instead of °C?" in refusal(farm, path)


def test_fahrenheit_of_a_winter_is_told_by_its_daily_spread(farm: Farm, tmp_path: Path) -> None:
    path = csv(tmp_path, *[(8, 40, 0)] * 10)
    assert "highs are 32 degrees above lows on average: are the temperatures °F?" in refusal(farm, path)


def test_a_day_or_two_of_fahrenheit_are_told_by_the_days_before(farm: Farm, tmp_path: Path) -> None:
    bring(farm, csv(tmp_path, *[(2, 14, 0)] * 10))
    path = csv(tmp_path, (30, 50, 0), (31, 51, 0), first=11)
    assert (
        "On 2026-04-11 (line 2) the mean is 40, 32 degrees above that of the days known before: are the temperatures °F?"
    ) in refusal(farm, path)
    assert "looks like other units" in refusal(farm, path, "daily-csv", "--partial")
    assert "2 days new" in bring(farm, path, "daily-csv", "--units-are-right")
    assert "1 days new" in bring(farm, csv(tmp_path, (2, 14, 0), first=13))


def test_a_day_of_fahrenheit_within_a_long_file_is_told_by_the_days_before_it(
    farm: Farm, tmp_path: Path
) -> None:
    days = [(9, 24, 0)] * 12 + [(41, 55, 0)] + [(9, 24, 0)] * 12
    says = refusal(farm, csv(tmp_path, *days))
    assert "On 2026-04-13 (line 14) the mean is 48, 32 degrees above" in says
    assert "are the temperatures °F?" in says
    assert not DailyWeather.objects.exists()


def test_fahrenheit_of_another_stations_history_is_not_held_against_a_station(
    farm: Farm, tmp_path: Path
) -> None:
    bring(farm, csv(tmp_path, *[(2, 14, 0)] * 10))
    assert "1 days new" in bring(
        farm, csv(tmp_path, (25, 45, 0), first=11), "daily-csv", "--station", "hills"
    )


def grid(folder: Path, layer: str, value: float, **unit: str) -> Path:
    document = json.loads(GRID.read_text(encoding="utf-8"))
    document["properties"][layer]["values"][0]["value"] = value
    document["properties"][layer] |= unit
    path = folder / "grid.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("layer", "value", "says"),
    [
        ("probabilityOfPrecipitation", 101, "has the value 101; possible is 0 to 100 (rain_chance_pct)"),
        ("probabilityOfPrecipitation", -1, "has the value -1; possible is 0 to 100 (rain_chance_pct)"),
        ("relativeHumidity", 0, "has the value 0; possible is 1 to 100 (humidity_pct)"),
        ("relativeHumidity", 110, "has the value 110; possible is 1 to 100 (humidity_pct)"),
        ("quantitativePrecipitation", -2, "has the value -2; possible is 0 to 500 (rain_mm)"),
        ("temperature", 76, "has the value 76; possible is -60 to 57 (temp_c)"),
    ],
)
def test_a_forecast_value_that_cannot_be_is_named_by_its_path(
    farm: Farm, tmp_path: Path, layer: str, value: float, says: str
) -> None:
    told = refusal(farm, grid(tmp_path, layer, value), "nws-grid")
    assert f"/properties/{layer}/values/0: {says}" in told


def test_the_same_forecast_twice_is_kept_once_and_another_of_the_same_hour_is_refused(
    farm: Farm, tmp_path: Path
) -> None:
    bring(farm, GRID, "nws-grid")
    before = list(ForecastHour.objects.order_by("pk").values_list())
    assert "0 hours new, 0 completed, 0 made ones now read, 30 known already" in bring(farm, GRID, "nws-grid")
    told = refusal(farm, grid(tmp_path, "temperature", 20.0), "nws-grid")
    assert (
        "is the forecast of XXX/12,34 issued 2026-04-19T22:10Z, which is here already, with other values"
        in told
    )
    assert list(ForecastHour.objects.order_by("pk").values_list()) == before
