"""The demo's own files: a scenario that hangs together, and a farm as it is told."""

import datetime as dt
import json
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import shape

from farmops.farms.boundaries import distance_km, read_boundary
from farmops.farms.services.farm_files import read_farm
from farmops.farms.services.json_facts import BadFarmFile
from farmops.tryout.scenario import DEMO_FOLDER, read_scenario

KM_PER_MILE = 1.609344


def fields() -> list[dict[str, Any]]:
    return json.loads((DEMO_FOLDER / "fields.geojson").read_text(encoding="utf-8"))["features"]


def test_the_week_follows_the_weather_and_the_forecast_it_is_planned_from() -> None:
    scenario = read_scenario()
    days = [line.split(",")[0] for line in (DEMO_FOLDER / "weather.csv").read_text().splitlines()[1:]]
    known = [day for day in days if day <= scenario.eve.isoformat()]
    assert len(known) == 150
    assert days[-1] == scenario.week[-1].isoformat()
    assert days == [
        (dt.date.fromisoformat(days[0]) + dt.timedelta(days=n)).isoformat() for n in range(len(days))
    ]
    assert scenario.eve in scenario.forecasts
    assert scenario.plan_again_on in scenario.forecasts
    assert all(path.is_file() for path in scenario.forecasts.values())


def test_a_wet_spell_ends_just_before_the_week() -> None:
    rows = [line.split(",") for line in (DEMO_FOLDER / "weather.csv").read_text().splitlines()[1:]]
    rain_mm = {row[0]: float(row[3]) for row in rows}
    assert all(rain_mm[f"2026-04-{day}"] > 20 for day in (14, 15, 16, 17))
    assert rain_mm["2026-04-19"] == 0


def test_the_storm_of_the_week_is_not_what_the_forecast_said() -> None:
    grid = json.loads((DEMO_FOLDER / "forecast-2026-04-19.json").read_text())["properties"]
    wednesday = [
        one["value"]
        for one in grid["quantitativePrecipitation"]["values"]
        if one["validTime"].startswith("2026-04-22")
    ]
    rain = {
        line.split(",")[0]: float(line.split(",")[3])
        for line in (DEMO_FOLDER / "weather.csv").read_text().splitlines()[1:]
    }
    assert sum(wednesday) < 5 < 20 < rain["2026-04-22"]


def test_the_gauges_after_the_storm_differ_from_the_station_and_from_each_other() -> None:
    scenario = read_scenario()
    rain_in = {
        line.split(",")[0]: float(line.split(",")[3]) / 25.4
        for line in (DEMO_FOLDER / "weather.csv").read_text().splitlines()[1:]
    }
    assert 2 <= len(scenario.gauges) <= 3
    assert len({one.rain_in for one in scenario.gauges}) == len(scenario.gauges)
    for one in scenario.gauges:
        assert one.on == scenario.plan_again_on
        assert abs(float(one.rain_in) - rain_in[one.on.isoformat()]) > 0.25
    assert [one.what for one in scenario.remarks] == ["too_wet"]
    assert len(scenario.thermometers) == len(scenario.said) == 1


def test_the_farm_is_the_one_that_is_told_of() -> None:
    facts = read_farm(folder=DEMO_FOLDER)
    assert len(facts.fields) == 18
    assert len(facts.pivots) == 6
    assert len({pivot.values["pump"] for pivot in facts.pivots}) == 3
    assert {season.key["crop"] for season in facts.seasons} == {"cotton", "peanuts", "corn"}
    planted = sum((one.values["planted_ac"] for one in facts.fields), Decimal(0))
    assert 1250 <= planted <= 1350
    textures: dict[str, set[str]] = {}
    for zone in facts.zones:
        textures.setdefault(zone.points_to["field"], set()).add(zone.values["texture"])
    assert sum(len(one) == 2 for one in textures.values()) >= 3
    assert [hand.key["code"] for hand in facts.hands if hand.values["is_owner"]] == ["marlene"]
    paid = [hand for hand in facts.hands if not hand.values["is_owner"]]
    assert len(paid) == 4
    assert sum(hand.values["language"] == "es" for hand in paid) == 1
    assert sum(not hand.values["email"] for hand in paid) == 1
    assert len(facts.machines) == 3
    assert len(facts.warnings) == 1
    assert "old-gin" in facts.warnings[0]


def test_fields_lie_within_ten_miles_of_the_yard_and_do_not_overlap() -> None:
    yard = json.loads((DEMO_FOLDER / "farm.json").read_text(encoding="utf-8"))["farm"]
    shapes = []
    for feature in fields():
        read = read_boundary(feature["geometry"])
        away = distance_km(
            latitude_a=float(read.latitude_deg),
            longitude_a=float(read.longitude_deg),
            latitude_b=yard["latitude_deg"],
            longitude_b=yard["longitude_deg"],
        )
        assert away / KM_PER_MILE < 10
        shapes.append(shape(read.geometry))
    for index, one in enumerate(shapes):
        assert not any(one.intersects(other) for other in shapes[:index])


def test_a_scenario_with_a_mistyped_key_is_refused_by_its_path(tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    shutil.copytree(DEMO_FOLDER, folder)
    text = (folder / "scenario.json").read_text()
    (folder / "scenario.json").write_text(text.replace('"plan_again_on"', '"plan_agian_on"'))
    with pytest.raises(BadFarmFile, match=r"scenario\.json: plan_again_on: is missing"):
        read_scenario(folder=folder)
