"""The evening's notices: told when tomorrow is not what it was, once for each change, and not without end."""

import datetime as dt

import pytest

from farmops.digests.models import MailChoice, MailTimes, OutboxRow, RowState, SheetKind
from farmops.digests.services.composing import FarmDays, compose_row
from farmops.digests.services.making import make_due
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass, PassState, PlannedTask, PlanState, WeekPlan
from tests.factories import make_field, make_pass, make_season
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands, make_plan, make_task

pytestmark = pytest.mark.django_db
TUESDAY, SUNDAY = MONDAY + dt.timedelta(days=1), MONDAY - dt.timedelta(days=1)
SIX_PM, SEVEN_PM = at(MONDAY, 18, 1), at(MONDAY, 19)


@pytest.fixture
def farm() -> Farm:
    """A farm on a Monday whose plan was sent on Sunday: Imani and Odell disk on Tuesday from 7 to 12."""
    farm = farm_with_hands("imani", "odell", day=TUESDAY)
    WeekPlan.objects.update(sent_at=at(SUNDAY, 17))
    return farm


def send_new_plan(farm: Farm, hours: dict[str, tuple[int, int]], sent_at: dt.datetime) -> WeekPlan:
    """Send a plan in which each hand that is named has the same disking on Tuesday at other hours."""
    old = list(
        PlannedTask.objects.filter(plan=WeekPlan.objects.order_by("number").first()).select_related("hand")
    )
    WeekPlan.objects.filter(farm=farm).update(state=PlanState.REPLACED)
    plan = make_plan(farm, day=TUESDAY, sent_at=sent_at)
    for task in old:
        if task.hand is not None and task.hand.code in hours:
            make_task(
                plan,
                task.hand,
                task.field_pass,
                day=TUESDAY,
                hours=hours[task.hand.code],
                machine=task.machine,
                implement=task.implement,
            )
    return plan


def notices() -> list[tuple[str, int, str]]:
    rows = (
        OutboxRow.objects.filter(kind=SheetKind.CHANGE)
        .select_related("hand")
        .order_by("hand__code", "number")
    )
    return [(row.person_code, row.number, row.state) for row in rows]


def mark_sent(sent_at: dt.datetime) -> None:
    OutboxRow.objects.filter(kind=SheetKind.CHANGE, state=RowState.DUE).update(
        state=RowState.SENT, sent_at=sent_at
    )


def text_of(code: str, number: int = 1, now: dt.datetime = SIX_PM) -> str:
    row = OutboxRow.objects.get(kind=SheetKind.CHANGE, hand__code=code, number=number)
    made = compose_row(row=row, now=now, days=FarmDays())
    assert made is not None
    return made.sheet.text


def test_a_plan_that_stands_since_the_day_before_is_no_news(farm: Farm) -> None:
    make_due(now=SIX_PM)
    assert notices() == []


def test_a_new_plan_tells_only_the_hand_whose_tomorrow_differs(farm: Farm) -> None:
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 16))
    make_due(now=at(MONDAY, 17, 59))
    assert notices() == []
    make_due(now=SIX_PM)
    make_due(now=SIX_PM)
    assert notices() == [("imani", 1, RowState.DUE)]
    text = text_of("imani")
    assert text.startswith("Your work for tomorrow has changed.\nTuesday, April 21.\n")
    assert (
        "9:00 am to 2:00 pm: Pond Imani: disk, Tractor 1 with Disk 1. It was 7:00 am to 12:00 pm."
        in " ".join(text.split())
    )


def test_who_loses_the_work_hears_of_it_and_so_does_who_gets_it(farm: Farm) -> None:
    plan = send_new_plan(farm, {"odell": (7, 12)}, at(MONDAY, 16))
    field = make_field(farm, "long-row")
    make_task(
        plan, Hand.objects.get(code="odell"), make_pass(make_season(field)), day=TUESDAY, hours=(13, 15)
    )
    make_due(now=SIX_PM)
    assert notices() == [("imani", 1, RowState.DUE), ("odell", 1, RowState.DUE)]
    lost, got = text_of("imani"), text_of("odell")
    assert lost.startswith("You have no work tomorrow now.")
    assert "NOT ANY MORE\n7:00 am to 12:00 pm: Pond Imani: disk, Tractor 1 with Disk 1" in lost
    assert "1:00 pm to 3:00 pm: Long Row: disk. New." in got
    assert "As before." in got


def test_a_second_change_is_told_against_the_first_and_the_last_word_says_so(farm: Farm) -> None:
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 16))
    make_due(now=SIX_PM)
    mark_sent(SIX_PM)
    send_new_plan(farm, {"imani": (10, 15), "odell": (7, 12)}, at(MONDAY, 18, 30))
    make_due(now=SEVEN_PM)
    assert notices() == [("imani", 1, RowState.SENT), ("imani", 2, RowState.DUE)]
    second = " ".join(text_of("imani", 2, SEVEN_PM).split())
    assert "It was 9:00 am to 2:00 pm." in second
    assert "This is the last note tonight. If it changes again, call Marlene." in second
    mark_sent(SEVEN_PM)
    send_new_plan(farm, {"imani": (11, 16), "odell": (7, 12)}, at(MONDAY, 19, 30))
    make_due(now=at(MONDAY, 20))
    assert len(notices()) == 2, "two an evening are enough, the morning sheet tells the rest"
    first, last = OutboxRow.objects.filter(kind=SheetKind.CHANGE).order_by("number")
    assert first.message_id != last.message_id


