"""A plan that is older than what is known: where passes are moved in it, and before it is sent, that is said."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.farms.models import Farm, HandAway, Implement, Machine
from farmops.pages.plan_news_page import news_facts
from farmops.weather.models import DailyWeather, ForecastIssue, Station
from farmops.weather.services.field_readings import record_gauge
from scheduling.models import FieldPass, LimitChoice, PassState, PlannedTask, SaySo, WeekPlan
from scheduling.selectors import plan_news
from scheduling.selectors.out_now import out_now
from scheduling.selectors.plan_documents import with_documents, without_documents
from scheduling.selectors.plan_news import broken_jobs, is_news, laid_at
from scheduling.selectors.versions import week_version
from scheduling.services.say_so import record_say_so, take_back_word
from tests.factories import make_field, make_pass, make_season
from tests.farmops.pages.conftest import signed_in
from tests.farmops.pages.test_move_pages import SIX, WEEK, disk_of, farm, page_of
from tests.scheduling.ground import MONDAY
from tests.scheduling.weeks import made

__all__ = ["farm"]
NOON = MONDAY + dt.timedelta(hours=6, minutes=30)
OLDER = "Plan 1 goes by what was known on Monday, April 20, 6:00 am."
CANNOT = "As plan {number} has them, these cannot be done by what is known now:"


def rain(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three inches in the gauge of one field, half an hour after the plan."""
    monkeypatch.setattr(clock, "now", lambda: NOON)
    field = disk_of("hill-20").season.field
    record_gauge(
        farm=field.farm,
        field=field,
        day=MONDAY.date(),
        rain_in=Decimal("3.00"),
        client_id=uuid.uuid4(),
        recorded_by=None,
        now=NOON,
    )


