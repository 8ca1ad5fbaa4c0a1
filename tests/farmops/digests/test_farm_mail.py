"""Mail to managers and bookkeepers: what they are owed when, and what it tells."""

import datetime as dt
import uuid

import pytest

from farmops.core.models import User
from farmops.digests.digest_page import lay_out_digest
from farmops.digests.farm_facts import CrewHand, DigestDay
from farmops.digests.models import (
    Heartbeat,
    MailChoice,
    MailTimes,
    MailTrouble,
    OutboxRow,
    Reason,
    RowState,
    SheetKind,
    SuppressedAddress,
    TroubleKind,
)
from farmops.digests.services.claims import recover
from farmops.digests.services.composing import FarmDays, compose_row
from farmops.digests.services.heartbeat import SHEETS
from farmops.digests.services.making import make_due
from farmops.digests.services.outbox import send_due
from farmops.digests.text import as_text
from farmops.farms.models import Farm, Hand, Membership, Role
from ledger.models import PostingWait
from scheduling.models import FieldReport, ParkedReport, ReportKind
from scheduling.slips.facts import WayThere
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands
from tests.farmops.digests.sheet_facts import task

pytestmark = pytest.mark.django_db
FIVE, MORNING = at(MONDAY, 5), at(MONDAY, 5, 5)


def make_user(farm: Farm, name: str, role: Role, **facts: str) -> User:
    user = User.objects.create(username=name, email=f"{name}@farm.example", first_name=name.title(), **facts)
    Membership.objects.create(farm=farm, user=user, role=role)
    return user


@pytest.fixture
def farm() -> Farm:
    farm = farm_with_hands("imani", "odell")
    make_user(farm, "marlene", Role.MANAGER)
    return farm


def made_of(kind: str) -> list[tuple[str, str]]:
    rows = OutboxRow.objects.filter(kind=kind).select_related("hand", "user")
    return [(row.person_code, row.state) for row in rows]


def text_of(kind: str, now: dt.datetime = MORNING) -> str:
    row = OutboxRow.objects.select_related("farm", "user").get(kind=kind)
    made = compose_row(row=row, now=now, days=FarmDays())
    assert made is not None
    return made.sheet.text


def test_each_manager_with_an_address_gets_one_digest_a_day_and_nobody_else(farm: Farm) -> None:
    make_user(farm, "bertil", Role.BOOKKEEPER)
    User.objects.filter(username="marlene").update(first_name="Marlene")
    silent = make_user(farm, "teo", Role.MANAGER)
    User.objects.filter(pk=silent.pk).update(email="")
    make_due(now=at(MONDAY, 4, 59))
    assert made_of(SheetKind.DIGEST) == []
    make_due(now=FIVE)
    make_due(now=MORNING)
    assert made_of(SheetKind.DIGEST) == [("marlene", RowState.DUE)]


def test_the_digest_says_who_goes_where_and_for_whom_to_print(farm: Farm) -> None:
    Hand.objects.filter(code="odell").update(email="")
    make_due(now=MORNING)
    text = text_of(SheetKind.DIGEST)
    assert text.startswith("2 hands out.\nMonday, April 20.\nFor Marlene, Heron Slough.\n")
    assert "WHO GOES WHERE\nImani: 7:00 am Pond Imani: disk\nOdell: 7:00 am Pond Odell: disk\n" in text
    assert "Print for: Odell. No mail goes to them." in text
    assert "No weather is known, so nobody can say." in text
    assert "/in/" not in text, "a digest signs nobody in"


def test_the_digest_names_to_print_for_whoever_gets_no_sheet_by_mail(farm: Farm) -> None:
    imani, odell = Hand.objects.order_by("code")
    SuppressedAddress.objects.create(farm=farm, address=imani.email, since_at=FIVE)
    MailChoice.objects.create(farm=farm, hand=odell, kind=SheetKind.HAND, is_wanted=False, changed_at=FIVE)
    make_due(now=MORNING)
    assert "Print for: Imani, Odell." in text_of(SheetKind.DIGEST)
    SuppressedAddress.objects.update(lifted_at=FIVE)
    assert "Print for: Odell." in text_of(SheetKind.DIGEST)


