"""The kept page of a hand: whatever changes of what it says, the next look shows it; and its forms are new each time."""

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
from farmops.farms.models import (
    CareRule,
    Farm,
    Field,
    FuelTank,
    Hand,
    HandLicense,
    Implement,
    Machine,
)
from farmops.pages.day_kept import day_mark
from farmops.pages.day_page import day_facts
from farmops.weather.models import DailyWeather
from scheduling.models import FieldPass, PassState, PlannedTask, SaySo, Spraying, WeekPlan
from tests.factories import make_field, make_hand, make_machine, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.kept import unseen_changes
from tests.farmops.weather.makers import read_in_grid
from tests.scheduling.care_facts import make_done, make_reading, make_rule, make_stop, make_work
from tests.scheduling.ground import make_dry_spring

NOW = MONDAY + dt.timedelta(hours=5)
DAY = MONDAY.date()
PAGE = f"/farms/heron-slough/day/?day={DAY}"
OF_ONE_ANSWER = re.compile(r'name="(csrfmiddlewaretoken|client_id)" value="[^"]+"')
TABLE = re.compile(r'(?:FROM|JOIN) "(\w+)"')
ASKED_EACH_TIME = {
    "farms_farm",
    "scheduling_hourreading",
    "scheduling_meterreplaced",
    "scheduling_readingsetaside",
}
"""The farm, which is in the mark as it was read; and meters, from which what is left of services is worked out anew."""
IN_OTHERS = {"weather_forecasthour"}
"""Hours of a forecast, whose issue is another whenever they are."""
ISSUED_AT = MONDAY - dt.timedelta(hours=9)


@pytest.fixture
def spring(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm)
    read_in_grid(yard.farm, ISSUED_AT, hours=10, rain_mm=5.0)
    monkeypatch.setattr(clock, "now", lambda: NOW)
    rule = make_rule(Machine.objects.get(), "oil", every_h=Decimal(100), counts_from_h=Decimal(2300))
    make_rule(Implement.objects.get(), "grease", every_days=2, counts_from_on=DAY)
    make_stop(rule, MONDAY + dt.timedelta(hours=6), hand=yard.hand)
    return yard


def seen() -> str:
    answer = signed_in("rosa").get(PAGE)
    assert answer.status_code == 200
    assert b"\0" not in answer.content
    return OF_ONE_ANSWER.sub("", answer.content.decode())


def passes(**facts: Any) -> None:
    FieldPass.objects.filter(operation="disk").update(**facts)


def every(model: Any, **facts: Any) -> None:
    model.objects.update(**facts)


def sprayed(yard: Yard) -> None:
    Spraying.objects.create(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        recorded_at=NOW,
        field=yard.field,
        ended_at=NOW,
        products="a made-up product",
        reentry_h=48,
    )


def sent_out(yard: Yard) -> None:
    season = make_season(make_field(yard.farm, "low-30"))
    make_pass(season, "shred", state=PassState.SENT)


CHANGES: dict[str, Callable[[Yard], object]] = {
    "the work is reported": lambda yard: make_work(yard.field_pass, yard.hand, DAY),
    "it is reported done": lambda yard: make_work(yard.field_pass, yard.hand, DAY, is_finished=True),
    "the work is another": lambda yard: passes(operation="rip_bed"),
    "other work is sent out": sent_out,
    "the grower says a word": lambda yard: SaySo.objects.create(
        farm=yard.farm, field=yard.field, day=DAY, word="not_today", said_at=NOW
    ),
    "the field was sprayed": sprayed,
    "it is hot": lambda yard: DailyWeather.objects.update(temp_max_c=38, humidity_min_pct=60),
    "more hours of the forecast come": lambda yard: read_in_grid(yard.farm, ISSUED_AT, hours=96, rain_mm=5.0),
    "its wind comes": lambda yard: read_in_grid(
        yard.farm, ISSUED_AT, hours=96, rain_mm=5.0, wind_m_s=12.0, humidity_pct=90.0
    ),
    "a service is done": lambda yard: make_done(CareRule.objects.get(code="oil"), NOW, meter_h=Decimal(2500)),
    "a service is another": lambda yard: every(CareRule, what_es="mirar el aceite"),
    "there is a tank": lambda yard: FuelTank.objects.create(
        farm=yard.farm, code="yard-tank", name="Yard tank", holds_gal=500
    ),
    "there is another machine": lambda yard: make_machine(yard.farm, "tractor-9"),
    "a machine is renamed": lambda yard: every(Machine, name_es="el rojo"),
    "an implement is renamed": lambda yard: every(Implement, name_es="la rastra vieja"),
    "an implement is slower": lambda yard: every(Implement, speed_mph=Decimal("4.1")),
    "the hand is new": lambda yard: every(Hand, started_on=DAY),
    "the task has other acres": lambda yard: every(PlannedTask, area_ac=Decimal("31.5")),
    "a field is renamed": lambda yard: every(Field, name="Low pond"),
    "a field has another road": lambda yard: every(Field, road_address="9 Far Road"),
    "there is another field": lambda yard: make_field(yard.farm, "sand-60"),
    "the boss is another": lambda yard: every(Farm, boss_name="K. Reed"),
    "the plan is another's": lambda yard: every(PlannedTask, hand=make_hand(yard.farm, "ada")),
    "no plan is sent": lambda yard: every(WeekPlan, state="made", sent_at=None),
}


@pytest.mark.long
def test_whatever_changes_is_shown_at_once(spring: Yard) -> None:
    assert not unseen_changes(spring, CHANGES, seen)


def test_what_is_due_by_the_hour_is_told_of_the_hour(spring: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    make_rule(Machine.objects.get(), "belt", every_h=Decimal(100), counts_from_h=Decimal(2345))
    make_reading(Machine.objects.get(), "2450", NOW + dt.timedelta(hours=2))
    before = seen()
    monkeypatch.setattr(clock, "now", lambda: NOW + dt.timedelta(hours=3))
    now = seen()
    cache.clear()
    assert now == seen()
    assert re.sub('data-now="[^"]+"', "", now) != re.sub('data-now="[^"]+"', "", before)


def test_each_form_of_each_answer_has_an_id_of_its_own_and_the_readers_token(spring: Yard) -> None:
    pages = [signed_in("rosa").get(PAGE).content.decode() for _time in range(2)]
    ids = [one for page in pages for one in re.findall(r'name="client_id" value="([^"]+)"', page)]
    assert len(ids) == len(set(ids)) == pages[0].count("data-report") * 2 > 8
    assert all(uuid.UUID(one).version == 4 for one in ids)
    tokens = [set(re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page)) for page in pages]
    assert all(tokens)
    assert tokens[0].isdisjoint(tokens[1])


def test_each_table_that_the_page_reads_is_in_its_mark(spring: Yard) -> None:
    HandLicense.objects.create(
        farm=spring.farm, hand=spring.hand, number="A1", expires_on=DAY + dt.timedelta(days=9)
    )
    make_work(spring.field_pass, spring.hand, DAY, is_finished=True)
    cache.clear()
    with CaptureQueriesContext(connection) as read:
        day_facts(farm=spring.farm, hand=spring.hand, day=DAY, now=NOW, days=[DAY])
    with CaptureQueriesContext(connection) as marked:
        day_mark(farm=spring.farm, hand=spring.hand, day=DAY)
    assert len(marked) == 1
    assert tables(read) - ASKED_EACH_TIME - IN_OTHERS <= tables(marked)


def tables(asked: CaptureQueriesContext) -> set[str]:
    return {table for one in asked for table in TABLE.findall(one["sql"])}
