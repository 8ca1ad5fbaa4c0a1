"""Calendars of those who are no hands: the manager's farm with who goes where, and the bookkeeper's days of the books."""

import datetime as dt
import uuid
from typing import Any

import icalendar
import pytest

from farmops.core.models import User
from farmops.digests.models import CalendarEvent, CalendarMark, Purpose
from farmops.digests.services.calendar import feed_of, refresh_events, refresh_read_calendars
from farmops.digests.services.calendar_watch import refresh_changed
from farmops.digests.services.person_links import link_of_token, open_link, token_of
from farmops.farms.models import Farm, Hand, Membership, Role
from ledger.models import PeriodMark
from ledger.services.bills import enter_bill
from ledger.services.posting import post_pending
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


def reader(farm: Farm, *roles: Role, language: str = "en") -> User:
    user = User.objects.create(username=f"{roles[0]}-{language}", language=language)
    for role in roles:
        Membership.objects.create(farm=farm, user=user, role=role)
    open_link(farm=farm, person=user, purpose=Purpose.CALENDAR, now=NOON)
    return user


def shown(farm: Farm, user: User, now: dt.datetime = NOON) -> dict[str, Any]:
    calendar = READER.from_ical(feed_of(farm=farm, person=user, now=now))
    return {str(event["SUMMARY"]): event for event in calendar.walk("VEVENT")}


def enter(farm: Farm) -> None:
    enter_bill(
        farm=farm,
        amount_usd="482.11",
        client_id=uuid.uuid4(),
        payee="Three Rivers Supply",
        bill_on=MONDAY,
        category="other",
        now=NOON,
    )


def refresh(farm: Farm, now: dt.datetime = NOON, last: dt.date = TUESDAY) -> int:
    return refresh_events(farm=farm, first=SUNDAY, last=last, now=now)


def test_a_manager_reads_who_goes_where_and_hands_who_go_together_stand_together(farm: Farm) -> None:
    english, spanish = reader(farm, Role.MANAGER), reader(farm, Role.MANAGER, language="es")
    task = PlannedTask.objects.get(hand__code="imani")
    odell = PlannedTask.objects.get(hand__code="odell")
    make_task(task.plan, odell.hand, task.field_pass, part_no=2, part_count=2)
    refresh(farm)
    assert list(shown(farm, english)) == ["Pond Imani: disk (Imani, Odell)", "Pond Odell: disk (Odell)"]
    event = shown(farm, spanish)["Pond Imani: rastrear (Imani, Odell)"]
    assert event["DTSTART"].dt == at(MONDAY, 7)
    assert event["LOCATION"] == "north road, gate 3, 2140 Cane Branch Road"
    assert "Imani, Odell." in event["DESCRIPTION"]
    content = feed_of(farm=farm, person=english, now=NOON).decode()
    assert "BEGIN:VTIMEZONE" in content
    assert "555-0142" not in content


def test_what_moves_in_a_managers_calendar_keeps_its_identity_and_what_is_gone_is_cancelled(
    farm: Farm,
) -> None:
    user = reader(farm, Role.MANAGER)
    refresh(farm)
    before = shown(farm, user)
    WeekPlan.objects.filter(farm=farm).update(state=PlanState.REPLACED)
    imani = PlannedTask.objects.get(hand__code="imani")
    make_task(make_plan(farm, sent_at=at(SUNDAY, 17)), imani.hand, imani.field_pass, hours=(9, 14))
    refresh(farm, EVENING)
    after = shown(farm, user, EVENING)
    moved, gone = "Pond Imani: disk (Imani)", "Pond Odell: disk (Odell)"
    assert after[moved]["UID"] == before[moved]["UID"]
    assert (before[moved]["SEQUENCE"], after[moved]["SEQUENCE"]) == (0, 1)
    assert after[moved]["DTSTAMP"].dt == EVENING
    assert (after[gone]["STATUS"], after[gone]["SEQUENCE"]) == ("CANCELLED", 1)


