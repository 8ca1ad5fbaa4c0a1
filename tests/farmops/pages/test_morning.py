"""The morning round: what it shows, what it keeps, and that a form sent twice or wrong changes nothing."""

import datetime as dt
import re
import uuid
from decimal import Decimal

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Membership, SoilZone
from farmops.weather.models import GaugeReading
from scheduling.models import SaySo, WeekPlan
from scheduling.services.say_so import say_so
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.scheduling.ground import make_dry_spring

ADDRESS = "/farms/heron-slough/morning/"
AT_DAWN = MONDAY + dt.timedelta(hours=6)


@pytest.fixture
def dawn(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm)
    monkeypatch.setattr(clock, "now", lambda: AT_DAWN)
    return yard


def typed(**boxes: str) -> dict[str, str]:
    return {
        "client_id": str(uuid.uuid4()),
        "day": "2026-04-20",
        "rain_on": "2026-04-19",
        "seen": "1",
        **boxes,
    }


def test_every_field_and_zone_is_a_row_with_its_ground_and_what_the_model_says(dawn: Yard) -> None:
    low = make_field(dawn.farm, "low-30", texture="clay_loam")
    SoilZone.objects.filter(field=low).update(name="low end", share_pct=40)
    SoilZone.objects.create(farm=dawn.farm, field=low, name="hill", texture="loamy_sand", share_pct=60)
    make_field(dawn.farm, "bare-10").zones.all().delete()
    page = signed_in("mona").get(ADDRESS).content.decode()
    legends = re.findall(r"<legend>(.*?)</legend>", page)
    assert legends[1:] == ["Bare 10", "Low 30, low end", "Low 30, hill", "Pond 40"]
    assert "Disk: fit all day." in page
    assert "Monday: the model has the one field with work fit at some hour." in page
    assert page.count("No work waits here.") == 2
    assert page.count("ground not known") == 1
    assert page.count("<span>not today</span>") == 4
    assert page.count("inches of rain in the gauge at") == 3


def test_one_button_keeps_all_of_it_and_plans_again(dawn: Yard) -> None:
    key = f"{dawn.field.pk}"
    answer = signed_in("mona").post(
        ADDRESS,
        typed(
            **{f"word-{key}": "after", f"hour-{key}": "13:00", f"was-{key}": "10:00", f"rain-{key}": "0.4"}
        ),
    )
    assert (answer.status_code, answer["Location"]) == (302, "/farms/heron-slough/week/?plan=2")
    said, gauge = SaySo.objects.get(), GaugeReading.objects.get()
    assert (said.day, said.word, said.after_at, said.zone) == (
        dt.date(2026, 4, 20),
        "after",
        dt.time(13),
        None,
    )
    assert (gauge.day, gauge.rain_in, gauge.field) == (dt.date(2026, 4, 19), Decimal("0.40"), dawn.field)
    plan = WeekPlan.objects.get(number=2)
    assert plan.starts_at == MONDAY
    shut = next(row for row in plan.windows["passes"] if row["pass"] == "pond-40/disk")["shut"]
    assert any("after 1 pm" in stretch["says"] for stretch in shut)


def test_a_form_sent_twice_changes_nothing(dawn: Yard) -> None:
    key = f"{dawn.field.pk}"
    boxes = typed(**{f"word-{key}": "not_today", f"rain-{key}": "0"})
    client = signed_in("mona")
    for _time in range(2):
        page = client.post(ADDRESS, boxes, follow=True).content.decode()
    assert "This round was kept before; plan 2 was made from it." in page
    assert SaySo.objects.count() == GaugeReading.objects.count() == 1
    assert WeekPlan.objects.count() == 2


def test_an_hour_that_was_moved_is_an_after_and_one_left_alone_is_nothing(dawn: Yard) -> None:
    key = f"{dawn.field.pk}"
    client = signed_in("mona")
    client.post(ADDRESS, typed(**{f"word-{key}": "", f"hour-{key}": "10:00", f"was-{key}": "10:00"}))
    assert not SaySo.objects.exists()
    client.post(ADDRESS, typed(**{f"word-{key}": "", f"hour-{key}": "14:00", f"was-{key}": "10:00"}))
    assert SaySo.objects.get().after_at == dt.time(14)


