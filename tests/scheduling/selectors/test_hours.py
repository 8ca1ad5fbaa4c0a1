"""Hours by day: offered, worked and why fewer.

What a day's record holds is that of 20 CFR 655.122(j): hours offered, hours worked, when the day began and ended, and
the reason where fewer were worked than offered.
"""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import CareRule, Farm, Hand, HandAway
from scheduling.models import CareDone, ParkedReport, PlannedTask, WeekPlan, WorkDay
from scheduling.selectors.hours import HandDay, HandHours, Offer, hours_of_days
from tests.factories import make_farm, make_field, make_hand, make_machine, make_pass, make_season
from tests.ledger.makers import make_place
from tests.scheduling.ground import NEW_YORK
from tests.scheduling.reports import make_report
from tests.scheduling.sending import send_plan
from tests.scheduling.work import worked

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 4, 20)
SATURDAY = dt.date(2026, 4, 25)
SHIFT_MIN = 630  # 7 to 12 and 12:30 to 6, as the maker of hands gives them


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def hand(farm: Farm) -> Hand:
    return make_hand(farm)


def at(hour: int, minute: int = 0, *, day: dt.date = MONDAY) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(hour, minute), NEW_YORK)


def say_day(hand: Hand, *, day: dt.date = MONDAY, **facts: Any) -> WorkDay:
    defaults = {"starts_at": at(7, day=day), "ends_at": at(17, day=day), "break_min": 30, "worked_min": 570}
    return WorkDay.objects.create(
        farm=hand.farm,
        client_id=uuid.uuid4(),
        hand=hand,
        work_on=day,
        recorded_at=at(18, day=day),
        **{**defaults, **facts},
    )


def week_of(hand: Hand, *, today: dt.date = SATURDAY) -> HandHours:
    last_on = MONDAY + dt.timedelta(days=6)
    found = hours_of_days(farm=hand.farm, first_on=MONDAY, last_on=last_on, today=today)
    (one,) = [one for one in found if one.hand == hand]
    assert len(one.days) == 7
    return one


def monday_of(hand: Hand, *, today: dt.date = SATURDAY) -> HandDay:
    return week_of(hand, today=today).days[0]


def test_a_reported_day_holds_what_a_record_must(hand: Hand) -> None:
    say_day(hand, offered_min=600, why_fewer="rain from four on")
    day = monday_of(hand)
    assert (day.starts_at, day.ends_at, day.break_min) == (at(7), at(17), 30)
    assert (day.offered_min, day.offer, day.worked_min, day.fewer_min) == (600, Offer.STATED, 570, 30)
    assert (day.why_fewer, day.lacks_reason) == ("rain from four on", False)


def test_hours_that_nobody_offered_are_those_of_the_shift(hand: Hand) -> None:
    say_day(hand)
    day = monday_of(hand)
    assert (day.offered_min, day.offer) == (SHIFT_MIN, Offer.SHIFT)
    assert (day.fewer_min, day.lacks_reason) == (60, True)


@pytest.mark.parametrize(
    ("offered_min", "fewer_min", "lacks"),
    [(None, 15, False), (None, 16, True), (600, 0, False), (600, 1, True)],
)
def test_a_minute_less_than_was_stated_asks_for_a_reason_and_a_quarter_less_than_the_shift_does_not(
    offered_min: int | None, fewer_min: int, lacks: bool, hand: Hand
) -> None:
    say_day(hand, offered_min=offered_min, worked_min=(offered_min or SHIFT_MIN) - fewer_min)
    assert monday_of(hand).lacks_reason is lacks


def test_nobody_offers_hours_to_the_owner(farm: Farm) -> None:
    owner = make_hand(farm, "marlene", is_owner=True)
    say_day(owner)
    assert (monday_of(owner).offered_min, monday_of(owner).worked_min) == (0, 570)


def test_a_day_that_is_not_over_lacks_no_reason(hand: Hand) -> None:
    say_day(hand)
    assert not monday_of(hand, today=MONDAY).lacks_reason


def test_a_day_to_come_has_no_offer_yet_and_sunday_none_at_all(hand: Hand) -> None:
    week = week_of(hand, today=MONDAY + dt.timedelta(days=1))
    assert [day.offered_min for day in week.days] == [SHIFT_MIN, SHIFT_MIN, 0, 0, 0, 0, 0]
    assert [day.is_empty for day in week.days] == [False, False, True, True, True, True, True]


def test_a_day_away_offers_nothing_and_says_so(hand: Hand) -> None:
    HandAway.objects.create(
        farm=hand.farm, hand=hand, first_on=MONDAY, last_on=MONDAY, why="sister's wedding"
    )
    day = monday_of(hand)
    assert (day.offered_min, day.why_fewer, day.lacks_reason) == (0, "away: sister's wedding", False)


def test_before_the_first_day_of_a_hand_nothing_was_offered(hand: Hand) -> None:
    hand.started_on = MONDAY + dt.timedelta(days=2)
    hand.save()
    assert [day.offered_min for day in week_of(hand).days[:3]] == [0, 0, SHIFT_MIN]


def test_two_stretches_of_one_day_add_up(hand: Hand) -> None:
    say_day(hand, ends_at=at(11), break_min=0, worked_min=240, why_fewer="planter broke")
    say_day(hand, starts_at=at(15), ends_at=at(18), break_min=10, worked_min=170)
    day = monday_of(hand)
    assert (day.starts_at, day.ends_at, day.worked_min, day.break_min) == (at(7), at(18), 410, 10)
    assert day.why_fewer == "planter broke"


