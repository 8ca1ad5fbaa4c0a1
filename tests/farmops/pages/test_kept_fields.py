"""The kept list of fields: whatever changes of what it says, the next look shows it."""

import datetime as dt
import re
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.desk.days import known_day
from farmops.farms.models import Farm, Field, Season, SoilZone
from farmops.pages.field_list_page import Asked, list_facts, list_mark, listed, seasons_mark
from farmops.weather.models import DailyWeather, GaugeReading
from scheduling.models import FieldPass, PassLink, PassState
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.scheduling.ground import SUNDAY, make_dry_spring

NOW = MONDAY + dt.timedelta(hours=5)
PAGE = "/farms/heron-slough/fields/"
OF_ONE_ANSWER = re.compile(r'name="csrfmiddlewaretoken" value="[^"]+"')
TABLE = re.compile(r'(?:FROM|JOIN) "(\w+)"')
NOT_MARKED = {"weather_groundkept", "weather_fieldgroundkept", "farms_farm", "core_user"}
"""The ground, which is worked out under the same mark; the farm, which is in it as it was read; and who set a limit,
which is read with the limits and not shown."""


@pytest.fixture
def spring(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm)
    monkeypatch.setattr(clock, "now", lambda: NOW)
    season = yard.field_pass.season
    make_pass(season, "shred", state=PassState.FINISHED)
    PassLink.objects.create(farm=yard.farm, before=yard.field_pass, after=make_pass(season, "plant"))
    return yard


def seen(query: str = "") -> str:
    answer = signed_in("mona").get(PAGE + query)
    assert answer.status_code == 200
    return OF_ONE_ANSWER.sub("", answer.content.decode())


def passes(of: str, /, **facts: Any) -> None:
    FieldPass.objects.filter(operation=of).update(**facts)


def fields(**facts: Any) -> None:
    Field.objects.filter(code="pond-40").update(**facts)


def moved(yard: Yard) -> None:
    ring = yard.field.boundary["coordinates"][0]
    wider = [[east + 0.01 * (at % 2), north] for at, (east, north) in enumerate(ring[:-1])]
    fields(boundary={"type": "Polygon", "coordinates": [[*wider, wider[0]]]})


def rained(yard: Yard) -> None:
    GaugeReading.objects.create(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        recorded_at=NOW,
        field=yard.field,
        day=SUNDAY,
        rain_in=Decimal(3),
    )


CHANGES: dict[str, Callable[[Yard], object]] = {
    "the work is under way": lambda yard: passes("disk", state=PassState.UNDER_WAY),
    "some of it is done": lambda yard: passes("disk", done_ac=Decimal("7.5")),
    "it is late": lambda yard: passes("disk", due_on=NOW.date() - dt.timedelta(days=3)),
    "nothing waits for it": lambda yard: PassLink.objects.all().delete(),
    "work that is over was other work": lambda yard: passes("shred", operation="rip_bed"),
    "it was called off": lambda yard: passes("rip_bed", state=PassState.CALLED_OFF),
    "it is done": lambda yard: passes("disk", state=PassState.FINISHED),
    "more is to be done": lambda yard: make_pass(yard.field_pass.season, "cultivate"),
    "another crop grows": lambda yard: Season.objects.update(crop="corn"),
    "another grew before": lambda yard: make_season(yard.field, crop="peanuts", crop_year=2025),
    "weather is another": lambda yard: DailyWeather.objects.filter(day=SUNDAY).update(rain_mm=40),
    "rain is told of": rained,
    "the soil is another": lambda yard: SoilZone.objects.update(texture="clay_loam"),
    "the field is renamed": lambda yard: fields(name="Low pond"),
    "it has other acres": lambda yard: fields(planted_ac=Decimal("39.5")),
    "it has another shape": moved,
    "there is another field": lambda yard: make_field(yard.farm, "sand-60"),
    "the farm is renamed": lambda yard: Farm.objects.filter(pk=yard.farm.pk).update(name="Long Slough"),
}


@pytest.mark.long
def test_whatever_changes_is_shown_at_once(spring: Yard) -> None:
    before = seen()
    for name, change in CHANGES.items():
        change(spring)
        now = seen()
        cache.clear()
        assert now == seen(), name
        assert now != before, name
        before = now


def test_what_is_asked_for_is_kept_by_itself(spring: Yard) -> None:
    queries = ("", "?show=late", "?show=today", "?show=idle", "?crop=corn", "?show=late&crop=cotton")
    told = {query: seen(query) for query in queries}
    assert len(set(told.values())) == len(queries)
    assert {query: seen(query) for query in queries} == told


def test_another_farm_with_nothing_either_has_another_mark(yard: Yard) -> None:
    known = known_day(farm=yard.farm, today=NOW.date())
    farms = [make_farm(code) for code in ("fox-hollow", "long-acre")]
    assert len({list_mark(farm=farm, known=known) for farm in farms}) == 2


def test_each_table_that_the_list_reads_is_in_its_marks(spring: Yard) -> None:
    known = known_day(farm=spring.farm, today=NOW.date())
    asked = Asked(show="today", crop="cotton")
    seen("?show=today")
    cache.clear()
    with CaptureQueriesContext(connection) as read:
        of = listed(farm=spring.farm, known=known, now=NOW, asked=asked)
        facts = list_facts(farm=spring.farm, today=NOW.date(), known=known, now=NOW, asked=asked, of=of)
    assert facts["rows"]
    with CaptureQueriesContext(connection) as marked:
        list_mark(farm=spring.farm, known=known)
        seasons_mark(of)
    assert tables(read) - NOT_MARKED <= tables(marked)


def tables(asked: CaptureQueriesContext) -> set[str]:
    return {table for one in asked for table in TABLE.findall(one["sql"])}
