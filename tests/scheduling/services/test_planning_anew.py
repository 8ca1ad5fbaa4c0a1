"""Planning anew: what was sent stays where it can, what has begun goes on."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass, PlannedTask, SaySo
from scheduling.selectors.sent import CHANGE_SOON_CENTS
from scheduling.services.passes import lay_out
from scheduling.services.planning import send_plan
from scheduling.services.work import record_work
from tests.factories import (
    make_field,
    make_pass,
    make_season,
)
from tests.scheduling.ground import (
    MONDAY,
    SUNDAY_EVENING,
    make_pivot,
)
from tests.scheduling.weeks import BED, DISK, made, working_farm

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm() -> Farm:
    return working_farm()


def test_planning_anew_after_a_wet_field_keeps_the_rest_of_the_sent_plan(farm: Farm) -> None:
    """The grower says 'not today' for one field: what the sent plan has elsewhere stays as it is."""
    for number in range(3):
        field = make_field(farm, f"field-{number}", latitude_deg=Decimal("31.60") + Decimal(number) / 100)
        lay_out(season=make_season(field), steps=[DISK, BED])
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    before = {row["id"]: (row["mode"], row["from"]) for row in sent.plan["tasks"]}
    wet = min(sent.plan["tasks"], key=lambda row: row["from"])["id"].partition("/")[0]
    field = FieldPass.objects.filter(season__field__code=wet)[0].season.field
    SaySo.objects.create(farm=farm, field=field, day=MONDAY.date(), word="not_today", said_at=MONDAY)
    anew = made(farm, keep_sent=True)
    after = {row["id"]: (row["mode"], row["from"]) for row in anew.plan["tasks"]}
    moved = {key for key in before if before[key] != after.get(key)}
    assert f"{wet}/disk" in moved
    assert after[f"{wet}/disk"][1] >= 1440
    prices = {row["id"]: row["was"]["change_cents"] for row in anew.problem["tasks"]}
    assert prices[f"{wet}/disk"] == 0, "it cannot stay, so nobody pays for that"
    assert all(cents > 0 for key, cents in prices.items() if not key.startswith(wet))
    assert anew.plan["cost_parts"]["change"] == sum(prices[key] for key in moved)
    assert anew.against == sent
    free = made(farm, keep_sent=False)
    assert "was" not in str(free.problem["tasks"])
    assert len(moved) <= len(before) // 2


def test_what_was_sent_has_its_place_as_was_and_what_has_begun_goes_on(farm: Farm) -> None:
    season = make_season(make_field(farm))
    disk, _ = lay_out(season=season, steps=[DISK, BED])
    plan = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    task = PlannedTask.objects.get(plan=plan, task_key="pond-40/disk")
    record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=disk,
        hand=Hand.objects.get(farm=farm, code="teo"),
        work_on=MONDAY.date(),
        hand_min=60,
        done_ac=Decimal(10),
        is_finished=False,
        recorded_by=None,
        now=MONDAY + dt.timedelta(hours=20),
    )
    middle = task.starts_at + dt.timedelta(minutes=60)
    anew = made(farm, starts_at=middle, now=middle, as_of=MONDAY.date(), days=6, keep_sent=True)
    rows = {row["id"]: row for row in anew.problem["tasks"]}
    assert rows["pond-40/disk"]["under_way"] == {
        "mode": task.mode,
        "minutes_left": 133,  # 30 ac at 13.58 ac/h, after the 10 reported
        "cents_left": 17_290,
        "held_for": 60,
    }
    assert rows["pond-40/rip_bed"]["was"]["from"] == (
        PlannedTask.objects.get(plan=plan, task_key="pond-40/rip_bed").starts_at - middle
    ) // dt.timedelta(minutes=1)
    standing = next(row for row in anew.plan["tasks"] if row["id"] == "pond-40/disk")
    assert (standing["mode"], standing["from"]) == (task.mode, 0)
    assert PlannedTask.objects.get(plan=anew, task_key="pond-40/disk").work_min == 133


def test_what_rests_overnight_is_free_to_go_elsewhere_and_was_to_be_taken_up_in_the_morning(
    farm: Farm,
) -> None:
    """100 ac take 442 min: fixed to start at 3 pm they rest from 6 pm until the shift begins at 7 am."""
    outfit = "tractor-1+disk-1+teo"
    disk = make_pass(
        make_season(make_field(farm, planted_ac=Decimal(100))),
        fixed_from=MONDAY + dt.timedelta(hours=15),
        fixed_outfit=outfit,
    )
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=disk,
        hand=Hand.objects.get(farm=farm, code="teo"),
        work_on=MONDAY.date(),
        hand_min=180,
        done_ac=Decimal(40),
        is_finished=False,
        recorded_by=None,
        now=MONDAY + dt.timedelta(hours=20),
    )
    tuesday = MONDAY + dt.timedelta(days=1)
    evening = MONDAY + dt.timedelta(hours=20)
    anew = made(farm, starts_at=tuesday, now=evening, as_of=MONDAY.date(), days=6, keep_sent=True)
    (row,) = anew.problem["tasks"]
    assert "under_way" not in row
    assert row["was"] == {"mode": outfit, "from": 420, "change_cents": CHANGE_SOON_CENTS}
    ((start, mode),) = [(one["from"], one["mode"]) for one in anew.plan["tasks"]]
    assert (start, mode) == (420, outfit)
    assert anew.plan["cost_parts"]["change"] == 0


def test_a_pivot_that_walks_at_midnight_walks_on(farm: Farm) -> None:
    """180 degrees at 1,210 ft and 9 ft/min are 423 min: started at 5:30 pm, it walks from 6 pm past midnight."""
    field = make_field(farm, planted_ac=Decimal(100))
    make_pivot(field)
    start, *_ = lay_out(season=make_season(field), steps=[DISK])
    FieldPass.objects.filter(pk=start.pk).update(
        fixed_from=MONDAY + dt.timedelta(hours=17, minutes=30), fixed_outfit="pivot:pond-40+teo"
    )
    send_plan(plan=made(farm), now=SUNDAY_EVENING)
    evening = MONDAY + dt.timedelta(hours=20)
    tuesday = MONDAY + dt.timedelta(days=1)
    asked: dict[str, Any] = {
        "starts_at": tuesday,
        "now": evening,
        "as_of": MONDAY.date(),
        "days": 6,
        "keep_sent": True,
    }
    nobody_said = made(farm, **asked)
    rows = {row["id"]: row for row in nobody_said.problem["tasks"]}
    assert "under_way" not in rows["pond-40/pivot_walk"], "nobody reported that it was started"
    record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=start,
        hand=Hand.objects.get(farm=farm, code="teo"),
        work_on=MONDAY.date(),
        hand_min=20,
        done_ac=Decimal(0),
        is_finished=True,
        recorded_by=None,
        now=evening,
    )
    rows = {row["id"]: row for row in made(farm, **asked).problem["tasks"]}
    assert rows["pond-40/pivot_walk"]["under_way"] == {
        "mode": "pivot:pond-40",
        "minutes_left": 63,
        "cents_left": 0,
        "held_for": 360,
    }


def test_a_week_that_was_sent_ahead_does_not_hide_the_one_that_rules_the_day(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)))
    this_week = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    send_plan(plan=made(farm, starts_at=MONDAY + dt.timedelta(days=7)), now=SUNDAY_EVENING)
    (row,) = made(farm, keep_sent=True).problem["tasks"]
    (sent,) = this_week.plan["tasks"]
    assert (row["was"]["mode"], row["was"]["from"]) == (sent["mode"], sent["from"])
