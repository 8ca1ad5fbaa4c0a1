"""Which rows are owed at an instant: asked on the clock of each farm, safe to ask again."""

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import pytest

from farmops.digests.models import OutboxRow, RowState, SheetKind
from farmops.digests.selectors.day import Busy
from farmops.digests.services import making
from farmops.digests.services.claims import claim, give_back, recover, settle, settle_taken, start_sending
from farmops.digests.services.making import give_up_at, make_due, make_for
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass, PassState, PlannedTask, PlanState, WeekPlan
from tests.factories import make_farm, make_hand
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands

pytestmark = pytest.mark.django_db
MORNING = at(MONDAY, 5, 5)


def states() -> dict[str, str]:
    return dict(OutboxRow.objects.values_list("hand__code", "state"))


def test_nothing_is_owed_before_the_farm_clock_reaches_its_hour() -> None:
    farm_with_hands("imani")
    assert make_due(now=at(MONDAY, 4, 59)) == 0
    assert make_due(now=at(MONDAY, 5, 0)) == 1


def test_each_farm_goes_by_its_own_clock() -> None:
    farm_with_hands("imani", code="east")
    farm_with_hands("odell", code="west", zone="America/Los_Angeles")
    make_due(now=MORNING)
    assert states() == {"imani": RowState.DUE}
    make_due(now=MORNING + dt.timedelta(hours=3))
    assert states() == {"imani": RowState.DUE, "odell": RowState.DUE}


def test_asking_again_makes_nothing_again() -> None:
    farm_with_hands("imani", "odell")
    assert [make_due(now=MORNING) for _time in range(3)] == [2, 0, 0]
    assert OutboxRow.objects.count() == 2


def test_the_plans_of_some_farms_are_read_together_and_never_of_more(monkeypatch: pytest.MonkeyPatch) -> None:
    for code in ("east", "north", "south"):
        farm_with_hands(code, code=code)
    read, together = making.busy_of_farms, []

    def noted(*, farms: Sequence[Farm], day: dt.date) -> dict[int, Busy]:
        together.append(len(farms))
        return read(farms=farms, day=day)

    monkeypatch.setattr(making, "busy_of_farms", noted)
    monkeypatch.setattr(making, "FARMS_AT_ONCE", 2)
    assert make_due(now=MORNING) == 3
    assert together == [2, 1]


def test_after_an_outage_a_sheet_is_made_late_but_not_after_the_hour_to_give_up() -> None:
    farm_with_hands("imani", "odell")
    assert make_due(now=at(MONDAY, 11, 1)) == 0
    assert make_due(now=at(MONDAY, 10, 59)) == 2


def test_a_row_that_came_too_late_is_skipped() -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    assert recover(now=at(MONDAY, 11, 1)) == (0, 1)
    assert states() == {"imani": RowState.SKIPPED}
    assert claim(now=at(MONDAY, 11, 1), limit=5) == []


def test_a_row_that_came_too_late_cannot_be_claimed_even_before_it_is_skipped() -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    assert claim(now=at(MONDAY, 11), limit=5) == []
    assert len(claim(now=at(MONDAY, 10, 59), limit=5)) == 1


def test_no_sheet_goes_out_after_its_day() -> None:
    farm = make_farm(sheet_at=dt.time(20))
    midnight = at(MONDAY + dt.timedelta(days=1), 0)
    assert give_up_at(farm=farm, due_at=at(MONDAY, 20), kind=SheetKind.HAND) == midnight


@pytest.mark.parametrize(("day", "utc_hour"), [(dt.date(2027, 3, 14), 9), (dt.date(2027, 11, 7), 10)])
def test_the_hour_is_right_on_the_days_the_clocks_change(day: dt.date, utc_hour: int) -> None:
    """US daylight time 2027 begins on March 14 and ends on November 7 (15 U.S.C. 260a): 5:00 is 9:00, then 10:00 UTC."""
    farm_with_hands("imani", day=day)
    due = dt.datetime.combine(day, dt.time(utc_hour), tzinfo=dt.UTC)
    assert make_due(now=due - dt.timedelta(seconds=1)) == 0
    assert make_due(now=due) == 1
    assert OutboxRow.objects.get().due_at == due


def test_a_hand_with_nothing_to_do_gets_no_mail_until_work_is_sent() -> None:
    farm = farm_with_hands("imani", "odell")
    WeekPlan.objects.update(state=PlanState.MADE)
    assert make_due(now=MORNING) == 0
    assert states() == {"imani": RowState.EMPTY, "odell": RowState.EMPTY}
    WeekPlan.objects.filter(farm=farm).update(state=PlanState.SENT)
    assert make_due(now=MORNING + dt.timedelta(minutes=10)) == 2
    assert states() == {"imani": RowState.DUE, "odell": RowState.DUE}


def test_passes_that_are_over_leave_the_sheet() -> None:
    farm_with_hands("imani", "odell")
    task = PlannedTask.objects.get(hand__code="imani")
    FieldPass.objects.filter(pk=task.field_pass_id).update(state=PassState.CALLED_OFF)
    make_due(now=MORNING)
    assert states() == {"imani": RowState.EMPTY, "odell": RowState.DUE}