def test_a_corrected_day_counts_once(hand: Hand) -> None:
    first = say_day(hand, worked_min=60)
    say_day(hand, worked_min=540, supersedes=first)
    assert monday_of(hand).worked_min == 540


def test_without_a_report_of_the_day_the_work_counts(hand: Hand) -> None:
    """A pass of 5 h and a service of 45 min, one of them just before midnight at the farm, after it in Greenwich."""
    field_pass = make_pass(make_season(make_field(hand.farm)))
    worked(field_pass, hand, starts_at=at(8), minutes=300)
    rule = CareRule.objects.create(
        farm=hand.farm,
        code="oil",
        machine=make_machine(hand.farm),
        what="oil",
        every_h=Decimal(250),
        takes_min=45,
        source="manual",
    )
    CareDone.objects.create(
        farm=hand.farm,
        client_id=uuid.uuid4(),
        rule=rule,
        done_at=at(23, 30),
        hand=hand,
        hand_min=45,
        recorded_at=at(23, 45),
    )
    day = monday_of(hand)
    assert (day.worked_min, day.on_work_min, day.is_reported) == (345, 345, False)
    assert week_of(hand).days[1].worked_min == 0


def test_a_day_that_was_begun_and_not_ended_counts_its_work(hand: Hand) -> None:
    field_pass = make_pass(make_season(make_field(hand.farm)))
    worked(field_pass, hand, starts_at=at(8), minutes=300)
    say_day(hand, ends_at=None, worked_min=0, break_min=0)
    day = monday_of(hand)
    assert (day.is_reported, day.worked_min, day.ends_at) == (True, 300, None)


def test_what_the_hand_says_of_the_day_goes_before_the_work(hand: Hand) -> None:
    field_pass = make_pass(make_season(make_field(hand.farm)))
    worked(field_pass, hand, starts_at=at(8), minutes=300)
    say_day(hand)
    day = monday_of(hand)
    assert (day.worked_min, day.on_work_min) == (570, 300)


def test_hours_that_wait_for_the_manager_are_told(hand: Hand) -> None:
    for number, kind in enumerate(("work", "day", "fuel"), 1):
        report = make_report(hand, kind, {"work_on": MONDAY.isoformat()}, now=at(18), number=number)
        ParkedReport.objects.create(
            farm=hand.farm, report=report, code="over_24_hours", why="-", why_for_hand="-"
        )
    assert monday_of(hand).waiting == 2
    assert week_of(hand).waiting == 2


def test_who_works_no_more_stands_there_only_with_hours(farm: Farm) -> None:
    left, gone = make_hand(farm, "odell", works=False), make_hand(farm, "teo", works=False)
    say_day(left)
    found = hours_of_days(farm=farm, first_on=MONDAY, last_on=SATURDAY, today=SATURDAY)
    assert [one.hand for one in found] == [left]
    assert found[0].offered_min == 0, "nothing is offered to who works no more"
    assert gone not in [one.hand for one in found]


def test_a_day_of_which_nothing_was_planned_or_reported_asks_nobody_for_a_reason() -> None:
    """The plan has Rosa on Monday, 8 to 1, and nobody on Tuesday; on Wednesday she worked without a plan."""
    place = make_place()
    send_plan(place, place.hand)
    worked(place.field_pass, place.hand, starts_at=at(8, day=MONDAY + dt.timedelta(days=2)), minutes=300)
    week = week_of(place.hand)
    assert [day.offered_min for day in week.days[:4]] == [SHIFT_MIN] * 4
    assert [day.is_planned for day in week.days[:4]] == [True, False, False, False]
    assert [day.lacks_reason for day in week.days[:4]] == [True, False, True, False]


def test_of_two_plans_only_the_one_that_rules_a_day_asks_for_its_hours() -> None:
    """A plan that was replaced, and had another hand on Monday, asks that hand for nothing."""
    place = make_place()
    other = make_hand(place.farm, "odell")
    old = send_plan(place, other)
    WeekPlan.objects.filter(pk=old.pk).update(number=9, state="replaced", sent_at=at(5))
    send_plan(place, place.hand)
    WeekPlan.objects.filter(number=1).update(sent_at=at(6))
    assert not monday_of(other).is_planned
    assert monday_of(place.hand).is_planned


def test_work_planned_for_an_evening_is_of_its_day_alone_and_over_midnight_of_both() -> None:
    """Eight in the evening on the farm is the next day in the clock of the database."""
    place = make_place()
    send_plan(place, place.hand)
    evening = PlannedTask.objects.filter(hand=place.hand)
    evening.update(starts_at=at(20), ends_at=at(23))
    assert [day.is_planned for day in week_of(place.hand).days[:3]] == [True, False, False]
    evening.update(ends_at=at(2, day=MONDAY + dt.timedelta(days=1)))
    assert [day.is_planned for day in week_of(place.hand).days[:3]] == [True, True, False]


def test_the_week_adds_up(hand: Hand) -> None:
    for day in (MONDAY, SATURDAY):
        say_day(hand, day=day, offered_min=600)
    week = week_of(hand, today=MONDAY)
    assert (week.offered_min, week.worked_min) == (1200, 1140)


def test_hours_of_another_farm_stay_there(hand: Hand) -> None:
    other = make_hand(make_farm("other-farm"))
    say_day(other)
    assert monday_of(hand).worked_min == 0
