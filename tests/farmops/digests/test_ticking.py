"""One look at the clocks: what it makes, what it tells, and when it does not believe its own clock."""

import datetime as dt

import pytest
from pytest_django.fixtures import Settings

from farmops.core.clock import Machine, machine
from farmops.core.models import User
from farmops.digests.models import Heartbeat, MailTrouble, OutboxRow, RowState, TroubleKind
from farmops.digests.selectors.outbox import health
from farmops.digests.services.heartbeat import SHEETS, Clocks, clocks_beside, why_not_trusted
from farmops.digests.services.ticking import tick
from farmops.digests.services.troubles import end_trouble, raise_trouble
from farmops.farms.models import Farm
from tests.farmops.digests.mail_server import MailServer
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands

pytestmark = pytest.mark.django_db
MORNING = at(MONDAY, 5, 31)
MINUTE = dt.timedelta(minutes=1)


def up(seconds: float, boot: str = "this-start") -> Clocks:
    return Clocks(Machine(boot, seconds))


def test_down_over_the_hour_and_back_soon_after_everybody_gets_the_sheet(mail: MailServer) -> None:
    farm_with_hands("imani", "odell")
    tick(now=at(MONDAY, 4, 59))
    report = tick(now=at(MONDAY, 6, 10))
    assert (report.made, report.sent.sent) == (2, 2)
    assert all("late" in message.get_body(("plain",)).get_content().lower() for message in mail.messages())  # type: ignore[union-attr]


def test_down_until_noon_nothing_is_sent_and_the_manager_is_told_once(mail: MailServer) -> None:
    farm = farm_with_hands("imani", "odell")
    tick(now=at(MONDAY, 4, 59))
    for minute in range(3):
        tick(now=at(MONDAY, 12) + minute * MINUTE)
    assert mail.taken == []
    assert set(OutboxRow.objects.values_list("state", "reason")) == {(RowState.SKIPPED, "too_late")}
    [trouble] = MailTrouble.objects.all()
    assert (trouble.farm, trouble.kind, trouble.row_count) == (farm, TroubleKind.SKIPPED, 2)
    assert trouble.says == "2 of the mails for 2026-04-20 came too late to help and were not sent."


def test_what_was_skipped_is_told_once_a_day_and_farm() -> None:
    for code in ("adder-branch", "heron-slough"):
        farm_with_hands("imani", code=code)
    tick(now=at(MONDAY, 4))
    tick(now=at(MONDAY, 13))
    end_trouble(trouble=MailTrouble.objects.first(), by=None, now=at(MONDAY, 13))  # type: ignore[arg-type]
    tick(now=at(MONDAY, 14))
    assert MailTrouble.objects.count() == 2


@pytest.mark.parametrize(
    "set_by", [dt.timedelta(days=1), dt.timedelta(days=365), -dt.timedelta(days=1), dt.timedelta(minutes=3)]
)
def test_a_clock_that_was_set_makes_nothing_until_it_is_set_back(set_by: dt.timedelta) -> None:
    farm_with_hands("imani")
    night = at(MONDAY, 4)
    tick(now=night, clocks=up(1000))
    at_hour = night + 91 * MINUTE
    report = tick(now=at_hour + set_by, clocks=up(1000 + 91 * 60))
    assert (report.made, OutboxRow.objects.count()) == (0, 0)
    assert report.distrusted
    assert not health(job=SHEETS, now=at_hour + set_by).is_ready
    assert Heartbeat.objects.get(job=SHEETS).last_at == night
    assert MailTrouble.objects.filter(kind=TroubleKind.CLOCK, ended_at=None).count() == 1
    assert tick(now=at_hour + MINUTE, clocks=up(1000 + 92 * 60)).made == 1
    assert health(job=SHEETS, now=at_hour + MINUTE).is_ready
    assert not MailTrouble.objects.filter(ended_at=None).exists()


def test_the_clock_as_it_is_counts_as_right_when_a_person_says_so() -> None:
    farm_with_hands("imani")
    tick(now=at(MONDAY, 4), clocks=up(1000))
    wrong = MORNING + dt.timedelta(hours=1)
    tick(now=wrong, clocks=up(1000 + 91 * 60))
    end_trouble(trouble=MailTrouble.objects.get(), by=User.objects.create(username="marlene"), now=wrong)
    assert tick(now=wrong + MINUTE, clocks=up(1000 + 92 * 60)).made == 1
    assert tick(now=wrong + 2 * MINUTE, clocks=up(1000 + 93 * 60)).distrusted == ""


