"""What stands in the calendars of hands: changes of the plan reach it by numbers that grow, and nothing is lost."""

import datetime as dt
from typing import Any

import icalendar
import pytest

from farmops.digests.models import CalendarEvent, MailReader, OutboxRow, Purpose
from farmops.digests.services.calendar import day_file, feed_of, refresh_events, refresh_read_calendars
from farmops.digests.services.making import make_due
from farmops.digests.services.outbox import send_due
from farmops.digests.services.person_links import open_link, revoke
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass, PassState, PlannedTask, PlanState, WeekPlan
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands, make_plan, make_task

pytestmark = pytest.mark.django_db
READER: Any = icalendar.Calendar
TUESDAY, SUNDAY = MONDAY + dt.timedelta(days=1), MONDAY - dt.timedelta(days=1)
NOON, EVENING = at(SUNDAY, 12), at(SUNDAY, 18)


@pytest.fixture
def farm() -> Farm:
    farm = farm_with_hands("imani", "odell")
    WeekPlan.objects.update(sent_at=at(SUNDAY, 11))
    return farm


def refresh(farm: Farm, now: dt.datetime = NOON) -> int:
    return refresh_events(farm=farm, first=SUNDAY, last=TUESDAY, now=now)


def new_plan(farm: Farm, hours: dict[str, tuple[int, int]], *, day: dt.date = MONDAY) -> None:
    old = list(PlannedTask.objects.filter(plan__number=1).select_related("hand"))
    WeekPlan.objects.filter(farm=farm).update(state=PlanState.REPLACED)
    plan = make_plan(farm, sent_at=at(SUNDAY, 17))
    for task in old:
        if task.hand is not None and task.hand.code in hours:
            span = hours[task.hand.code]
            make_task(plan, task.hand, task.field_pass, day=day, hours=span, part_no=2, part_count=2)


def of(code: str) -> CalendarEvent:
    return CalendarEvent.objects.get(hand__code=code)


def test_the_plan_stands_in_the_calendars_and_a_second_look_writes_nothing(farm: Farm) -> None:
    assert refresh(farm) == 2
    event = of("imani")
    assert (event.starts_at, event.ends_at, event.local_day) == (at(MONDAY, 7), at(MONDAY, 12), MONDAY)
    assert event.summary == "Pond Imani: disk"
    assert event.place == "north road, gate 3, 2140 Cane Branch Road"
    assert event.sequence_no == 0
    assert refresh(farm, EVENING) == 0
    assert of("imani").changed_at == NOON


def test_what_moves_keeps_its_identity_whatever_the_plan_and_its_parts_are_called(farm: Farm) -> None:
    """RFC 5545 section 3.8.7.4: the same UID with a higher SEQUENCE is a newer word on the same event."""
    refresh(farm)
    before = of("imani")
    new_plan(farm, {"imani": (9, 14), "odell": (7, 12)})
    assert refresh(farm, EVENING) == 2  # Odell's has lost its outfit
    after = of("imani")
    assert (after.uid, after.sequence_no, after.changed_at) == (before.uid, 1, EVENING)
    assert after.starts_at == at(MONDAY, 9)


def test_what_is_gone_is_cancelled_and_comes_back_with_a_higher_number(farm: Farm) -> None:
    refresh(farm)
    uid = of("odell").uid
    new_plan(farm, {"imani": (7, 12)})
    refresh(farm, EVENING)
    assert (of("odell").is_cancelled, of("odell").sequence_no) == (True, 1)
    assert refresh(farm, EVENING) == 0
    new_plan(farm, {"imani": (7, 12), "odell": (7, 12)})
    refresh(farm, EVENING)
    back = of("odell")
    assert (back.uid, back.is_cancelled, back.sequence_no) == (uid, False, 2)


def test_a_pass_that_is_called_off_leaves_the_calendar_but_not_the_work_that_was_begun(farm: Farm) -> None:
    refresh(farm)
    FieldPass.objects.filter(season__field__code="pond-imani").update(
        state=PassState.CALLED_OFF, called_off_at=NOON
    )
    FieldPass.objects.filter(season__field__code="pond-odell").update(state=PassState.FINISHED)
    refresh(farm, at(MONDAY, 6))
    assert of("imani").is_cancelled
    CalendarEvent.objects.filter(hand__code="odell").update(is_cancelled=False)
    refresh(farm, at(MONDAY, 11))
    assert not of("odell").is_cancelled


