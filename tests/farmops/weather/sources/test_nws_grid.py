"""The forecast grid: units, spans, totals and everything that may be missing."""

import copy
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from hypothesis import given
from hypothesis import strategies as st

from farmops.weather.sources import nws_grid
from farmops.weather.sources.rows import UnreadableFile

PATH = Path(settings.BASE_DIR) / "fixtures" / "weather" / "nws_grid.json"


@pytest.fixture
def grid() -> dict[str, Any]:
    return json.loads(PATH.read_text(encoding="utf-8"))


def read(document: Any) -> nws_grid.GridFile:
    return nws_grid.read(text=json.dumps(document))


def at(file: nws_grid.GridFile, hour: int, day: int = 20) -> dict[str, float]:
    return file.hours[datetime(2026, 4, day, hour, tzinfo=UTC)]


def test_a_joined_value_holds_in_every_hour_of_its_span(grid: dict[str, Any]) -> None:
    file = read(grid)
    assert len(file.hours) == 30
    assert [at(file, hour)["temp_c"] for hour in range(24)] == [18.3] * 6 + [14.4] * 12 + [26.1] * 6


def test_a_total_is_shared_by_the_hours_of_its_span_and_adds_up_again(grid: dict[str, Any]) -> None:
    file = read(grid)
    rain = [values["rain_mm"] for values in file.hours.values() if "rain_mm" in values]
    assert rain == [0.0] * 2 + [0.25] * 6 + [2.0] * 3 + [0.5]
    assert sum(rain) == pytest.approx(1.5 + 6 + 0.5)


@given(spans=st.lists(st.tuples(st.integers(1, 30), st.none() | st.floats(0, 400)), min_size=1, max_size=12))
def test_rain_is_conserved_over_spans_of_any_length(spans: list[tuple[int, float | None]]) -> None:
    document = json.loads(PATH.read_text(encoding="utf-8"))
    start, entries = datetime(2026, 4, 19, 22, tzinfo=UTC).timestamp(), []
    for hours, value in spans:
        days, rest = divmod(hours, 24)
        length = f"P{f'{days}D' if days else ''}{f'T{rest}H' if rest else ''}"
        instant = datetime.fromtimestamp(start, tz=UTC).isoformat()
        entries.append({"validTime": f"{instant}/{length}", "value": value})
        start += hours * 3600
    document["properties"]["quantitativePrecipitation"]["values"] = entries
    file = read(document)
    assert file.bad == []
    rain = [values["rain_mm"] for values in file.hours.values() if "rain_mm" in values]
    assert sum(rain) == pytest.approx(sum(value for _, value in spans if value is not None))
    assert len(rain) == sum(hours for hours, value in spans if value is not None)


def test_missing_is_not_zero(grid: dict[str, Any]) -> None:
    file = read(grid)
    assert "rain_mm" not in at(file, 12)  # a null total
    assert "rain_mm" not in at(file, 20)  # the layer has ended
    assert "humidity_pct" not in at(file, 20)  # a null value
    assert not any("sky_cover_pct" in values for values in file.hours.values())  # no such layer
    assert file.notes == ["The layer skyCover is not there."]


def test_units_are_read_by_name_in_old_and_new_spelling(grid: dict[str, Any]) -> None:
    new = read(grid)
    old = copy.deepcopy(grid)
    for layer in old["properties"].values():
        if isinstance(layer, dict) and "uom" in layer:
            layer["uom"] = layer["uom"].replace("wmoUnit:", "unit:")
    assert read(old).hours == new.hours
    assert at(new, 0)["dewpoint_c"] == pytest.approx(10.0)  # 50 °F
    assert at(new, 0)["wind_m_s"] == pytest.approx(5.0)  # 18 km/h


@pytest.mark.parametrize("unit", ["wmoUnit:kt", "degC/h", None, 3, "wmoUnit:percent"])
def test_an_unknown_unit_is_refused_by_path(grid: dict[str, Any], unit: Any) -> None:
    grid["properties"]["windSpeed"]["uom"] = unit
    file = read(grid)
    assert [row.where for row in file.bad] == ["/properties/windSpeed/uom"]
    assert not any("wind_m_s" in values for values in file.hours.values())


