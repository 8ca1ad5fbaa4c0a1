"""The drawings of a field against its table and against `windows --json`: one set of numbers, told three ways."""

import datetime as dt
import io
import json
import re
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.cache import cache
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.farms.models import SoilZone
from scheduling.selectors import plan_documents
from tests.factories import make_field, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.scheduling.ground import make_dry_spring

DAYS = 10
ZONE = ZoneInfo("America/New_York")
SPRING_FORWARD, FALL_BACK = dt.date(2026, 3, 8), dt.date(2026, 11, 1)
"""The second Sunday of March and the first of November: 15 U.S.C. 260a."""


def told(yard: Yard, monkeypatch: pytest.MonkeyPatch, first: dt.date) -> tuple[str, dict[str, Any]]:
    """Return the field's page, and what the command says of the same days, of all fields together."""
    make_dry_spring(yard.farm, last=first - dt.timedelta(days=1), rain_mm=9.0)
    make_pass(yard.field_pass.season, "plant")
    make_pass(make_season(make_field(yard.farm, "low-30", texture="clay_loam")))
    monkeypatch.setattr(clock, "now", lambda: dt.datetime.combine(first, dt.time(10), ZONE))
    page = signed_in("mona").get("/farms/heron-slough/fields/pond-40/").content.decode()
    out = io.StringIO()
    options = {
        "farm": "heron-slough",
        "first_on": f"{first}",
        "days": DAYS,
        "as_of": f"{first}",
        "json": True,
    }
    call_command("windows", **options, stdout=out)
    return page, json.loads(out.getvalue())


def drawing(page: str, key: str) -> str:
    return page.partition(f'aria-labelledby="{key}-title')[2].partition("</div>")[0]


def value_at(svg: str, y: float) -> float:
    """Read a height off the axis, by its first and last number."""
    ticks = [
        (float(at), float(says))
        for at, says in re.findall(r'class="value" x="-7" y="([\d.]+)" dy="4">([\d.]+)<', svg)
    ]
    (low_y, low), (high_y, high) = ticks[0], ticks[-1]
    return low + (y - low_y) / (high_y - low_y) * (high - low)


def column(page: str, number: int) -> list[str]:
    rows = re.findall(r'<tr[^>]*><th scope="row">.*?</tr>', page.partition('id="numbers"')[2], re.S)
    return [re.sub("<[^>]+>", " ", re.findall(r"<td.*?</td>", row, re.S)[number]).strip() for row in rows]