def test_work_over_two_days_stands_in_each_with_its_own_hours(farm: Farm) -> None:
    task = PlannedTask.objects.get(hand__code="imani")
    PlannedTask.objects.filter(pk=task.pk).update(ends_at=at(TUESDAY, 10))
    plan = task.plan
    plan.plan["tasks"][0]["to"] = 24 * 60 + 600
    plan.problem["tasks"][0]["open"] = [
        {"from": 420, "to": 720},
        {"from": 24 * 60 + 480, "to": 24 * 60 + 600},
    ]
    plan.save()
    refresh(farm)
    hours = CalendarEvent.objects.filter(hand__code="imani").values_list("starts_at", "ends_at")
    assert list(hours) == [(at(MONDAY, 7), at(MONDAY, 12)), (at(TUESDAY, 8), at(TUESDAY, 10))]


def test_the_days_file_holds_what_stands_in_the_hands_language(farm: Farm) -> None:
    Hand.objects.filter(code="imani").update(language="es")
    refresh(farm)
    imani = Hand.objects.get(code="imani")
    calendar = READER.from_ical(day_file(hand=imani, day=MONDAY))
    [event] = calendar.walk("VEVENT")
    assert event["SUMMARY"] == "Pond Imani: rastrear"
    assert event["DTSTART"].dt == at(MONDAY, 7)
    assert "La hoja del día manda." in event["DESCRIPTION"]
    assert day_file(hand=imani, day=TUESDAY) == b""


def test_no_phone_number_money_or_link_stands_in_a_feed(farm: Farm) -> None:
    refresh(farm)
    content = feed_of(farm=farm, person=Hand.objects.get(code="imani"), now=NOON).decode()
    assert "555-0142" not in content
    assert "$" not in content
    assert "/in/" not in content
    assert "Pond Imani" in content
    assert "Pond Odell" not in content


def test_a_feed_tells_of_what_was_cancelled_for_two_weeks(farm: Farm) -> None:
    refresh(farm)
    new_plan(farm, {"imani": (7, 12)})
    refresh(farm, EVENING)
    odell = Hand.objects.get(code="odell")

    def states(now: dt.datetime) -> list[str]:
        return [
            str(one["STATUS"])
            for one in READER.from_ical(feed_of(farm=farm, person=odell, now=now)).walk("VEVENT")
        ]

    assert states(EVENING + dt.timedelta(days=13)) == ["CANCELLED"]
    assert states(EVENING + dt.timedelta(days=15)) == []


def test_two_that_look_at_once_write_one_change(farm: Farm) -> None:
    refresh(farm)
    event = of("imani")
    new_plan(farm, {"imani": (9, 14), "odell": (7, 12)})
    CalendarEvent.objects.filter(pk=event.pk).update(sequence_no=1)  # somebody else was faster
    refresh(farm, EVENING)
    assert of("imani").sequence_no == 2
    assert refresh(farm, EVENING) == 0


def test_calendars_that_somebody_reads_follow_the_plan_by_themselves(farm: Farm) -> None:
    assert refresh_read_calendars(now=NOON) == 0
    imani = Hand.objects.get(code="imani")
    link = open_link(farm=farm, person=imani, purpose=Purpose.CALENDAR, now=NOON)
    assert refresh_read_calendars(now=NOON) == 2
    assert refresh_read_calendars(now=NOON) == 0
    new_plan(farm, {"imani": (9, 14)})
    assert refresh_read_calendars(now=EVENING) == 2
    assert of("imani").starts_at == at(MONDAY, 9)
    revoke(link=link, by=None, now=EVENING)
    new_plan(farm, {"imani": (10, 15)})
    assert refresh_read_calendars(now=EVENING) == 0


def test_a_hand_who_wants_no_file_gets_none(farm: Farm) -> None:
    odell = Hand.objects.get(code="odell")
    MailReader.objects.create(farm=farm, hand=odell, wants_calendar_file=False, changed_at=NOON)
    make_due(now=at(MONDAY, 5, 5))
    assert send_due(now=at(MONDAY, 5, 5)).sent == 2
    has_file = {
        row.person_code: b"text/calendar" in bytes(row.content)
        for row in OutboxRow.objects.select_related("hand")
    }
    assert has_file == {"imani": True, "odell": False}