def test_a_machine_that_was_away_or_another_machine_is_believed() -> None:
    farm_with_hands("imani")
    tick(now=at(MONDAY, 4), clocks=up(9000))
    assert tick(now=MORNING, clocks=up(60, "next-start")).made == 1


def test_two_machines_that_take_turns_are_each_held_against_themselves() -> None:
    night = at(MONDAY, 4)
    for minute in range(4):
        boot, began_s = (("one", 100), ("two", 50_000))[minute % 2]
        report = tick(now=night + minute * MINUTE, clocks=up(began_s + 60 * minute, boot))
        assert report.distrusted == ""
    assert tick(now=night + 34 * MINUTE, clocks=up(100 + 4 * 60, "one")).distrusted


@pytest.mark.parametrize(("apart_s", "is_made"), [(4, True), (-119, True), (121, False), (-90_000, False)])
def test_a_clock_far_from_the_database_s_makes_nothing(apart_s: float, is_made: bool) -> None:
    farm_with_hands("imani")
    report = tick(now=MORNING, clocks=Clocks(None, apart_s))
    assert (report.made == 1) is is_made
    assert bool(report.distrusted) is not is_made
    assert tick(now=MORNING + MINUTE, clocks=Clocks(None, 0.1)).distrusted == ""


def test_what_was_made_before_goes_out_while_the_clock_is_doubted_and_never_on_another_day(
    mail: MailServer,
) -> None:
    farm_with_hands("imani", "odell")
    tick(now=MORNING, clocks=up(1000), send=False)
    tick(now=MORNING + dt.timedelta(days=1), clocks=up(1060))
    assert mail.taken == []
    assert set(OutboxRow.objects.values_list("local_day", "state")) == {(MONDAY, RowState.SKIPPED)}


def test_a_clock_that_goes_back_a_day_sends_nothing_of_a_day_to_come(mail: MailServer) -> None:
    farm_with_hands("imani")
    tick(now=MORNING, clocks=up(1000), send=False)
    tick(now=MORNING - dt.timedelta(days=1), clocks=up(1060))
    assert mail.taken == []
    tick(now=MORNING + 2 * MINUTE, clocks=up(1120))
    assert len(mail.taken) == 1


def test_the_leap_day_has_its_sheets(mail: MailServer) -> None:
    farm_with_hands("imani", day=dt.date(2028, 2, 28))
    for day in (28, 29):
        tick(now=at(dt.date(2028, 2, day), 5, 31))
    days = OutboxRow.objects.order_by("local_day").values_list("local_day", flat=True)
    assert list(days) == [dt.date(2028, 2, 28), dt.date(2028, 2, 29)]


def test_a_zone_that_is_changed_a_minute_before_the_hour_gives_one_sheet_for_the_day(
    mail: MailServer,
) -> None:
    farm_with_hands("imani")
    tick(now=at(MONDAY, 4, 59))
    Farm.objects.update(zone="America/Chicago")
    for minute in range(0, 130, 10):
        tick(now=at(MONDAY, 5) + minute * MINUTE)
    assert OutboxRow.objects.count() == len(mail.taken) == 1
    [row] = OutboxRow.objects.all()
    assert row.due_at == at(MONDAY, 5, zone="America/Chicago")


def test_the_clock_is_read_beside_the_database_s_and_the_machine_s_own(settings: Settings) -> None:
    settings.MAIL_CLOCK_IS_WATCHED = True
    now = dt.datetime.now(dt.UTC)
    beside = clocks_beside(now=now, machine=machine())
    assert beside.machine is not None
    assert beside.apart_s is None or abs(beside.apart_s) < 5
    later = machine()
    assert later is not None
    assert (later.boot_id, later.up_s >= beside.machine.up_s) == (beside.machine.boot_id, True)
    settings.MAIL_CLOCK_IS_WATCHED = False
    assert clocks_beside(now=now, machine=machine()) == Clocks()


def test_one_trouble_under_a_key_however_often_it_is_raised() -> None:
    farm = farm_with_hands("imani")
    for _time in range(2):
        for whose in (farm, None):
            raise_trouble(farm=whose, kind=TroubleKind.DEAD, key="7", says="x", now=MORNING)
    assert MailTrouble.objects.count() == 2
    assert why_not_trusted(now=MORNING, clocks=Clocks()) is None
