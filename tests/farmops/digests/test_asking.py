"""A manager's word about one mail, a person's choice, and what is kept of a mail after a year."""

import datetime as dt

import pytest

from farmops.core.models import User
from farmops.digests.models import MailChoice, MailTimes, OutboxRow, Reason, RowState, SendTry, SheetKind
from farmops.digests.services.asking import NotSentAgain, next_number, send_again, try_again
from farmops.digests.services.choosing import MailTimeRefused, choose, set_mail_times, set_reader
from farmops.digests.services.composing import FarmDays, compose_row
from farmops.digests.services.keeping import sweep_mail
from farmops.digests.services.making import make_due
from farmops.farms.models import Farm, Hand
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands

pytestmark = pytest.mark.django_db
MORNING, NOON = at(MONDAY, 5, 5), at(MONDAY, 12)
TIMES = {
    "sheet_at": dt.time(5, 30),
    "digest_at": dt.time(4, 30),
    "notice_at": dt.time(18),
    "notice_until": dt.time(21),
    "cost_at": dt.time(7),
    "cost_weekday": 4,
    "most_notices_per_day": 3,
    "catch_up_min": 300,
    "has_door_codes": False,
}


@pytest.fixture
def farm() -> Farm:
    return farm_with_hands("imani")


@pytest.fixture
def boss() -> User:
    return User.objects.create(username="marlene", email="marlene@farm.example")


def row_in(state: str, **facts: object) -> OutboxRow:
    make_due(now=MORNING)
    row = OutboxRow.objects.get(kind=SheetKind.HAND)
    OutboxRow.objects.filter(pk=row.pk).update(state=state, **facts)
    return OutboxRow.objects.get(pk=row.pk)


@pytest.mark.parametrize("state", [RowState.DEAD, RowState.SKIPPED, RowState.SUPPRESSED])
def test_what_ended_is_tried_again_and_its_history_stays(farm: Farm, boss: User, state: str) -> None:
    row = row_in(state, attempt=8, reason=Reason.REFUSED, smtp_reply="550 no such user")
    assert try_again(row=row, by=boss, now=NOON)
    assert not try_again(row=row, by=boss, now=NOON), "pressed twice it is once"
    row.refresh_from_db()
    assert (row.state, row.attempt, row.reason, row.give_up_at) == (RowState.DUE, 0, "", at(MONDAY, 18))
    [told] = SendTry.objects.filter(row=row)
    assert (told.outcome, told.attempt, told.made_by) == ("again", 8, boss)


@pytest.mark.parametrize("state", [RowState.SENT, RowState.DUE, RowState.SENDING])
def test_what_went_out_or_is_on_its_way_is_not_tried_again(farm: Farm, boss: User, state: str) -> None:
    facts: dict[str, object] = {"sent_at": MORNING} if state == RowState.SENT else {}
    if state == RowState.SENDING:
        facts = {"claim_token": "6f1c3a52-6b1f-4c0e-9a53-0f6f3c4f0f11", "claim_until": NOON}
    assert not try_again(row=row_in(state, **facts), by=boss, now=NOON)


def test_nothing_is_tried_again_on_another_day(farm: Farm, boss: User) -> None:
    row = row_in(RowState.DEAD)
    assert not try_again(row=row, by=boss, now=NOON + dt.timedelta(days=1))
    with pytest.raises(NotSentAgain, match="That day is over"):
        send_again(row=row, by=boss, now=NOON + dt.timedelta(days=1), number=2)


def test_a_sheet_is_sent_again_as_a_message_of_its_own_and_pressed_twice_it_is_once(
    farm: Farm, boss: User
) -> None:
    row = row_in(RowState.SENT, sent_at=MORNING)
    assert next_number(row=row) == 2
    first, second = (send_again(row=row, by=boss, now=NOON, number=2) for _time in range(2))
    assert first == second
    assert OutboxRow.objects.filter(kind=SheetKind.HAND).count() == 2
    assert (first.number, first.state, first.asked_by) == (2, RowState.DUE, boss)
    assert first.message_id != row.message_id
    made = compose_row(row=first, now=NOON, days=FarmDays())
    assert made is not None
    assert "late" not in made.sheet.text.splitlines()[0], "it was asked for just now"
    with pytest.raises(NotSentAgain, match="newer"):
        send_again(row=row, by=boss, now=NOON, number=4)


