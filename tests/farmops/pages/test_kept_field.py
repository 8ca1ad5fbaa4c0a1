"""The kept page of a field: whatever changes of what it says, the next look shows it."""

import datetime as dt
import re
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.core.models import User
from farmops.desk.days import known_day
from farmops.farms.models import Farm, Field, Pump, SoilZone
from farmops.pages.field_kept import field_mark
from farmops.pages.field_page import field_facts
from farmops.weather.models import DailyWeather, GaugeReading, SoilReading
from scheduling.models import FieldPass, PassLink, PassState, Remark, SaySo
from tests.factories import make_field, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.kept import unseen_changes
from tests.farmops.pages.test_kept_people import tables
from tests.scheduling.care_facts import make_pivot
from tests.scheduling.ground import SUNDAY, make_dry_spring

AT_TEN = MONDAY + dt.timedelta(hours=10)
PAGE = "/farms/heron-slough/fields/pond-40/"
OF_ONE_ANSWER = re.compile(r'name="(?:csrfmiddlewaretoken|client_id)" value="[^"]+"')
NOT_MARKED = {"farms_farm", "farms_hand", "weather_groundkept", "weather_fieldgroundkept"}
"""The farm, which is in it as it was read; who sprayed, which is read with the sprayings and not shown; and the ground,
which is worked out under the same mark."""


@pytest.fixture
def spring(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm)
    monkeypatch.setattr(clock, "now", lambda: AT_TEN)
    PassLink.objects.create(
        farm=yard.farm, before=yard.field_pass, after=make_pass(yard.field_pass.season, "plant")
    )
    return yard


def seen() -> str:
    answer = signed_in("mona").get(PAGE)
    assert answer.status_code == 200
    return OF_ONE_ANSWER.sub("", answer.content.decode())


def told(yard: Yard) -> dict[str, Any]:
    return {
        "farm": yard.farm,
        "client_id": uuid.uuid4(),
        "recorded_at": AT_TEN,
        "field": yard.field,
    }


def who() -> User:
    return User.objects.get(username="mona")


def word(yard: Yard) -> None:
    SaySo.objects.create(
        farm=yard.farm, client_id=uuid.uuid4(), field=yard.field, day=MONDAY.date(), word="not_today",
        said_by=who(), said_at=AT_TEN,
    )  # fmt: skip


def old_word(yard: Yard) -> None:
    SaySo.objects.create(
        farm=yard.farm, client_id=uuid.uuid4(), field=yard.field, day=MONDAY.date() - dt.timedelta(days=90),
        word="fit", said_by=who(), said_at=AT_TEN + dt.timedelta(minutes=1),
    )  # fmt: skip


def remark(yard: Yard) -> None:
    Remark.objects.create(
        farm=yard.farm, client_id=uuid.uuid4(), field=yard.field, what="too_wet", operation="disk",
        said_by=who(), said_at=AT_TEN, recorded_at=AT_TEN,
    )  # fmt: skip


def read_gauge(yard: Yard) -> None:
    GaugeReading.objects.create(**told(yard), day=SUNDAY, rain_in=Decimal(2), read_by=who())


def read_soil(yard: Yard) -> None:
    SoilReading.objects.create(
        **told(yard), read_at=AT_TEN, depth_in=4, temp_f=Decimal("51.5"), recorded_by=who()
    )


def waits_for_another_field(yard: Yard) -> None:
    other = FieldPass.objects.get(operation="shred")
    PassLink.objects.create(farm=yard.farm, before=other, after=yard.field_pass)


def passes(of: str, /, **facts: Any) -> None:
    FieldPass.objects.filter(operation=of).update(**facts)


CHANGES: dict[str, Callable[[Yard], object]] = {
    "the work is under way": lambda yard: passes("disk", state=PassState.UNDER_WAY),
    "some of it is done": lambda yard: passes("disk", done_ac=Decimal("7.5")),
    "it has a last day": lambda yard: passes("disk", due_on=MONDAY.date()),
    "work of another field comes first": waits_for_another_field,
    "that work has another name": lambda yard: passes("shred", turn=2),
    "that work is over": lambda yard: passes("shred", state=PassState.FINISHED),
    "a word is said": word,
    "a word is said of an old day": old_word,
    "a remark is made": remark,
    "who said it has another name": lambda yard: User.objects.update(first_name="Mona", last_name="Reed"),
    "a gauge is read": read_gauge,
    "a thermometer is read": read_soil,
    "it rained": lambda yard: DailyWeather.objects.filter(day=SUNDAY).update(rain_mm=30),
    "the soil is another": lambda yard: SoilZone.objects.update(texture="clay"),
    "the field is renamed": lambda yard: Field.objects.filter(code="pond-40").update(name="Low pond"),
    "the way in is told": lambda yard: Field.objects.filter(code="pond-40").update(entrance="from the north"),
    "a pivot stands on it": lambda yard: make_pivot(yard.field),
    "its pump is renamed": lambda yard: Pump.objects.update(name="river pump"),
    "the farm is renamed": lambda yard: Farm.objects.update(name="Long Slough"),
    "nothing waits": lambda yard: FieldPass.objects.update(state=PassState.FINISHED),
}


@pytest.mark.long
def test_whatever_changes_is_shown_at_once(spring: Yard) -> None:
    make_pass(make_season(make_field(spring.farm, "sand-60")), "shred")
    assert not unseen_changes(spring, CHANGES, seen)


def test_each_table_that_the_page_reads_is_in_its_mark(spring: Yard) -> None:
    for write in (word, remark, read_gauge, read_soil):
        write(spring)
    with CaptureQueriesContext(connection) as read:
        assert field_facts(farm=spring.farm, field=spring.field, now=AT_TEN)["passes"]
    with CaptureQueriesContext(connection) as asked:
        marked(spring)
    assert tables(read) - NOT_MARKED <= tables(asked)


def marked(yard: Yard) -> str:
    known = known_day(farm=yard.farm, today=MONDAY.date())
    return field_mark(farm=yard.farm, field=yard.field, first=known.day, as_of=known.as_of)


def test_another_field_s_rows_leave_it_as_it_is(spring: Yard) -> None:
    other = make_field(spring.farm, "sand-60")
    before = marked(spring)
    GaugeReading.objects.create(**{**told(spring), "field": other}, day=SUNDAY, rain_in=2, read_by=who())
    assert marked(spring) == before
    read_gauge(spring)
    assert marked(spring) != before


def test_each_answer_has_its_own_ids_and_the_hour_that_it_is(
    spring: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    ids = re.compile(r'name="client_id" value="([^"]+)"')
    first = signed_in("mona").get(PAGE).content.decode()
    monkeypatch.setattr(clock, "now", lambda: AT_TEN + dt.timedelta(minutes=7))
    later = signed_in("mona").get(PAGE).content.decode()
    assert len({*ids.findall(first), *ids.findall(later)}) == 8
    assert (first.count('value="10:00"'), later.count('value="10:07"')) == (2, 2)
