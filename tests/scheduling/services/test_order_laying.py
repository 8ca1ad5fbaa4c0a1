"""An order of work from its first version to the plan: copied, laid out on fields at once or on none, taken back."""

import datetime as dt
import uuid
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core.keeping import ClientIdReused
from farmops.farms.models import Farm, Hand, Implement, Machine, Season
from scheduling.models import FieldPass, OrderOfWork, OrderVersion, PassLink, PassState
from scheduling.orders import Order, OrderStep
from scheduling.selectors.orders import KeptOrder, kept
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import left_of_plan
from scheduling.services.order_keeping import (
    OrderChanged,
    OrderRefused,
    OrderTaken,
    add_order,
    as_it_was,
    change_order,
)
from scheduling.services.order_laying import OrderBegun, OrderDoesNotFit, lay_order, take_back
from scheduling.services.order_preview import Preview, Standing, Window, preview_order
from scheduling.services.passes import Step, lay_out
from scheduling.services.work import record_work
from tests.factories import make_farm, make_field, make_season
from tests.scheduling.ground import SUNDAY, SUNDAY_EVENING, make_pivot
from tests.scheduling.weeks import made, working_farm

pytestmark = pytest.mark.django_db
APRIL_20, MAY_20 = dt.date(2026, 4, 20), dt.date(2026, 5, 20)
WINDOW = Window(APRIL_20, MAY_20)
ORDER = Order(
    "Cotton",
    "cotton",
    "disk_bed",
    "04-20",
    "05-20",
    (
        OrderStep("burndown", "burndown", plant_back_days=14, reentry_h=Decimal(12)),
        OrderStep("disk", "disk", late_usd_per_ac_day=Decimal("0.75")),
        OrderStep("bed", "rip_bed", least_days=1, most_days=10, leave_usd_per_ac=Decimal(36)),
        OrderStep("plant", "plant", most_days=10),
        OrderStep("dress", "sidedress", after="plant", least_days=35, most_days=50),
        OrderStep("water", "irrigate", after="plant", least_days=40, depth_in=Decimal("0.75")),
    ),
)


def added(farm: Farm, order: Order = ORDER, code: str = "cotton") -> KeptOrder:
    return add_order(farm=farm, code=code, order=order, made_by=None, now=SUNDAY_EVENING)


def seen(order: KeptOrder, *seasons: Season, window: Window = WINDOW, today: dt.date = SUNDAY) -> Preview:
    return preview_order(
        farm=order.row.farm, kept=kept(order.row), windows=dict.fromkeys(seasons, window), today=today
    )


def laid(order: KeptOrder, *seasons: Season, **more: Any) -> Any:
    asked: dict[str, Any] = {"window": WINDOW, "today": SUNDAY, "client_id": uuid.uuid4(), **more}
    window, today = asked.pop("window"), asked.pop("today")
    asked.setdefault("seen", seen(order, *seasons, window=window, today=today).seen)
    return lay_order(
        row=order.row,
        windows=dict.fromkeys(seasons, window),
        laid_by=None,
        now=SUNDAY_EVENING,
        today=today,
        **asked,
    )


def gaps(season: Season) -> dict[tuple[str, str], tuple[float, float | None]]:
    rows = PassLink.objects.filter(after__season=season).select_related("before__season", "after__season")
    return {
        (pass_key(one.before).split("/", 1)[1], pass_key(one.after).split("/", 1)[1]): (
            one.min_gap_min / 1440,
            None if one.max_gap_min is None else one.max_gap_min / 1440,
        )
        for one in rows
    }