def test_what_stands_already_is_not_said_again(dawn: Yard) -> None:
    key = f"{dawn.field.pk}"
    for _time in range(2):
        signed_in("mona").post(ADDRESS, typed(**{f"word-{key}": "fit", f"hour-{key}": "10:00"}))
    assert SaySo.objects.count() == 1
    page = signed_in("mona").get(ADDRESS).content.decode()
    assert re.search(rf'name="word-{key}" value="fit" checked', page)


def test_a_wrong_number_comes_back_at_its_box_with_nothing_lost_and_nothing_kept(dawn: Yard) -> None:
    other = make_field(dawn.farm, "low-30")
    boxes = typed(
        **{
            f"word-{dawn.field.pk}": "fit",
            f"rain-{dawn.field.pk}": "0.25",
            f"rain-{other.pk}": "25",
        }
    )
    for wrong, says in (
        ("25", "Is it mm?"),
        ("-1", "cannot be negative"),
        ("much", "“much” is not a number"),
    ):
        answer = signed_in("mona").post(ADDRESS, boxes | {f"rain-{other.pk}": wrong})
        page = answer.content.decode()
        assert answer.status_code == 422
        assert says in page.partition("Low 30</legend>")[2].partition("</fieldset>")[0]
        assert f'value="{wrong}" aria-invalid="true"' in page
        assert 'value="0.25"' in page
        assert re.search(rf'name="word-{dawn.field.pk}" value="fit" checked', page)
    assert not SaySo.objects.exists()
    assert not GaugeReading.objects.exists()
    assert WeekPlan.objects.count() == 1


def test_a_form_that_was_kept_and_then_changed_asks_once_more(dawn: Yard) -> None:
    key = f"{dawn.field.pk}"
    boxes = typed(**{f"word-{key}": "fit"})
    client = signed_in("mona")
    client.post(ADDRESS, boxes)
    answer = client.post(ADDRESS, boxes | {f"word-{key}": "not_today"})
    assert answer.status_code == 422
    assert "Press once more" in answer.content.decode()
    fresh = re.search(r'name="client_id" value="([^"]+)"', answer.content.decode())
    assert fresh is not None
    client.post(ADDRESS, boxes | {f"word-{key}": "not_today", "client_id": fresh[1]})
    assert [one.word for one in SaySo.objects.order_by("id")] == ["fit", "not_today"]


def test_what_was_said_stays_kept_where_no_plan_can_be_made(dawn: Yard) -> None:
    dawn.field_pass.state = "called_off"
    dawn.field_pass.save()
    page = (
        signed_in("mona")
        .post(ADDRESS, typed(**{f"word-{dawn.field.pk}": "fit", f"rain-{dawn.field.pk}": "0.1"}), follow=True)
        .content.decode()
    )
    assert "One word and one gauge reading are kept. There is no new plan:" in page
    assert "no pass that is still to be done" in page
    assert SaySo.objects.count() == GaugeReading.objects.count() == 1


def test_a_farm_without_weather_or_fields_still_has_its_round(db: None) -> None:
    farm = make_farm()
    user = User.objects.create_user("mona", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role="manager")
    assert "No field is described yet." in signed_in("mona").get(ADDRESS).content.decode()
    make_pass(make_season(make_field(farm)))
    page = signed_in("mona").get(ADDRESS).content.decode()
    assert "No weather is known yet" in page
    assert "not today" in page


def test_a_round_long_after_the_weather_ended_is_that_of_the_day_after(
    dawn: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "now", lambda: AT_DAWN + dt.timedelta(days=200))
    page = signed_in("mona").get(ADDRESS).content.decode()
    assert "the round is that of the day after, Monday, April 20, not of today" in page
    assert 'name="day" value="2026-04-20"' in page
    answer = signed_in("mona").post(ADDRESS, typed())
    assert answer["Location"].endswith("?plan=2")
    plan = WeekPlan.objects.get(number=2)
    assert (plan.starts_at, plan.windows["as_of"]) == (MONDAY, "2026-04-19"), (
        "by the weather that the page shows"
    )


