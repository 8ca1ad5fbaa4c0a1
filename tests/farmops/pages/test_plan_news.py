"""A plan that is older than what is known: where passes are moved in it, and before it is sent, that is said."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest

from farmops.core import clock
from farmops.farms.models import Farm, HandAway, Machine
from farmops.weather.services.field_readings import record_gauge
from scheduling.models import FieldPass, PassState, PlannedTask, WeekPlan
from scheduling.selectors import plan_news
from scheduling.selectors.out_now import out_now
from scheduling.selectors.plan_news import broken_jobs, is_news, laid_at
from scheduling.selectors.versions import week_version
from tests.farmops.pages.conftest import signed_in
from tests.farmops.pages.test_move_pages import SIX, WEEK, disk_of, farm, page_of
from tests.scheduling.ground import MONDAY

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