def test_the_line_of_the_topsoil_is_the_table_and_the_command(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, said = told(yard, monkeypatch, MONDAY.date())
    svg = drawing(page, "topsoil-0")
    line = re.search(r'<polyline class="line" points="([^"]+)"', svg)
    assert line is not None
    points = [tuple(map(float, point.split(","))) for point in line[1].split()]
    mornings, ends = points[::2], points[1::2]
    assert [round(x / 1000 * 17 % 1 * 24) for x, _y in mornings] == [8] * 17
    for (_x, y), text in zip(mornings, column(page, 2), strict=True):
        assert value_at(svg, y) == pytest.approx(float(text), abs=0.0055)
    for (_x, y), text in zip(ends, column(page, 4), strict=True):
        assert value_at(svg, y) == pytest.approx(float(text.split()[0]), abs=0.0055)
    ground = next(zone for zone in said["ground"] if zone["field"] == "pond-40")
    assert len(ground["days"]) == DAYS
    for day, morning, end, soil in zip(
        ground["days"], column(page, 2)[7:], column(page, 4)[7:], column(page, 5)[7:], strict=True
    ):
        assert f"{day['topsoil_8am_m3_m3']:.2f}" == morning
        assert f"{day['topsoil_m3_m3']:.2f}" == end.split()[0]
        assert float(soil) == pytest.approx(day["soil_temp_mean_c"] * 9 / 5 + 32, abs=0.51)


def test_the_line_of_the_warmth_and_the_bars_of_the_rain_are_the_table(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, _said = told(yard, monkeypatch, MONDAY.date())
    svg = drawing(page, "warmth-0")
    line = re.search(r'<polyline class="line" points="([^"]+)"', svg)
    assert line is not None
    for point, text in zip(line[1].split(), column(page, 5), strict=True):
        assert value_at(svg, float(point.partition(",")[2])) == pytest.approx(float(text), abs=0.6)
    heights = [float(one) for one in re.findall(r'class="bar [^>]* height="([\d.]+)"', drawing(page, "rain"))]
    rain = [float(text) for text in column(page, 0) if float(text) >= 0.01]
    assert len(heights) == len(rain) > 3
    for height, one in zip(heights, rain, strict=True):
        assert height / heights[0] == pytest.approx(one / rain[0], abs=0.02)


@pytest.mark.parametrize("first", [MONDAY.date(), SPRING_FORWARD, FALL_BACK])
def test_the_strip_stands_where_the_minutes_are(
    yard: Yard, monkeypatch: pytest.MonkeyPatch, first: dt.date
) -> None:
    """Minutes are elapsed ones; a day of 23 or 25 hours is as wide as another, so its minutes are wider or narrower."""
    page, said = told(yard, monkeypatch, first)
    midnights = [
        dt.datetime.combine(first + dt.timedelta(days=count), dt.time(), ZONE).astimezone(dt.UTC)
        for count in range(DAYS + 1)
    ]
    minutes = [(one - midnights[0]).total_seconds() / 60 for one in midnights]
    assert {after - before for before, after in pairwise(minutes)} == {
        1440.0,
        *({1380.0} if first == SPRING_FORWARD else {1500.0} if first == FALL_BACK else ()),
    }

    def percent(minute: float) -> float:
        day = max(index for index in range(DAYS) if minutes[index] <= minute)
        return 10 * (day + (minute - minutes[day]) / (minutes[day + 1] - minutes[day]))

    for number, key in enumerate(("pond-40/disk", "pond-40/plant")):
        svg = drawing(page, f"windows-{number}")
        mine = next(one for one in said["passes"] if one["pass"] == key)
        for kind in ("open", "shut"):
            drawn = [
                (float(x), float(x) + float(width))
                for x, width in re.findall(rf'class="{kind}" x="([\d.]+)%" width="([\d.]+)%"', svg)
            ]
            within = [(percent(one["from"]), percent(one["to"])) for one in mine[kind]]
            assert sum(right - left for left, right in drawn) == pytest.approx(
                sum(right - left for left, right in within), abs=0.2
            )
            edges = [at for pair in within for at in pair]
            for at in [at for pair in drawn for at in pair]:
                assert min(abs(at - edge) for edge in edges) < 0.03, (key, kind, at)
        dates = re.findall(r'class="date roomy[^"]*" x="([\d.]+)%" y="\d+">(\w+ \d+)<', svg)
        expected = [first + dt.timedelta(days=count) for count in range(DAYS)]
        assert dates == [(f"{10 * n + 5:.2f}", f"{day:%a} {day.day}") for n, day in enumerate(expected)]


def test_pages_ask_the_database_as_often_for_many_fields_as_for_few(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_dry_spring(yard.farm)
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=10))
    client = signed_in("mona")

    def counts() -> dict[str, int]:
        found = {}
        client.get("/farms/heron-slough/morning/")  # the ground of the new fields is worked out once and kept
        for name in ("morning", "fields", "fields/pond-40", "week"):
            cache.clear()  # what is kept of a look is not asked for at the next
            plan_documents.forget()
            with CaptureQueriesContext(connection) as asked:
                assert client.get(f"/farms/heron-slough/{name}/").status_code == 200
            found[name] = len(asked)
        return found

    def add(number: int) -> None:
        field = make_field(yard.farm, f"more-{number}")
        field.zones.update(share_pct=50)
        SoilZone.objects.create(farm=yard.farm, field=field, name="low", texture="clay_loam", share_pct=50)
        season = make_season(field)
        make_pass(season)
        make_pass(season, "plant")

    add(0)
    few = counts()
    for number in range(1, 5):
        add(number)
    assert counts() == few