def test_the_round_is_the_first_page_of_a_manager_and_no_hands_page(dawn: Yard) -> None:
    page = signed_in("mona").get("/farms/heron-slough/week/").content.decode()
    nav = page.partition("<nav")[2].partition("</nav>")[0]
    assert re.findall(r">([A-Z][\w ]+)</a>", nav)[0] == "Morning"
    assert page.count(ADDRESS) == 2
    for name in ("bo", "rosa"):
        assert signed_in(name).get(ADDRESS).status_code == 403


@pytest.fixture
def two_zones(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> tuple[SoilZone, SoilZone]:
    make_dry_spring(yard.farm, rain_mm=14.0)
    monkeypatch.setattr(clock, "now", lambda: AT_DAWN)
    SoilZone.objects.filter(field=yard.field).update(name="low end", share_pct=40, texture="clay_loam")
    hill = SoilZone.objects.create(
        farm=yard.farm, field=yard.field, name="hill", texture="loamy_sand", share_pct=60
    )
    return SoilZone.objects.get(name="low end"), hill


def test_a_zone_says_from_when_its_own_topsoil_bears_tillage(two_zones: tuple[SoilZone, SoilZone]) -> None:
    page = signed_in("mona").get(ADDRESS).content.decode()
    rows = dict(re.findall(r"<legend>(.*?)</legend>(.*?)</fieldset>", page, re.S))
    assert "too wet all day" in rows["Pond 40, low end"]
    assert re.search(r"fit from \d+ (am|pm)|fit all day", rows["Pond 40, hill"])
    assert "Disk: not today: low end: " in rows["Pond 40, low end"]


def test_words_on_zones_are_kept_apart_and_a_word_on_the_field_stands_on_both(
    two_zones: tuple[SoilZone, SoilZone],
) -> None:
    low, hill = two_zones
    field = low.field
    client = signed_in("mona")
    client.post(
        ADDRESS,
        typed(
            **{f"word-{field.pk}-{low.pk}": "not_today", f"word-{field.pk}-{hill.pk}": "fit"},
        ),
    )
    assert {(one.zone, one.word) for one in SaySo.objects.all()} == {(low, "not_today"), (hill, "fit")}
    say_so(
        farm=field.farm,
        field=field,
        day=dt.date(2026, 4, 20),
        word="fit",
        said_by=User.objects.get(username="mona"),
        now=AT_DAWN + dt.timedelta(minutes=1),
    )
    page = client.get(ADDRESS).content.decode()
    assert len(re.findall(rf'name="word-{field.pk}-\d+" value="fit" checked', page)) == 2


@pytest.mark.parametrize("days_later", [0, 200])
def test_rain_since_midnight_counts_in_the_round_of_its_own_day(
    dawn: Yard, monkeypatch: pytest.MonkeyPatch, days_later: int
) -> None:
    """On the day itself, and in a round long after the record's end, which is that of the day after it."""
    monkeypatch.setattr(clock, "now", lambda: AT_DAWN + dt.timedelta(days=days_later))
    client = signed_in("mona")
    assert "Disk: fit all day" in client.get(ADDRESS).content.decode()
    boxes = typed(**{f"rain-{dawn.field.pk}": "2.4"}) | {"rain_on": "2026-04-20"}
    client.post(ADDRESS, boxes)
    page = client.get(ADDRESS).content.decode()
    assert "2.40 in today since midnight" in page
    assert "Disk: not today: sticks to the boot" in page
    windows = WeekPlan.objects.get(number=2).windows
    assert windows["ground"][0]["days"][0]["rain_source"] == "gauge"
    shut = [one["limit"] for one in windows["passes"][0]["shut"] if one["from"] <= 10 * 60 < one["to"]]
    assert shut == ["sticks"]
