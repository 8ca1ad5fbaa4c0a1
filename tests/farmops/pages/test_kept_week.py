"""The kept page of a week: whatever changes of what it says, the next look shows it."""

import datetime as dt
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import CareRule, Farm, Field, Hand, Implement, Machine, Membership, Season
from farmops.pages.board import week_board
from farmops.pages.change_page import changes_against
from farmops.pages.week_kept import week_mark
from scheduling.models import FieldPass, PassLink, PassState, PlannedCare, PlannedTask, WeekPlan
from scheduling.selectors.changes import plan_before
from scheduling.services.planning import send_plan
from tests.factories import make_hand, make_pass
from tests.farmops.pages.conftest import signed_in
from tests.farmops.pages.kept import unseen_changes
from tests.farmops.pages.test_kept_people import tables
from tests.farmops.pages.two_fields import two_fields_to_disk
from tests.scheduling.care_facts import make_done, make_rule, make_stop
from tests.scheduling.ground import MONDAY
from tests.scheduling.weeks import made, working_farm

OF_ONE_ANSWER = re.compile(r'name="csrfmiddlewaretoken" value="[^"]+"')
SIX = MONDAY + dt.timedelta(hours=6)


@pytest.fixture
def farm(db: None, monkeypatch: pytest.MonkeyPatch) -> Farm:
    """A plan is sent, and a newer one, in which an hour of service stands too, is read beside it."""
    monkeypatch.setattr(clock, "now", lambda: SIX)
    farm = working_farm()
    user = User.objects.create_user("mona", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role="manager")
    two_fields_to_disk(farm)
    send_plan(plan=made(farm, now=SIX, as_of=MONDAY.date(), rounds=60), now=SIX)
    ended = FieldPass.objects.order_by("id").first()
    assert ended is not None
    FieldPass.objects.filter(pk=ended.pk).update(state=PassState.FINISHED)
    newer = made(farm, now=SIX, as_of=MONDAY.date(), rounds=60)
    hand = Hand.objects.order_by("id").first()
    stop = make_stop(make_rule(Machine.objects.order_by("id").first()), SIX, hand=hand)
    PlannedCare.objects.filter(pk=stop.pk).update(plan=newer)
    return farm


def newest() -> WeekPlan:
    return WeekPlan.objects.order_by("-number")[0]


def seen() -> str:
    answer = signed_in("mona").get(f"/farms/heron-slough/week/?plan={newest().number}")
    assert answer.status_code == 200
    return OF_ONE_ANSWER.sub("", answer.content.decode())


def a_walk_comes_first(farm: Farm) -> None:
    waits = (
        FieldPass.objects.filter(state=PassState.PLANNED).order_by("id").last() or FieldPass.objects.last()
    )
    assert waits is not None
    walk = make_pass(waits.season, "debris_walk")
    PassLink.objects.create(farm=farm, before=walk, after=waits)


def ended(state: PassState) -> Callable[[Farm], object]:
    return lambda farm: FieldPass.objects.filter(state__in=(PassState.FINISHED, PassState.CALLED_OFF)).update(
        state=state
    )


CHANGES: dict[str, Callable[[Farm], object]] = {
    "a hand is renamed": lambda farm: Hand.objects.update(name="Rosa Mae"),
    "a field is renamed": lambda farm: Field.objects.filter(code="pond-40").update(name="Low pond"),
    "a machine is renamed": lambda farm: Machine.objects.update(name="Red tractor"),
    "an implement is renamed": lambda farm: Implement.objects.update(name="Old disk"),
    "a service is another": lambda farm: CareRule.objects.update(what="look at the oil"),
    "what ended was called off": ended(PassState.CALLED_OFF),
    "a pass is held": lambda farm: FieldPass.objects.exclude(state=PassState.CALLED_OFF).update(
        fixed_from=SIX + dt.timedelta(days=1)
    ),
    "a task has another hand": lambda farm: PlannedTask.objects.filter(plan=newest()).update(
        hand=make_hand(farm, "ada", name="Ada")
    ),
    "no service is planned": lambda farm: PlannedCare.objects.all().delete(),
    "the farm is renamed": lambda farm: Farm.objects.update(name="Long Slough"),
    "nothing of it is open": lambda farm: FieldPass.objects.update(state=PassState.FINISHED),
    "no plan was sent before": lambda farm: WeekPlan.objects.filter(state="sent").update(state="replaced"),
    "the plan is sent": lambda farm: WeekPlan.objects.filter(pk=newest().pk).update(
        state="sent", sent_at=SIX
    ),
}


@pytest.mark.long
def test_whatever_changes_is_shown_at_once(farm: Farm) -> None:
    assert not unseen_changes(farm, CHANGES, seen)


def marked(farm: Farm) -> str:
    return week_mark(farm=farm, plan=newest(), before=plan_before(plan=newest()))


@pytest.mark.parametrize(
    "change",
    [
        lambda farm: make_done(CareRule.objects.get(), SIX),
        a_walk_comes_first,
        lambda farm: Season.objects.update(part="north"),
    ],
    ids=["a service is done", "a walk comes first", "a season has another name"],
)
def test_what_it_tells_only_where_it_moves_something_is_in_the_mark(
    farm: Farm, change: Callable[[Farm], Any]
) -> None:
    before = marked(farm)
    assert marked(farm) == before
    change(farm)
    assert marked(farm) != before


def test_each_table_that_the_page_reads_is_in_its_mark(farm: Farm) -> None:
    plan = newest()
    plan.farm = farm
    with CaptureQueriesContext(connection) as read:
        assert changes_against(plan)
        for by in ("outfits", "fields", "hands"):
            assert week_board(farm=farm, plan=plan, today=MONDAY.date(), working=MONDAY.date(), by=by).rows
    with CaptureQueriesContext(connection) as asked:
        marked(farm)
    assert tables(read) - {"farms_farm"} <= tables(asked)


def test_passes_that_are_open_and_those_of_the_plan_are_in_the_mark_with_no_plan_beside_it(
    farm: Farm,
) -> None:
    plan = newest()
    planned = FieldPass.objects.filter(planned_tasks__plan=plan)[0]
    FieldPass.objects.filter(pk=planned.pk).update(state=PassState.FINISHED)
    waits = make_pass(planned.season, "shred")
    for changed in (planned, waits):
        before = week_mark(farm=farm, plan=plan, before=None)
        FieldPass.objects.filter(pk=changed.pk).update(part="strip")
        assert week_mark(farm=farm, plan=plan, before=None) != before