def test_an_order_comes_to_the_plan_with_its_dates_gaps_and_prices() -> None:
    farm = working_farm()
    season, other = make_season(make_field(farm)), make_season(make_field(farm, "gin-20"))
    dry = replace(ORDER, steps=ORDER.steps[1:])  # nothing here sprays
    order = added(farm, dry)
    ready = seen(order, season, other)
    assert [one.standing for one in ready.fields[0].lines] == [Standing.NEW] * 4 + [Standing.NO_PIVOT]
    assert not FieldPass.objects.exists(), "looking writes nothing"
    laid(order, season, other, seen=ready.seen)
    disk, bed, plant, dress = FieldPass.objects.filter(season=season).order_by("id")
    assert [one.operation for one in (disk, bed, plant, dress)] == ["disk", "rip_bed", "plant", "sidedress"]
    assert (disk.earliest_on, disk.due_on) == (None, dt.date(2026, 5, 19)), "a day before May 20"
    assert (plant.earliest_on, plant.due_on) == (APRIL_20, MAY_20)
    assert (dress.earliest_on, dress.due_on) == (dt.date(2026, 5, 25), dt.date(2026, 7, 9))
    assert (disk.late_cents_per_day, bed.leave_cents) == (3_000, 144_000), "40 acres"
    assert gaps(season) == {
        ("disk", "rip_bed"): (1, 10),
        ("rip_bed", "plant"): (0, 10),
        ("plant", "sidedress"): (35, 50),
    }
    plan = made(farm)
    tasks = {task.task_key: task for task in plan.tasks.all()}
    for field in ("pond-40", "gin-20"):
        bedded, disked = tasks[f"{field}/rip_bed"], tasks[f"{field}/disk"]
        assert bedded.starts_at - disked.ends_at >= dt.timedelta(days=1)
    rows = {row["id"]: row for row in plan.problem["tasks"]}
    assert rows["pond-40/rip_bed"]["after"] == [{"task": "pond-40/disk", "min_gap": 1_440, "max_gap": 14_400}]
    why = dict(left_of_plan(plan=plan))
    assert why["pond-40/sidedress"].startswith("It may not start before Monday, May 25")


def test_a_gap_longer_than_the_week_keeps_a_pass_out_of_the_problem_and_says_why() -> None:
    farm = working_farm()
    season = make_season(make_field(farm))
    lay_out(
        season=season,
        steps=[Step("disk", leave_cents=90_000), Step("rip_bed", min_gap_min=8 * 1440)],  # must be done
    )
    plan = made(farm)
    assert [task.task_key for task in plan.tasks.all()] == ["pond-40/disk"]
    assert dict(left_of_plan(plan=plan))["pond-40/rip_bed"] == (
        "It waits for pond-40/disk and at least 8 days after it, which is not within this plan."
    )
    done(season, "disk", dt.date(2026, 4, 19))
    lay_out(season=make_season(make_field(farm, "gin-20")), steps=[Step("disk")])
    later = made(farm)
    assert dict(left_of_plan(plan=later))["pond-40/rip_bed"] == (
        "It may not start before Tuesday, April 28, after what it waits for."
    )


def done(season: Season, operation: str, day: dt.date) -> None:
    one = FieldPass.objects.get(season=season, operation=operation)
    record_work(
        farm=season.farm,
        client_id=uuid.uuid4(),
        field_pass=one,
        hand=Hand.objects.filter(farm=season.farm).order_by("pk")[0],
        machine=Machine.objects.filter(farm=season.farm).order_by("pk")[0],
        implement=Implement.objects.filter(farm=season.farm).order_by("pk")[0],
        work_on=day,
        hand_min=60,
        machine_min=60,
        done_ac=season.area_ac,
        is_finished=True,
        recorded_by=None,
        now=dt.datetime.combine(day, dt.time(20), SUNDAY_EVENING.tzinfo),
    )