def test_what_waits_for_the_manager_is_told_with_its_reasons(farm: Farm) -> None:
    report = FieldReport.objects.create(
        farm=farm,
        client_id=uuid.uuid4(),
        hand=Hand.objects.get(code="imani"),
        kind=ReportKind.WORK,
        body={},
        body_hash="0" * 64,
        received_at=at(MONDAY, 1),
    )
    ParkedReport.objects.create(
        farm=farm, report=report, code="acres_over", why="More acres than the field has.", why_for_hand="-"
    )
    for number in range(7):
        PostingWait.objects.create(
            farm=farm,
            source_kind="work_record",
            source_id=number,
            happened_on=MONDAY,
            code="no_rate_on_date",
            says=f"No rate {number} holds.",
            first_at=MORNING,
            checked_at=MORNING,
        )
    make_due(now=MORNING)
    User.objects.update(language="es")
    assert "Son más acres de los que tiene el campo." in " ".join(text_of(SheetKind.DIGEST).split())
    User.objects.update(language="en")
    text = " ".join(text_of(SheetKind.DIGEST).split())
    assert "Imani, work on a pass, Monday, April 20: More acres than the field has." in text
    assert "No rate 4 holds. and 2 more" in text
    assert "No rate 5" not in text


def test_a_morning_without_anything_sends_no_digest() -> None:
    farm = farm_with_hands("imani", day=MONDAY + dt.timedelta(days=3))
    make_user(farm, "marlene", Role.MANAGER)
    make_due(now=MORNING)
    row = OutboxRow.objects.get(kind=SheetKind.DIGEST)
    assert compose_row(row=row, now=MORNING, days=FarmDays()) is None


def test_the_cost_note_comes_on_the_farm_s_weekday_to_bookkeepers_only(farm: Farm) -> None:
    make_user(farm, "bertil", Role.BOOKKEEPER)
    MailTimes.objects.create(farm=farm, cost_weekday=1, changed_at=MORNING)
    make_due(now=at(MONDAY, 8))
    assert made_of(SheetKind.COSTS) == []
    make_due(now=at(MONDAY + dt.timedelta(days=1), 8))
    assert made_of(SheetKind.COSTS) == [("bertil", RowState.DUE)]


def test_of_what_went_wrong_a_manager_hears_once(farm: Farm) -> None:
    trouble = MailTrouble.objects.create(
        farm=farm, kind=TroubleKind.SKIPPED, key=MONDAY.isoformat(), says="-", row_count=3, raised_at=MORNING
    )
    make_due(now=MORNING)
    make_due(now=at(MONDAY, 6))
    assert made_of(SheetKind.TROUBLE) == [("marlene", RowState.DUE)]
    text = text_of(SheetKind.TROUBLE)
    assert text.startswith("Some mail did not go out.")
    assert "3 mails came too late: Monday, April 20. They were not sent." in " ".join(text.split())
    OutboxRow.objects.filter(kind=SheetKind.TROUBLE).update(state=RowState.SENT, sent_at=at(MONDAY, 6))
    make_due(now=at(MONDAY + dt.timedelta(days=1), 6))
    assert len(made_of(SheetKind.TROUBLE)) == 1
    trouble.refresh_from_db()
    assert trouble.told_at == at(MONDAY, 6)


def test_what_goes_wrong_after_the_day_s_mail_is_told_within_an_hour_and_three_times_a_day_at_most(
    farm: Farm,
) -> None:
    def go_wrong(key: str, hour: int) -> None:
        MailTrouble.objects.create(
            farm=farm, kind=TroubleKind.DEAD, key=key, says="-", raised_at=at(MONDAY, hour)
        )

    def send_all(hour: int) -> list[int]:
        open_ones = OutboxRow.objects.filter(kind=SheetKind.TROUBLE, state=RowState.DUE)
        numbers = list(open_ones.order_by("number").values_list("number", flat=True))
        open_ones.update(state=RowState.SENT, sent_at=at(MONDAY, hour, 1))
        return numbers

    go_wrong("1", 5)
    make_due(now=at(MONDAY, 5))
    assert send_all(5) == [1]
    go_wrong("2", 5)
    MailTrouble.objects.filter(key="2").update(raised_at=at(MONDAY, 5, 2))
    make_due(now=at(MONDAY, 5, 30))
    assert send_all(5) == [], "what comes one after the other is told together"
    make_due(now=at(MONDAY, 6))
    make_due(now=at(MONDAY, 6))
    assert send_all(6) == [2]
    for key, hour, told in (("3", 8, [3]), ("4", 12, [])):
        go_wrong(key, hour)
        make_due(now=at(MONDAY, hour))
        assert send_all(hour) == told
    make_due(now=at(MONDAY + dt.timedelta(days=1), 6))
    days = OutboxRow.objects.filter(kind=SheetKind.TROUBLE).values_list("local_day", "number")
    assert sorted(days)[-1] == (MONDAY + dt.timedelta(days=1), 1)
    assert len({row.message_id for row in OutboxRow.objects.filter(kind=SheetKind.TROUBLE)}) == 4