def test_a_move_by_old_weather_says_so_and_its_plan_names_what_lies_in_shut_hours(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, row = signed_in("mona"), disk_of("pond-40")
    at = f"{WEEK}1/move/{row.pk}/"
    early = {page: page_of(client.get(page)) for page in (at, f"{WEEK}?plan=1", f"{WEEK}1/people/")}
    assert not any("goes by what was known" in page or "cannot be done" in page for page in early.values())

    rain(monkeypatch)
    pages = {page: page_of(client.get(page)) for page in early}
    for page in pages.values():
        assert OLDER in page
        assert CANNOT.format(number=1) in page
        assert "Disk on Hill 20, " in page.partition(CANNOT.format(number=1))[2][:20]
        assert ": sticks to the boot" in page
        assert "Disk on Pond 40, Monday" not in page.partition("Plan again first")[0]
        assert "Plan again first" in page

    asked = {"outfit": PlannedTask.objects.get(field_pass=row).mode, "day": "2026-04-23", "hour": "08:00"}
    kept = client.post(at, {**asked, "seen": week_version(farm=farm)}, follow=True)
    page = page_of(kept)
    assert CANNOT.format(number=2) in page
    assert OLDER.replace("Plan 1", "Plan 2") in page, "the move goes by the problem of the plan before"
    new = WeekPlan.objects.get(number=2)
    assert (laid_at(plan=new), is_news(plan=new)) == (SIX, True)
    client.post(f"{WEEK}2/undo/", {"seen": week_version(farm=farm)})
    assert CANNOT.format(number=3) in page_of(client.get(f"{WEEK}3/people/"))


def test_an_absence_and_a_machine_that_is_down_are_named_where_a_plan_has_them(farm: Farm) -> None:
    tasks = {one.field.code: one for one in PlannedTask.objects.select_related("field", "hand", "machine")}
    task = tasks["pond-40"]
    assert task.hand is not None
    assert task.machine is not None
    day = task.starts_at.date()
    HandAway.objects.create(farm=farm, hand=task.hand, first_on=day, last_on=day)
    Machine.objects.filter(pk=task.machine.pk).update(down_until=task.starts_at + dt.timedelta(hours=1))
    page = page_of(signed_in("mona").get(f"{WEEK}1/people/"))
    assert "goes by what was known" not in page
    assert f"{task.hand} is away; {task.machine.name} is down." in page
    page = page_of(signed_in("mona").get(f"{WEEK}1/move/{disk_of('hill-20').pk}/"))
    assert f"{task.hand} is away; " in page


def planned(code: str = "pond-40") -> PlannedTask:
    return PlannedTask.objects.select_related("field", "field_pass", "hand", "machine").get(field__code=code)


def told(farm: Farm, now: dt.datetime) -> list[str]:
    plan = WeekPlan.objects.get(number=1)
    return [one.task for one in broken_jobs(plan=plan, not_before=now, as_of=MONDAY.date())]


def test_what_is_finished_or_called_off_cannot_be_lost(farm: Farm) -> None:
    for code, state in (("pond-40", PassState.FINISHED), ("hill-20", PassState.CALLED_OFF)):
        task = planned(code)
        Machine.objects.update(down_until=task.ends_at)
        assert task.task_key in told(farm, SIX)
        FieldPass.objects.filter(pk=task.field_pass_id).update(state=state)
        assert task.task_key not in told(farm, SIX)


def test_of_a_job_only_the_hours_that_are_worked_and_still_to_come_ask_who_is_there(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The job is worked on Monday and Wednesday morning; on Tuesday its outfit stands in the field."""
    first = planned().starts_at
    hours = [(first, first + dt.timedelta(hours=2))]
    hours.append((first + dt.timedelta(days=2), first + dt.timedelta(days=2, hours=2)))
    worked = {planned().task_key: hours}
    PlannedTask.objects.filter(pk=planned().pk).update(ends_at=hours[-1][1])
    monkeypatch.setattr(
        plan_news,
        "worked_hours",
        lambda plan, task: worked.get(task.task_key, [(task.starts_at, task.ends_at)]),
    )
    key, hand = planned().task_key, planned().hand

    def is_told(day: dt.date, now: dt.datetime) -> bool:
        HandAway.objects.all().delete()
        HandAway.objects.create(farm=farm, hand=hand, first_on=day, last_on=day)
        return key in told(farm, now)

    days = [first.date() + dt.timedelta(days=count) for count in range(3)]
    assert [is_told(day, SIX) for day in days] == [True, False, True]
    after_monday = hours[0][1] + dt.timedelta(hours=1)
    assert [is_told(day, after_monday) for day in days] == [False, False, True]
    HandAway.objects.all().delete()
    Machine.objects.update(down_until=first + dt.timedelta(hours=1))
    assert key in told(farm, SIX)
    assert key not in told(farm, first + dt.timedelta(hours=1)), "it is back while the job is under way"
    Machine.objects.update(down_until=hours[0][1])
    assert key in told(farm, SIX)
    assert key not in told(farm, after_monday), "it is back before the work goes on"


def test_what_is_pulled_and_down_is_named_as_the_machine_before_it_is(farm: Farm) -> None:
    implement, key = planned().implement, planned().task_key
    assert implement is not None
    assert key not in told(farm, SIX)
    Implement.objects.filter(pk=implement.pk).update(down_until=planned().starts_at + dt.timedelta(hours=1))
    assert key in told(farm, SIX)


def test_who_is_away_from_the_midnight_on_at_which_a_job_ends_is_there_for_it(farm: Farm) -> None:
    task = planned()
    assert task.hand is not None
    midnight = MONDAY + dt.timedelta(days=1)
    HandAway.objects.create(farm=farm, hand=task.hand, first_on=midnight.date(), last_on=midnight.date())
    out = out_now(farm=farm)
    assert not out.of(task, starts_at=SIX, ends_at=midnight)
    assert out.of(task, starts_at=SIX, ends_at=midnight + dt.timedelta(minutes=1))


def test_a_job_that_lacks_somebody_and_lies_in_shut_hours_is_named_once_with_both(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    rain(monkeypatch)
    task = planned("hill-20")
    day = task.starts_at.date()
    HandAway.objects.create(farm=farm, hand=task.hand, first_on=day, last_on=day)
    page = page_of(signed_in("mona").get(f"{WEEK}1/people/")).partition(CANNOT.format(number=1))[2]
    assert page.count("Disk on Hill 20, ") == 1
    assert f": {task.hand} is away; sticks to the boot" in page


def test_weather_that_comes_in_later_is_news_whatever_day_or_hour_it_is_of(farm: Farm) -> None:
    """Monday's own record comes in on Tuesday, and a forecast of the night after the plan of the morning."""
    plan = WeekPlan.objects.get()
    station = Station.objects.get()
    assert not is_news(plan=plan)
    day = DailyWeather.objects.create(farm=farm, station=station, day=MONDAY.date(), rain_mm=76.0)
    assert is_news(plan=plan)
    day.delete()
    old = {"farm": farm, "source": "nws-grid", "file_sha256": "0" * 64}
    ForecastIssue.objects.create(issued_at=SIX - dt.timedelta(hours=2), **old)
    assert is_news(plan=plan)
    later = made(farm, now=SIX, as_of=MONDAY.date(), rounds=20)
    assert not is_news(plan=later)
    ForecastIssue.objects.create(issued_at=SIX - dt.timedelta(hours=1), **old)
    assert is_news(plan=later)


def test_a_plan_that_does_not_tell_what_weather_was_in_goes_by_days_and_hours(farm: Farm) -> None:
    WeekPlan.objects.update(limits={"seconds": 2, "rounds": 20, "workers": 1})
    plan = WeekPlan.objects.get()
    assert not is_news(plan=plan)
    DailyWeather.objects.create(
        farm=farm, station=Station.objects.get(), day=MONDAY.date() + dt.timedelta(days=1)
    )
    assert is_news(plan=plan)


def test_a_move_knows_no_more_weather_than_the_plan_that_it_comes_of(farm: Farm) -> None:
    DailyWeather.objects.create(farm=farm, station=Station.objects.get(), day=MONDAY.date(), rain_mm=0.0)
    row = disk_of("pond-40")
    asked = {"outfit": PlannedTask.objects.get(field_pass=row).mode, "day": "2026-04-23", "hour": "08:00"}
    signed_in("mona").post(f"{WEEK}1/move/{row.pk}/", {**asked, "seen": week_version(farm=farm)})
    assert is_news(plan=WeekPlan.objects.get(number=2))


def test_a_word_that_is_taken_back_shuts_its_hours_again(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    rain(monkeypatch)
    field = disk_of("hill-20").season.field
    for count in range(1, 8):
        day = MONDAY.date() + dt.timedelta(days=count)
        record_say_so(farm=field.farm, field=field, day=day, word="fit", said_by=None, now=NOON)
    plan = made(farm, now=NOON, as_of=MONDAY.date(), rounds=20)
    task = PlannedTask.objects.get(plan=plan, field=field)
    assert MONDAY.date() < task.starts_at.date() <= MONDAY.date() + dt.timedelta(days=3)

    def told() -> list[str]:
        return [one.task for one in broken_jobs(plan=plan, not_before=NOON, as_of=MONDAY.date())]

    assert task.task_key not in told()
    for word in SaySo.objects.order_by("-day"):
        take_back_word(word=word)
        told()
    assert not is_news(plan=plan)
    assert task.task_key in told()


def test_a_limit_that_is_set_after_the_plan_shuts_hours_too(farm: Farm) -> None:
    assert told(farm, NOON) == []
    LimitChoice.objects.create(farm=farm, key="frozen", number=90.0, source="ours", set_at=NOON)
    assert len(told(farm, NOON)) == 2


def queries_of_the_news(farm: Farm, number: int) -> tuple[int, ...]:
    """Return how many queries the first look takes, and the next one."""
    counts = []
    for _look in range(2):
        plan = with_documents(plan=without_documents().get(number=number))
        plan.farm = farm
        with CaptureQueriesContext(connection) as asked:
            assert news_facts(plan=plan, now=NOON + dt.timedelta(hours=1), always=True) is not None
        counts.append(len(asked))
    return tuple(counts)


def test_the_news_of_a_plan_take_as_many_queries_for_many_jobs_as_for_few(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    rain(monkeypatch)
    few = queries_of_the_news(farm, 1)
    for number in range(6):
        season = make_season(make_field(farm, f"low-{number}"), area_ac=Decimal("20"))
        make_pass(season, "disk", area_ac=Decimal("20"), leave_cents=90_000)
    assert made(farm, now=SIX, as_of=MONDAY.date(), rounds=20).tasks.count() > 6
    HandAway.objects.create(
        farm=farm,
        hand=planned("low-1").hand,
        first_on=MONDAY.date(),
        last_on=MONDAY.date() + dt.timedelta(days=7),
    )
    assert queries_of_the_news(farm, 2) == few
    assert few[1] <= 15


@pytest.mark.parametrize(("open_min", "is_told"), [(60, True), (59, False)])
def test_hours_that_were_shut_when_the_plan_was_laid_out_are_no_news(
    farm: Farm, monkeypatch: pytest.MonkeyPatch, open_min: int, is_told: bool
) -> None:
    rain(monkeypatch)
    plan = WeekPlan.objects.get()
    row = next(one for one in plan.plan["tasks"] if one["id"] == "hill-20/disk")
    of_pass = next(one for one in plan.windows["passes"] if one["pass"] == row["id"])
    of_pass["shut"] = [{"from": row["from"], "to": row["to"] - open_min}]
    broken = broken_jobs(plan=plan, not_before=NOON, as_of=MONDAY.date())
    assert [one.task for one in broken] == [row["id"]] * is_told