@pytest.mark.parametrize(
    ("entry", "says"),
    [
        ({"validTime": "2026-04-21T04:00:00+00:00/PT1H", "value": "5 mph"}, "which is not a number"),
        ({"validTime": "2026-04-21T04:00:00+00:00/PT1H", "value": True}, "which is not a number"),
        ({"validTime": "2026-04-21T04:00:00+00:00/PT1H", "value": 900}, "possible is 0 to 100"),
        ({"validTime": "2026-04-21T04:00:00+00:00", "value": 5}, "wanted is a start, a slash"),
        ({"validTime": "2026-04-21T04:00:00/PT1H", "value": 5}, "without an offset from UTC"),
        ({"validTime": "2026-04-21T04:30:00+00:00/PT1H", "value": 5}, "whole hours from a full hour"),
        ({"validTime": "2026-04-21T04:00:00+00:00/PT90M", "value": 5}, "whole hours from a full hour"),
        ({"validTime": "2026-04-21T04:00:00+00:00/P0D", "value": 5}, "whole hours from a full hour"),
        ({"validTime": "2026-04-21T04:00:00+00:00/P400D", "value": 5}, "1 to 384 whole hours"),
        ({"validTime": "9999-12-31T23:00:00+00:00/PT9H", "value": 5}, ""),
        ({"validTime": "2026-04-20T04:00:00+00:00/PT1H", "value": 5}, "again, after values/0"),
        ({"value": 5}, "has the validTime None"),
        ("5", "is no value with a validTime"),
    ],
)
def test_a_bad_value_is_named_by_its_path(grid: dict[str, Any], entry: Any, says: str) -> None:
    grid["properties"]["windSpeed"]["values"].append(entry)
    file = read(grid)
    assert [row.where for row in file.bad] == ["/properties/windSpeed/values/1"]
    assert says in file.bad[0].says


def test_an_offset_other_than_utc_is_the_same_instant(grid: dict[str, Any]) -> None:
    other = json.loads(
        json.dumps(grid)
        .replace("2026-04-20T18:00:00+00:00/PT10H", "2026-04-20T14:00:00-04:00/PT10H")
        .replace("2026-04-19T22:10:00+00:00", "2026-04-19T18:10:00-04:00")
    )
    assert read(other).hours == read(grid).hours
    assert read(other).issued_at == read(grid).issued_at


def _without(*names: str) -> Any:
    def change(grid: dict[str, Any]) -> None:
        for name in names:
            del grid["properties"][name]

    return change


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (_without("updateTime"), "has no instant at /properties/updateTime"),
        (_without("gridX"), "does not say its grid"),
        (
            lambda grid: grid["properties"].update(gridId="A\0B"),
            "names a grid that cannot be: 'A",
        ),
        (lambda grid: grid["properties"].update(gridId="X" * 300), "names a grid that cannot be"),
        (_without("temperature"), "has no temperature in any hour"),
        (lambda grid: grid.pop("properties"), "has no object at /properties"),
        (lambda grid: grid["properties"].update(periods=[]), "holds a forecast in periods"),
        (lambda grid: grid["properties"].update(updateTime="2026-04-19T22:10:00"), "without an offset"),
    ],
)
def test_a_document_that_is_no_grid_is_refused(grid: dict[str, Any], change: Any, says: str) -> None:
    change(grid)
    with pytest.raises(UnreadableFile, match=says):
        read(grid)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('{"properties": {', "is not whole JSON"),
        ("[1, 2]", "is JSON, but no object"),
        ('{"properties": {"updateTime": NaN}}', "holds NaN"),
        ("[" * 100_000, "nested too deeply"),
        ('{"title": "Forecast Missing Data", "status": 500}', "Forecast Missing Data \\(500\\)"),
    ],
)
def test_text_that_is_no_document_is_refused(text: str, says: str) -> None:
    with pytest.raises(UnreadableFile, match=says):
        nws_grid.read(text=text)


def test_an_empty_layer_is_a_note(grid: dict[str, Any]) -> None:
    grid["properties"]["dewpoint"]["values"] = []
    assert "The layer dewpoint is empty." in read(grid).notes
    grid["properties"]["dewpoint"] = None
    assert [str(row) for row in read(grid).bad] == ["/properties/dewpoint: is no layer with values"]