def test_what_came_up_between_making_and_sending_is_told_once_and_to_each_manager(farm: Farm) -> None:
    for key, minute in (("1", 4), ("2", 6)):
        make_due(now=at(MONDAY, 5, 5))
        MailTrouble.objects.create(
            farm=farm, kind=TroubleKind.DEAD, key=key, says="-", raised_at=at(MONDAY, 5, minute)
        )
    make_user(farm, "mona", Role.MANAGER)
    make_due(now=at(MONDAY, 5, 7))
    assert made_of(SheetKind.TROUBLE) == [("marlene", RowState.DUE), ("mona", RowState.DUE)]
    OutboxRow.objects.filter(user__username="mona").update(not_before_at=at(MONDAY, 5, 9))
    for minute in (8, 9):
        send_due(now=at(MONDAY, 5, minute))
    make_due(now=at(MONDAY, 12))
    rows = OutboxRow.objects.filter(kind=SheetKind.TROUBLE).order_by("sent_at")
    assert [(row.person_code, row.state) for row in rows] == [("marlene", "sent"), ("mona", "sent")]
    assert all(bytes(row.content).count(b"A mail could not be sent") == 4 for row in rows)
    assert set(MailTrouble.objects.values_list("told_at", flat=True)) == {rows[0].sent_at}


def test_who_went_to_another_farm_before_the_mail_goes_out_gets_none_of_this_one(farm: Farm) -> None:
    other = farm_with_hands("teo", code="adder-branch")
    make_user(farm, "mona", Role.MANAGER)
    make_due(now=MORNING)
    Membership.objects.filter(farm=farm, user__username="mona").delete()
    Membership.objects.create(farm=other, user=User.objects.get(username="mona"), role=Role.MANAGER)
    send_due(now=MORNING)
    here = OutboxRow.objects.filter(farm=farm).select_related("hand", "user")
    assert {(row.person_code, row.state, row.reason) for row in here} == {
        ("imani", RowState.SENT, ""),
        ("marlene", RowState.SENT, ""),
        ("odell", RowState.SENT, ""),
        ("mona", RowState.SUPPRESSED, Reason.NOT_HERE),
    }


def test_where_the_mail_about_trouble_is_refused_no_further_one_is_made(farm: Farm) -> None:
    for hour in (5, 7):
        MailTrouble.objects.create(
            farm=farm, kind=TroubleKind.DEAD, key=str(hour), says="-", raised_at=at(MONDAY, hour)
        )
        make_due(now=at(MONDAY, hour))
        OutboxRow.objects.filter(kind=SheetKind.TROUBLE).update(state=RowState.DEAD)
    assert made_of(SheetKind.TROUBLE) == [("marlene", RowState.DEAD)]


def test_a_farm_s_trouble_is_not_told_to_another_farm(farm: Farm) -> None:
    other = farm_with_hands("teo", code="adder-branch")
    make_user(other, "rosa", Role.MANAGER)
    MailTrouble.objects.create(farm=farm, kind=TroubleKind.DEAD, key="1", says="-", raised_at=MORNING)
    make_due(now=MORNING)
    assert made_of(SheetKind.TROUBLE) == [("marlene", RowState.DUE)]


def test_what_nobody_made_while_nothing_ran_is_made_and_skipped_at_once(farm: Farm) -> None:
    noon = at(MONDAY, 12)
    make_due(now=noon)
    assert made_of(SheetKind.HAND) == [], "a farm that is new at noon has missed nothing"
    Heartbeat.objects.create(job=SHEETS, last_at=at(MONDAY, 4))
    make_due(now=noon)
    assert made_of(SheetKind.HAND) == [("imani", RowState.DUE), ("odell", RowState.DUE)]
    assert recover(now=noon)[1] == 3, "two sheets and the digest"


def test_an_hour_at_which_the_clockwork_ran_was_not_missed(farm: Farm) -> None:
    """Who is hired at noon gets no sheet marked as missed at five."""
    Heartbeat.objects.create(job=SHEETS, last_at=at(MONDAY, 11, 59))
    make_due(now=at(MONDAY, 12))
    assert made_of(SheetKind.HAND) == []


def test_the_digest_says_who_must_leave_early_or_comes_late() -> None:
    early = task(way=WayThere("", 58, 12.4, leave_at=at(MONDAY, 6, 2)))
    late = task(way=WayThere("Sawpit", 58, 12.4, there_at=at(MONDAY, 13, 49)), hours=(13, 16))
    day = DigestDay(
        farm_name="Heron Slough",
        manager_name="Mona",
        day=MONDAY,
        has_plan=True,
        crew=(CrewHand("Imani", (early, task(), late)),),
    )
    told, spanish = (" ".join(as_text(lay_out_digest(day, one)).split()) for one in ("en", "es"))
    assert told.count("Pond 80: disk (must leave by 6:02 am)") == 1
    assert "(not there before 1:49 pm)" in told
    assert "(debe salir a más tardar: 6:02 a.m.)" in spanish
