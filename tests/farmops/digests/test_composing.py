"""A sheet from the rows of a farm: the sent plan, the grower's word, the ground and the windows behind it."""

import datetime as dt
import re
from decimal import Decimal

import pytest

from farmops.digests.selectors.day import farm_day, hands_with_tasks, sheet_day, sheet_instant
from farmops.digests.services.composing import compose_sheet
from farmops.farms.models import Farm, Hand, SoilZone
from farmops.weather.models import DailyWeather
from scheduling.models import FieldPass, PassState, PlannedTask, PlanState, SaySo, WeekPlan
from scheduling.selectors.passes import pass_key
from tests.factories import make_farm
from tests.farmops.digests.planned import (
    MONDAY,
    add_to_documents,
    at,
    farm_with_hands,
    make_task,
    windows_document,
)
from tests.scheduling.windows.makers import make_days

pytestmark = pytest.mark.django_db
TUESDAY, SUNDAY = MONDAY + dt.timedelta(days=1), MONDAY - dt.timedelta(days=1)
WINTER = dt.date(2026, 1, 1)


@pytest.fixture
def farm() -> Farm:
    return farm_with_hands("imani", "odell")


def text_of(farm: Farm, code: str = "imani", day: dt.date = MONDAY, language: str | None = None) -> str:
    hand = Hand.objects.get(farm=farm, code=code)
    return compose_sheet(farm=farm, hand=hand, day=day, language=language).text


def test_a_hand_gets_the_tasks_of_that_hand_and_day_only(farm: Farm) -> None:
    text = text_of(farm)
    assert "1. POND IMANI: DISK\nWhen: 7:00 am to 12:00 pm, about 5 h, 38.5 acres\n" in text
    assert "With: Tractor 1 with Disk 1" in text
    assert "Odell" not in text
    assert text_of(farm, day=TUESDAY).startswith("No field work today.")


def test_the_language_is_the_hand_s_unless_another_is_asked_for(farm: Farm) -> None:
    Hand.objects.filter(code="imani").update(language="es")
    assert text_of(farm).startswith("Primero: Pond Imani: rastrear.")
    assert text_of(farm, language="en").startswith("First: Pond Imani: disk.")


def test_a_plan_that_was_not_sent_gives_nobody_work(farm: Farm) -> None:
    WeekPlan.objects.update(state=PlanState.MADE)
    assert hands_with_tasks(farm=farm, day=MONDAY) == set()
    assert text_of(farm).startswith("No field work today.")


def test_a_task_over_two_days_shows_each_day_its_own_hours_and_acres(farm: Farm) -> None:
    """Worked 15:00 to 18:00 on Monday and 7:00 to 9:00 on Tuesday: three fifths and two fifths of 38.5 acres."""
    task = PlannedTask.objects.get(hand__code="imani")
    PlannedTask.objects.filter(pk=task.pk).update(starts_at=at(MONDAY, 15), ends_at=at(TUESDAY, 9))
    task.refresh_from_db()
    add_to_documents(task.plan, task, worked=[(15 * 60, 18 * 60), (31 * 60, 33 * 60)])
    assert "3:00 pm to 6:00 pm, about 3 h, 23.1 acres" in text_of(farm)
    assert "7:00 am to 9:00 am, about 2 h, 15.4 acres" in text_of(farm, day=TUESDAY)


def test_a_task_that_rests_all_day_is_not_on_that_day(farm: Farm) -> None:
    task = PlannedTask.objects.get(hand__code="imani")
    wednesday = MONDAY + dt.timedelta(days=2)
    PlannedTask.objects.filter(pk=task.pk).update(starts_at=at(MONDAY, 15), ends_at=at(wednesday, 9))
    task.refresh_from_db()
    add_to_documents(task.plan, task, worked=[(15 * 60, 18 * 60), (55 * 60, 57 * 60)])
    assert text_of(farm, day=TUESDAY).startswith("No field work today.")


def test_the_grower_s_newest_word_is_the_one_that_counts(farm: Farm) -> None:
    field = FieldPass.objects.get(planned_tasks__hand__code="imani").season.field
    for minute, word, after in ((0, "not_today", None), (9, "after", dt.time(10))):
        SaySo.objects.create(
            farm=farm, field=field, day=MONDAY, word=word, after_at=after, said_at=at(MONDAY, 4, minute)
        )
    SaySo.objects.create(farm=farm, field=field, day=TUESDAY, word="fit", said_at=at(MONDAY, 5))
    assert "Boss says: not before 10:00 am" in text_of(farm)
    assert "Boss says" not in text_of(farm, "odell")


def test_words_on_zones_are_told_with_their_zones_and_a_word_on_the_field_stands_over_them(
    farm: Farm,
) -> None:
    field = FieldPass.objects.get(planned_tasks__hand__code="imani").season.field
    low = field.zones.get()
    low.name = "low end"
    low.save()
    hill = SoilZone.objects.create(farm=farm, field=field, name="hill", texture="loamy_sand", share_pct=50)

    def say(word: str, hour: int, zone: SoilZone | None = None) -> list[str]:
        SaySo.objects.create(
            farm=farm, field=field, zone=zone, day=MONDAY, word=word, said_at=at(MONDAY, hour)
        )
        return re.findall(r"Boss says: (.*)", text_of(farm))

    assert say("not_today", 1, low) == ["low end: not today. Ask before you go."]
    assert say("fit", 2, hill) == ["low end: not today. Ask before you go.", "hill: fit to work"]
    assert say("not_today", 3, hill) == ["not today. Ask before you go."]
    assert say("fit", 4) == ["fit to work"]
    assert say("not_today", 5, low) == ["fit to work", "low end: not today. Ask before you go."]