def test_what_stands_is_not_laid_twice_what_is_done_ties_the_rest_and_old_versions_stay() -> None:
    farm = working_farm()
    season = make_season(make_field(farm))
    own = lay_out(season=season, steps=[Step("disk", due_on=APRIL_20, leave_cents=1)])[0]
    order = added(farm)
    laid(order, season)
    own.refresh_from_db()
    assert (own.due_on, own.leave_cents) == (APRIL_20, 1), "what somebody laid by hand keeps its days"
    count = FieldPass.objects.count()
    assert {one.standing for one in seen(order, season).fields[0].lines[:5]} == {Standing.STANDS}
    newer = change_order(
        row=order.row,
        order=replace(ORDER, steps=(*ORDER.steps[:4], replace(ORDER.steps[4], least_days=45))),
        seen=1,
        made_by=None,
        now=SUNDAY_EVENING,
    )
    assert FieldPass.objects.count() == count
    dress = FieldPass.objects.get(operation="sidedress")
    assert dress.earliest_on == dt.date(2026, 5, 25), "laid out by the first version"
    assert as_it_was(row=order.row, number=1) == ORDER
    FieldPass.objects.filter(operation="plant").update(state=PassState.FINISHED)
    lines = seen(newer, season, today=dt.date(2026, 5, 1)).fields[0].lines
    assert [one.standing for one in lines] == [*[Standing.PASSED] * 3, Standing.DONE, Standing.CHANGES]
    laid(newer, season, today=dt.date(2026, 5, 1))
    dress.refresh_from_db()
    assert (dress.earliest_on, FieldPass.objects.count()) == (None, count)
    assert gaps(season)["plant", "sidedress"] == (45, 50)


def test_all_or_none_and_each_field_that_does_not_fit_says_why() -> None:
    farm = make_farm()
    season, corn = make_season(make_field(farm)), make_season(make_field(farm, "corn-20"), crop="corn")
    order = added(farm)
    with pytest.raises(OrderDoesNotFit, match="another crop"):
        laid(order, season, corn)
    late = Window(APRIL_20, dt.date(2026, 4, 30))
    with pytest.raises(OrderDoesNotFit) as caught:
        laid(order, season, window=late)
    assert caught.value.fields[f"seasons/{season.pk}"] == (
        "No days keep all of this: step 1 (burn down weeds and cover) is not done, and today is Sunday, April 19; "
        "the label of step 1 (burn down weeds and cover) keeps step 4 (plant) away for 14 days; "
        "the planting window ends on Thursday, April 30."
    )
    bed, disk = lay_out(season=season, steps=[Step("rip_bed"), Step("disk")])
    with pytest.raises(OrderDoesNotFit, match="in another order"):
        laid(order, season)
    assert set(FieldPass.objects.all()) == {bed, disk}
    with pytest.raises(OrderDoesNotFit, match="at least one field"):
        laid(order)


def test_the_same_form_twice_lays_once_and_what_changed_meanwhile_is_looked_at_again() -> None:
    season = make_season(make_field(make_farm()))
    order = added(season.farm)
    before = seen(order, season).seen
    form = uuid.uuid4()
    first = laid(order, season, client_id=form)
    again = laid(order, season, client_id=form)
    assert (first.is_new, again.is_new, first.laying) == (True, False, again.laying)
    with pytest.raises(ClientIdReused):
        laid(order, season, client_id=form, window=Window(APRIL_20, dt.date(2026, 5, 19)))
    with pytest.raises(OrderChanged):
        laid(order, season, seen=before)


def test_under_a_pivot_sprays_go_over_all_ground_and_only_tillage_and_planting_leave_the_strip() -> None:
    field = make_field(make_farm(), planted_ac=Decimal(120))
    make_pivot(field)
    season = make_season(field)
    laid(added(season.farm), season)
    names = [pass_key(one).split("/", 1)[1] for one in FieldPass.objects.order_by("id")]
    assert names == [
        "burndown",
        *("pivot_start", "pivot_walk", "pivot_stop"),
        *("disk", "rip_bed", "plant"),
        *("pivot_start-2", "pivot_walk-2", "pivot_stop-2"),
        *("disk/strip", "rip_bed/strip", "plant/strip"),
        *("pivot_start-3", "pivot_walk-3", "pivot_stop-3"),
        "sidedress",
        *("pivot_start/water", "irrigate", "pivot_stop/water"),
    ]
    found = gaps(season)
    assert found["burndown", "plant"] == found["burndown", "plant/strip"] == (14, None), "the label's days"
    assert found["plant", "sidedress"] == (35, 50)
    assert found["plant/strip", "sidedress"] == (35, None)
    assert found["pivot_stop-2", "disk/strip"] == (0, None), "the strip is not worked days later"
    assert found["plant", "pivot_start/water"] == (40, None)