def test_who_has_no_address_or_wants_none_is_not_sent_again(farm: Farm, boss: User) -> None:
    row = row_in(RowState.SENT, sent_at=MORNING)
    hand = Hand.objects.get(code="imani")
    choose(farm=farm, person=hand, kind=SheetKind.HAND, by=None, now=MORNING, is_wanted=False)
    with pytest.raises(NotSentAgain, match="Imani has asked for no such mail"):
        send_again(row=row, by=boss, now=NOON, number=2)
    MailChoice.objects.all().delete()
    Hand.objects.update(email="")
    with pytest.raises(NotSentAgain, match="Print the sheet"):
        send_again(row=OutboxRow.objects.get(pk=row.pk), by=boss, now=NOON, number=2)


def test_a_person_s_own_hour_and_wishes_rule_the_row(farm: Farm) -> None:
    hand = Hand.objects.get(code="imani")
    choose(farm=farm, person=hand, kind=SheetKind.HAND, by=None, now=MORNING, send_at=dt.time(6, 15))
    make_due(now=at(MONDAY, 6, 14))
    assert not OutboxRow.objects.exists()
    make_due(now=at(MONDAY, 6, 15))
    assert OutboxRow.objects.get().due_at == at(MONDAY, 6, 15)
    OutboxRow.objects.all().delete()
    choose(farm=farm, person=hand, kind=SheetKind.HAND, by=None, now=MORNING, is_wanted=False)
    make_due(now=at(MONDAY, 6, 15))
    row = OutboxRow.objects.get()
    assert (row.state, row.reason) == (RowState.SUPPRESSED, Reason.NOT_WANTED)


def test_on_a_day_without_work_who_wants_a_short_sheet_gets_one() -> None:
    farm = farm_with_hands("imani", day=MONDAY + dt.timedelta(days=2))
    hand = Hand.objects.get(code="imani")
    choose(farm=farm, person=hand, kind=SheetKind.HAND, by=None, now=MORNING, on_empty_day="short")
    make_due(now=MORNING)
    row = OutboxRow.objects.get()
    assert row.state == RowState.DUE
    made = compose_row(row=row, now=MORNING, days=FarmDays())
    assert made is not None
    assert made.sheet.text.startswith("No field work today.")


def test_the_hours_of_a_farm_are_kept(farm: Farm, boss: User) -> None:
    set_mail_times(farm=farm, by=boss, now=NOON, **TIMES)  # type: ignore[arg-type]
    set_mail_times(farm=farm, by=boss, now=NOON, **{**TIMES, "cost_weekday": 2})  # type: ignore[arg-type]
    kept = MailTimes.objects.get()
    assert (kept.cost_weekday, kept.most_notices_per_day, kept.changed_by) == (2, 3, boss)
    assert Farm.objects.get().sheet_at == dt.time(5, 30)


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("sheet_at", dt.time(2, 30), "clocks change"),
        ("digest_at", dt.time(0), "clocks change"),
        ("cost_at", dt.time(3, 29), "clocks change"),
        ("notice_until", dt.time(18), "later than it begins"),
        ("most_notices_per_day", 0, "From 1 to 6"),
        ("catch_up_min", 29, "half an hour"),
        ("cost_weekday", 7, "no day of the week"),
    ],
)
def test_an_hour_that_some_days_lack_and_other_nonsense_is_refused_in_words(
    farm: Farm, boss: User, name: str, value: object, says: str
) -> None:
    """Between midnight and 3:30 clocks of this century have changed in every zone: tzdata, 2015 to 2026, from memory."""
    with pytest.raises(MailTimeRefused) as refused:
        set_mail_times(farm=farm, by=boss, now=NOON, **{**TIMES, name: value})  # type: ignore[arg-type]
    assert says in refused.value.fields[name]
    assert not MailTimes.objects.exists()
    assert Farm.objects.get().sheet_at == dt.time(5)


def test_what_a_person_chose_is_refused_where_it_cannot_be(farm: Farm) -> None:
    hand = Hand.objects.get(code="imani")
    with pytest.raises(MailTimeRefused, match="clocks change"):
        choose(farm=farm, person=hand, kind=SheetKind.HAND, by=None, now=NOON, send_at=dt.time(1))
    with pytest.raises(MailTimeRefused):
        set_reader(farm=farm, person=hand, by=None, now=NOON, units="kelvin", wants_calendar_file=True)
    assert not MailChoice.objects.exists()


def test_bytes_are_kept_for_a_year_and_the_row_for_good(farm: Farm) -> None:
    row = row_in(RowState.SENT, sent_at=MORNING, content=b"Subject: x", content_hash="a" * 64)
    assert sweep_mail(now=MORNING + dt.timedelta(days=364)) == 0
    assert sweep_mail(now=MORNING + dt.timedelta(days=367)) == 1
    row.refresh_from_db()
    assert (bytes(row.content), row.content_hash, row.sent_at) == (b"", "a" * 64, MORNING)
    assert sweep_mail(now=MORNING + dt.timedelta(days=367)) == 0