def test_without_weather_the_windows_of_the_plan_are_told(farm: Farm) -> None:
    plan, one = WeekPlan.objects.get(), FieldPass.objects.get(planned_tasks__hand__code="imani")
    stretch = {"from": 900, "to": 1200, "limit": "rain_now", "says": "rain all over", "says_es": "llueve"}
    windows = {
        "pass": pass_key(one),
        "field": "pond-imani",
        "operation": "disk",
        "open": [],
        "shut": [stretch],
    }
    plan.windows = windows_document(plan.starts_at, passes=[windows])
    plan.save()
    text = text_of(farm)
    assert "Shut: 3:00 pm to 8:00 pm, rain all over" in text
    assert "Ground: not known. Look before you work." in text
    assert "Ground and weather as known Sunday, April 19." in text


def test_a_pass_that_was_finished_before_its_day_is_not_on_the_sheet_and_the_rest_is(farm: Farm) -> None:
    imani, first = Hand.objects.get(code="imani"), FieldPass.objects.get(planned_tasks__hand__code="imani")
    other = FieldPass.objects.get(planned_tasks__hand__code="odell")
    make_task(WeekPlan.objects.get(), imani, other, hours=(13, 15), area_ac=Decimal("2"), task_key="later")
    assert re.findall(r"^\d\. .*", text_of(farm), re.MULTILINE) == [
        "1. POND IMANI: DISK",
        "2. POND ODELL: DISK",
    ]
    FieldPass.objects.filter(pk=first.pk).update(state=PassState.FINISHED)
    assert re.findall(r"^\d\. .*", text_of(farm), re.MULTILINE) == ["1. POND ODELL: DISK"]
    facts = farm_day(farm=farm, day=MONDAY)
    assert [(slip.number, slip.count) for slip in facts.slips[imani.pk]] == [(1, 1)]


def test_a_called_off_pass_is_not_on_the_sheet(farm: Farm) -> None:
    FieldPass.objects.filter(planned_tasks__hand__code="imani").update(state=PassState.CALLED_OFF)
    assert text_of(farm).startswith("No field work today.")


def test_the_strip_under_the_pivot_is_named(farm: Farm) -> None:
    FieldPass.objects.update(part="strip")
    assert "the strip under the pivot" in " ".join(text_of(farm).split())


def test_another_farm_s_tasks_never_show(farm: Farm) -> None:
    other = farm_with_hands("imani", code="adder-branch")
    facts = farm_day(farm=other, day=MONDAY)
    assert set(facts.slips) == {Hand.objects.get(farm=other).pk}
    assert sheet_day(facts=facts, hand=Hand.objects.get(farm=farm, code="imani"), language="en").slips == ()


def test_tasks_come_in_the_order_of_the_clock(farm: Farm) -> None:
    early = make_task(
        WeekPlan.objects.get(),
        Hand.objects.get(code="imani"),
        FieldPass.objects.get(planned_tasks__hand__code="odell"),
        hours=(6, 7),
        area_ac=Decimal("2"),
        task_key="early",
    )
    assert text_of(farm).startswith(f"First: {early.field.name}: disk.")


def test_an_hour_that_the_clock_skips_still_is_an_instant() -> None:
    """On March 14, 2027 there is no 2:30 in New York; the sheet goes out when 2:30 would have been, at 7:30 UTC."""
    farm = make_farm(sheet_at=dt.time(2, 30))
    assert sheet_instant(farm=farm, day=dt.date(2027, 3, 14)) == dt.datetime(
        2027, 3, 14, 7, 30, tzinfo=dt.UTC
    )


def test_rain_that_fell_since_the_plan_was_made_shuts_the_task_on_the_sheet(farm: Farm) -> None:
    """The plan's own windows say nothing against it; two inches on Sunday do."""
    make_days(farm, first=WINTER, last=SUNDAY)
    dry = text_of(farm)
    assert "Shut: 7:00 am" not in dry
    assert "Ground: dry on top" in dry
    DailyWeather.objects.filter(day=SUNDAY).update(rain_mm=51.0)
    wet = text_of(farm)
    assert "Shut: 7:00 am to" in wet
    assert "sticks to the boot" in wet
    assert "se pega a la bota" in text_of(farm, language="es")


def test_the_grower_s_not_today_shuts_the_task_though_the_ground_is_dry(farm: Farm) -> None:
    make_days(farm, first=WINTER, last=SUNDAY)
    field = FieldPass.objects.get(planned_tasks__hand__code="imani").season.field
    SaySo.objects.create(farm=farm, field=field, day=MONDAY, word="not_today", said_at=at(MONDAY, 4))
    text = text_of(farm)
    assert "Boss says: not today. Ask before you go." in text
    assert "Shut: 7:00 am to 8:00 pm" in text


def test_the_weather_of_the_day_is_what_was_known_last_evening(farm: Farm) -> None:
    make_days(farm, first=WINTER, last=SUNDAY, mean_c=29.0)
    before = text_of(farm)
    assert "Weather: high 95 °F, rain 0 in 10." in before
    assert "! Heat:" in before
    make_days(farm, first=MONDAY, last=MONDAY, mean_c=5.0, rain_mm={MONDAY: 30.0})
    assert text_of(farm) == before