def test_a_bookkeeper_reads_the_weekly_look_and_the_month_to_close_without_any_amount(farm: Farm) -> None:
    user = reader(farm, Role.BOOKKEEPER, language="es")
    enter(farm)
    post_pending(now=NOON)
    refresh(farm, last=dt.date(2026, 5, 2))
    events = shown(farm, user)
    assert list(events) == ["Vea las cuentas de la semana", "Ya se puede cerrar abril"]
    look, close = events.values()
    assert "Hay 1 factura por pagar." in CalendarEvent.objects.get(user=user, local_day=MONDAY).says
    assert look["DTSTART"].dt == at(MONDAY + dt.timedelta(days=7), 7)
    assert (close["DTSTART"].dt, close["DTEND"].dt) == (dt.date(2026, 5, 1), dt.date(2026, 5, 2))
    assert close["TRANSP"] == "TRANSPARENT"
    lines = feed_of(farm=farm, person=user, now=NOON).decode().splitlines()
    # Of ids any digits may be part.
    content = "\n".join(line for line in lines if not line.startswith("UID:"))
    assert "482" not in content
    assert "Pond" not in content


def test_a_month_that_is_closed_leaves_the_bookkeepers_calendar(farm: Farm) -> None:
    user = reader(farm, Role.BOOKKEEPER)
    enter(farm)
    post_pending(now=NOON)
    refresh(farm, last=dt.date(2026, 5, 2))
    assert shown(farm, user)["April can be closed"]["STATUS"] == "CONFIRMED"
    PeriodMark.objects.create(
        farm=farm, month=dt.date(2026, 4, 1), turn=1, is_close=True, made_by=user, made_at=NOON
    )
    refresh(farm, EVENING, last=dt.date(2026, 5, 2))
    assert shown(farm, user, EVENING)["April can be closed"]["STATUS"] == "CANCELLED"


def test_who_has_lost_a_role_reads_nothing_of_it_at_once_and_who_left_has_no_calendar(farm: Farm) -> None:
    user = reader(farm, Role.MANAGER, Role.BOOKKEEPER)
    refresh(farm)
    token = token_of(open_link(farm=farm, person=user, purpose=Purpose.CALENDAR, now=NOON))
    assert len(shown(farm, user)) == 3
    Membership.objects.filter(user=user, role=Role.MANAGER).delete()
    assert list(shown(farm, user)) == ["Look at the week's books"]
    assert link_of_token(token, purpose=Purpose.CALENDAR) is not None
    Membership.objects.filter(user=user).delete()
    assert shown(farm, user) == {}
    assert link_of_token(token, purpose=Purpose.CALENDAR) is None


def test_the_look_each_minute_follows_what_changed_and_reads_nothing_where_nothing_did(
    farm: Farm, django_assert_max_num_queries: Any
) -> None:
    manager, keeper = reader(farm, Role.MANAGER), reader(farm, Role.BOOKKEEPER)
    assert refresh_changed(now=NOON) > 0
    with django_assert_max_num_queries(18):
        assert refresh_changed(now=NOON + dt.timedelta(minutes=1)) == 0
    FieldPass.objects.filter(season__field__code="pond-imani").update(
        state=PassState.CALLED_OFF, called_off_at=EVENING
    )
    assert refresh_changed(now=EVENING) == 2
    assert shown(farm, manager, EVENING)["Pond Imani: disk (Imani)"]["STATUS"] == "CANCELLED"
    enter(farm)
    assert refresh_changed(now=EVENING) == 1
    assert "1 bill is to be paid." in CalendarEvent.objects.get(user=keeper, local_day=MONDAY).says
    assert refresh_changed(now=EVENING) == 0


def test_a_farm_whose_plan_cannot_be_read_keeps_no_other_calendar_from_being_right(
    farm: Farm, caplog: pytest.LogCaptureFixture
) -> None:
    other = farm_with_hands("teo", code="plover-bend")
    plan = WeekPlan.objects.get(farm=farm)
    plan.plan["tasks"] = [{"id": "broken"}]
    plan.save()
    assert refresh_changed(now=at(MONDAY, 5)) == 1
    assert CalendarEvent.objects.get().farm == other
    assert "heron-slough" in caplog.text
    open_link(farm=farm, person=Hand.objects.get(code="imani"), purpose=Purpose.CALENDAR, now=NOON)
    assert refresh_read_calendars(now=NOON) == 0


def test_a_look_that_takes_too_long_leaves_the_rest_to_the_next(farm: Farm) -> None:
    farm_with_hands("teo", code="plover-bend")
    assert refresh_changed(now=at(MONDAY, 5), most_s=-1.0) == 0
    assert CalendarMark.objects.count() == 0
    assert refresh_changed(now=at(MONDAY, 5)) == 3
    assert CalendarMark.objects.count() == 2