def test_taking_back_leaves_what_was_and_refuses_what_has_begun() -> None:
    farm = working_farm()
    season, other = make_season(make_field(farm)), make_season(make_field(farm, "gin-20"))
    lay_out(season=season, steps=[Step("disk", leave_cents=90_000, due_on=APRIL_20)])
    passes, links = list(FieldPass.objects.values()), list(PassLink.objects.values())
    order = added(farm, replace(ORDER, steps=ORDER.steps[1:]))
    first = laid(order, season, other).laying
    once = take_back(laying=first, taken_back_by=None, now=SUNDAY_EVENING)
    assert (list(FieldPass.objects.values()), list(PassLink.objects.values())) == (passes, links)
    assert take_back(laying=first, taken_back_by=None, now=SUNDAY_EVENING) == once

    second = laid(order, season, other).laying
    made(farm)  # a plan holds them now, so they are called off, and laid out they wait again
    take_back(laying=second, taken_back_by=None, now=SUNDAY_EVENING)
    ghosts = FieldPass.objects.filter(state=PassState.CALLED_OFF)
    assert {one.operation for one in ghosts.filter(season=other)} >= {"disk", "rip_bed"}
    third = laid(order, season, other).laying
    assert not FieldPass.objects.filter(state=PassState.CALLED_OFF).exists()
    fourth = laid(order, other).laying
    with pytest.raises(OrderBegun, match="A later order of work was laid out on Gin 20"):
        take_back(laying=third, taken_back_by=None, now=SUNDAY_EVENING)
    take_back(laying=fourth, taken_back_by=None, now=SUNDAY_EVENING)
    done(other, "disk", SUNDAY)
    with pytest.raises(OrderBegun, match="Gin 20 disk"):
        take_back(laying=third, taken_back_by=None, now=SUNDAY_EVENING)


def test_a_bad_change_is_refused_with_its_place_and_of_two_changes_one_stays() -> None:
    farm = make_farm()
    order = added(farm)
    with pytest.raises(OrderTaken):
        added(farm)
    bad = replace(ORDER, steps=(*ORDER.steps[:2], replace(ORDER.steps[2], least_days=11), *ORDER.steps[3:]))
    with pytest.raises(OrderRefused) as caught:
        change_order(row=order.row, order=bad, seen=1, made_by=None, now=SUNDAY_EVENING)
    assert caught.value.fields == {
        "steps/2/most_days": "Step 3 (rip and bed): at least 11 days are more than the 10 at most."
    }
    good = replace(ORDER, plant_to="05-25")
    change_order(row=order.row, order=good, seen=1, made_by=None, now=SUNDAY_EVENING)
    with pytest.raises(OrderChanged):
        change_order(row=order.row, order=ORDER, seen=1, made_by=None, now=SUNDAY_EVENING)
    assert OrderOfWork.objects.get().newest_no == OrderVersion.objects.count() == 2


def test_looking_takes_the_same_number_of_queries_for_one_field_and_for_many() -> None:
    farm = make_farm()
    order = added(farm)
    seasons = [make_season(make_field(farm, f"f-{n}")) for n in range(6)]
    make_pivot(seasons[0].field)
    make_pivot(seasons[5].field)
    laid(order, *seasons)
    few, many = CaptureQueriesContext(connection), CaptureQueriesContext(connection)
    rows = list(Season.objects.filter(farm=farm).select_related("field").order_by("pk"))
    with few:
        seen(order, rows[0])
    with many:
        seen(order, *rows)
    assert len(few) == len(many)
