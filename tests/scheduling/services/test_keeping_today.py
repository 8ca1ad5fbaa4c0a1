"""Planning anew on the day itself: what was sent for today stays unless it cannot, and the plan knows what it was beside."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Hand, HandAway, Machine
from scheduling.models import FieldPass, PlannedTask, WeekPlan
from scheduling.selectors.changes import changes_of
from scheduling.selectors.sent import CHANGE_SOON_CENTS
from scheduling.services.passes import Step, lay_out
from scheduling.services.planning import send_plan
from tests.factories import make_field, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING
from tests.scheduling.weeks import DISK, made, working_farm

pytestmark = pytest.mark.django_db

BEFORE_WORK = MONDAY + dt.timedelta(hours=5)


def planned(plan: WeekPlan) -> dict[str, tuple[str, int]]:
    return {row["id"]: (row["mode"], row["from"]) for row in plan.plan["tasks"]}


def prices(plan: WeekPlan) -> dict[str, int]:
    return {row["id"]: row["was"]["change_cents"] for row in plan.problem["tasks"] if "was" in row}


@pytest.fixture
def farm() -> Farm:
    farm = working_farm()
    for number in range(2):
        field = make_field(farm, f"field-{number}", latitude_deg=Decimal("31.60") + Decimal(number) / 100)
        lay_out(season=make_season(field), steps=[DISK])
    return farm


def anew(farm: Farm, **asked: Any) -> WeekPlan:
    return made(farm, keep_sent=True, now=BEFORE_WORK, **asked)


def test_nothing_new_is_worth_moving_what_was_sent_for_today(farm: Farm) -> None:
    """A pass that loses 1,000 dollars a day comes in the night: it waits for the disk, which is out as it was sent."""
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    before = planned(sent)
    assert {start < 1440 for _, start in before.values()} == {True}, "both are disked on Monday"
    dear = Step("disk", leave_cents=900_000, late_cents_per_day=100_000, due_on=dt.date(2026, 4, 19))
    lay_out(season=make_season(make_field(farm, "field-9")), steps=[dear])
    after = planned(anew(farm))
    assert {key: after[key] for key in before} == before
    assert after["field-9/disk"][1] > max(start for _, start in before.values())
    free = planned(made(farm, now=BEFORE_WORK))
    assert free["field-9/disk"][1] < after["field-9/disk"][1], (
        "without the sent plan it would have been first"
    )


def test_a_plan_made_the_evening_before_may_still_move_tomorrow_at_a_price(farm: Farm) -> None:
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    assert set(prices(made(farm, keep_sent=True)).values()) == {CHANGE_SOON_CENTS}
    assert min(prices(anew(farm)).values()) > 100_000


def test_a_breakdown_moves_what_the_machine_was_to_do_and_nobody_pays_for_that(farm: Farm) -> None:
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    first = min(sent.plan["tasks"], key=lambda row: row["from"])
    used = PlannedTask.objects.get(plan=sent, task_key=first["id"]).machine
    assert used is not None
    Machine.objects.filter(pk=used.pk).update(down_until=MONDAY + dt.timedelta(days=3))
    again = anew(farm)
    for key, (mode, start) in planned(again).items():
        assert not (used.code in mode and start < 3 * 1440), key
    gone = {key for key, (mode, _) in planned(sent).items() if used.code in mode}
    assert {key for key, cents in prices(again).items() if cents == 0} >= gone
    assert again.plan["cost_parts"]["change"] == 0


def test_who_is_away_has_nothing_that_day_and_the_comparison_says_that_it_had_to(farm: Farm) -> None:
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    hand = PlannedTask.objects.filter(plan=sent).order_by("starts_at")[0].hand
    assert hand is not None
    HandAway.objects.create(farm=farm, hand=hand, first_on=MONDAY.date(), last_on=MONDAY.date())
    again = anew(farm)
    assert not PlannedTask.objects.filter(plan=again, hand=hand, starts_at__lt=MONDAY + dt.timedelta(days=1))
    assert again.against == sent
    told = changes_of(plan=again, before=sent)
    assert told is not None
    had_to = {row["id"] for row in told["tasks"] if row["had_to"]}
    assert had_to == {key for key, (mode, _) in planned(sent).items() if hand.code in mode}
    assert told["changed"] <= 2 * told["had_to"]
    assert Hand.objects.filter(farm=farm).count() == 2


def test_a_plan_that_was_not_to_keep_to_another_is_beside_none(farm: Farm) -> None:
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    assert made(farm).against is None


def test_the_plan_begins_from_the_sent_one_and_leaves_it_as_it_is_where_nothing_happened(farm: Farm) -> None:
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    again = anew(farm, rounds=1)
    assert planned(again) == planned(sent)
    assert again.plan["cost_parts"]["change"] == 0
    assert FieldPass.objects.filter(state="sent").count() == len(planned(sent))