def test_while_a_notice_is_on_its_way_no_other_is_made_and_it_tells_what_stands_when_it_goes(
    farm: Farm,
) -> None:
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 16))
    make_due(now=SIX_PM)
    send_new_plan(farm, {"imani": (10, 15), "odell": (7, 12)}, at(MONDAY, 18, 30))
    make_due(now=SEVEN_PM)
    assert notices() == [("imani", 1, RowState.DUE)]
    assert "10:00 am to 3:00 pm" in text_of("imani")


def test_a_change_that_is_taken_back_before_it_was_told_is_not_told(farm: Farm) -> None:
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 16))
    make_due(now=SIX_PM)
    send_new_plan(farm, {"imani": (7, 12), "odell": (7, 12)}, at(MONDAY, 18, 30))
    row = OutboxRow.objects.get(kind=SheetKind.CHANGE)
    assert compose_row(row=row, now=SEVEN_PM, days=FarmDays()) is None


def test_a_pass_that_is_called_off_in_the_evening_is_a_change_and_one_called_off_before_is_not(
    farm: Farm,
) -> None:
    FieldPass.objects.filter(planned_tasks__hand__code="imani").update(
        state=PassState.CALLED_OFF, called_off_at=at(MONDAY, 17)
    )
    FieldPass.objects.filter(planned_tasks__hand__code="odell").update(
        state=PassState.CALLED_OFF, called_off_at=at(SUNDAY, 19)
    )
    make_due(now=SIX_PM)
    assert notices() == [("imani", 1, RowState.DUE)]
    assert text_of("imani").startswith("You have no work tomorrow now.")


def test_after_the_evening_the_morning_sheet_tells(farm: Farm) -> None:
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 16))
    MailTimes.objects.create(
        farm=farm, notice_at=dt.time(17), notice_until=dt.time(17, 30), changed_at=at(MONDAY, 8)
    )
    make_due(now=SIX_PM)
    assert notices() == []


def test_who_wants_no_notice_gets_one_row_that_says_so_and_no_more(farm: Farm) -> None:
    hand = Hand.objects.get(code="imani")
    MailChoice.objects.create(
        farm=farm, hand=hand, kind=SheetKind.CHANGE, is_wanted=False, changed_at=at(MONDAY, 8)
    )
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 16))
    make_due(now=SIX_PM)
    send_new_plan(farm, {"imani": (10, 15), "odell": (7, 12)}, at(MONDAY, 18, 30))
    make_due(now=SEVEN_PM)
    assert notices() == [("imani", 1, RowState.SUPPRESSED)]


def sheet_of(code: str, now: dt.datetime) -> str:
    row = OutboxRow.objects.get(kind=SheetKind.HAND, hand__code=code)
    made = compose_row(row=row, now=now, days=FarmDays())
    assert made is not None
    return " ".join(made.sheet.text.split())


def test_the_morning_sheet_says_so_where_work_has_changed_since_last_evening(farm: Farm) -> None:
    """A change at night has no notice of its own: the sheet says that it is not what stood in the evening."""
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 22))
    morning = at(TUESDAY, 5, 1)
    make_due(now=morning)
    assert "This changed since last evening." in sheet_of("imani", morning)
    assert "This changed since last evening." not in sheet_of("odell", morning)


def test_what_was_told_in_the_evening_is_no_news_in_the_morning(farm: Farm) -> None:
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 18, 30))
    make_due(now=SEVEN_PM)
    mark_sent(SEVEN_PM)
    morning = at(TUESDAY, 5, 1)
    make_due(now=morning)
    assert "changed" not in sheet_of("imani", morning)


def test_a_first_plan_for_tomorrow_is_no_change_and_what_changes_it_after_that_is_one(farm: Farm) -> None:
    """On the eve of a new week the plan is sent in the afternoon: it comes with the morning sheet."""
    WeekPlan.objects.update(sent_at=at(MONDAY, 16))
    make_due(now=SIX_PM)
    assert notices() == []
    send_new_plan(farm, {"imani": (9, 14), "odell": (7, 12)}, at(MONDAY, 18, 30))
    make_due(now=SEVEN_PM)
    assert notices() == [("imani", 1, RowState.DUE)]
    assert "It was 7:00 am to 12:00 pm." in " ".join(text_of("imani", 1, SEVEN_PM).split())


def test_a_first_plan_that_comes_at_night_has_changed_nothing_by_the_morning(farm: Farm) -> None:
    WeekPlan.objects.update(sent_at=at(MONDAY, 22))
    morning = at(TUESDAY, 5, 1)
    make_due(now=morning)
    assert "changed" not in sheet_of("imani", morning)