def test_no_row_is_made_for_a_hand_without_an_address_or_one_who_left() -> None:
    farm_with_hands("imani", "odell", "teo")
    Hand.objects.filter(code="imani").update(email="")
    Hand.objects.filter(code="teo").update(works=False)
    make_due(now=MORNING)
    assert states() == {"odell": RowState.DUE}


def test_a_farm_without_a_clock_blocks_no_other() -> None:
    farm_with_hands("imani", code="adder-branch")
    Farm.objects.update(zone="Mars/Base")
    farm_with_hands("odell", code="heron-slough")
    make_due(now=MORNING)
    assert states() == {"odell": RowState.DUE}


def test_by_hand_the_hour_does_not_count_and_a_skipped_sheet_is_due_again() -> None:
    farm = farm_with_hands("imani", "odell")
    make_due(now=MORNING)
    [held, _other] = claim(now=MORNING, limit=2)
    assert start_sending({held: {}}, now=MORNING) == {held.row_id}
    assert settle(held, state=RowState.SENT, sent_at=MORNING)
    noon = at(MONDAY, 12)
    recover(now=noon)
    make_for(farm=farm, day=MONDAY, now=noon)
    assert sorted(states().values()) == [RowState.DUE, RowState.SENT]


def test_a_worker_that_lost_its_lease_changes_nothing() -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    [first] = claim(now=MORNING, limit=5)
    assert claim(now=MORNING, limit=5) == []
    later = MORNING + dt.timedelta(minutes=16)
    [second] = claim(now=later, limit=5)
    assert start_sending({first: {}}, now=later) == set()
    assert not settle(first, state=RowState.SENT, sent_at=later)
    assert settle_taken({first: {"sent_at": later}}) == 0
    assert give_back([first]) == 0
    assert start_sending({second: {}}, now=later) == {second.row_id}


def test_a_worker_that_went_away_while_sending_leaves_an_unknown_row() -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    [held] = claim(now=MORNING, limit=5)
    start_sending({held: {}}, now=MORNING)
    assert recover(now=MORNING + dt.timedelta(minutes=14)) == (0, 0)
    assert recover(now=MORNING + dt.timedelta(minutes=16)) == (1, 0)
    kept = OutboxRow.objects.get()
    assert (kept.state, kept.attempt, kept.may_have_arrived) == (RowState.UNKNOWN, 1, True)


def test_the_day_is_the_farm_day_even_when_utc_is_a_day_ahead() -> None:
    farm = make_farm(zone="Pacific/Honolulu", sheet_at=dt.time(18))
    make_hand(farm, email="imani@farm.example")
    make_due(now=dt.datetime(2026, 4, 21, 4, 30, tzinfo=dt.UTC))
    assert OutboxRow.objects.get().local_day == MONDAY
    assert OutboxRow.objects.get().due_at.astimezone(ZoneInfo("Pacific/Honolulu")).hour == 18


def test_a_farm_whose_plan_cannot_be_read_keeps_no_other_from_its_sheets(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    farm_with_hands("imani", code="adder-branch")
    farm_with_hands("odell", code="heron-slough")
    read = making.busy_of_farms

    def broken(*, farms: Sequence[Farm], day: dt.date) -> dict[int, Busy]:
        if any(farm.code == "adder-branch" for farm in farms):
            raise KeyError("tasks")
        return read(farms=farms, day=day)

    monkeypatch.setattr(making, "busy_of_farms", broken)
    assert make_due(now=MORNING) == 1
    assert states() == {"odell": RowState.DUE}


def test_a_zone_that_is_changed_a_minute_before_the_hour_gives_one_sheet_at_the_new_hour() -> None:
    farm_with_hands("imani", sheet_at=dt.time(5, 30))
    make_due(now=at(MONDAY, 5, 29))
    Farm.objects.update(zone="America/Chicago")
    for minute in range(0, 120, 10):
        make_due(now=at(MONDAY, 5, 29) + dt.timedelta(minutes=minute))
    assert OutboxRow.objects.get().due_at == at(MONDAY, 5, 30, zone="America/Chicago")


def test_a_zone_that_is_changed_after_the_sheet_went_out_gives_no_second_one_that_day() -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    OutboxRow.objects.update(state=RowState.SENT, sent_at=MORNING)
    Farm.objects.update(zone="America/Los_Angeles")
    for hour in range(5, 24):
        make_due(now=at(MONDAY, hour, 10))
    assert OutboxRow.objects.count() == 1


def test_in_a_zone_whose_day_has_no_midnight_the_day_before_ends_when_the_clock_jumps() -> None:
    """Egypt's summer time of 2026 begins on Friday, April 24, when midnight becomes 1:00: tzdata, the change is 22:00 UTC."""
    farm = farm_with_hands("imani", zone="Africa/Cairo", sheet_at=dt.time(20), day=dt.date(2026, 4, 23))
    due_at = at(dt.date(2026, 4, 23), 20, zone="Africa/Cairo")
    assert give_up_at(farm=farm, due_at=due_at, kind=SheetKind.HAND) == dt.datetime(
        2026, 4, 23, 22, tzinfo=dt.UTC
    )
    assert make_due(now=due_at) == 1


def test_on_a_leap_day_a_sheet_is_made() -> None:
    leap_day = dt.date(2028, 2, 29)
    farm_with_hands("imani", day=leap_day)
    assert make_due(now=at(leap_day, 5)) == 1
    assert OutboxRow.objects.get().local_day == leap_day
