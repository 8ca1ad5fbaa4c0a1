"""The pages of the mail: what went out and what did not, one mail as it went, a look before, and who wants what."""

import datetime as dt
import email
import html
import re
from collections.abc import Mapping
from email import policy
from typing import Any

import pytest
import time_machine
from django.test import Client

from farmops.core.models import User
from farmops.digests.models import (
    MailChoice,
    MailReader,
    MailTimes,
    MailTrouble,
    OutboxRow,
    Reason,
    RowState,
    SheetKind,
    TroubleKind,
)
from farmops.digests.services.choosing import choose
from farmops.digests.services.composing import FarmDays, compose_row
from farmops.digests.services.mailing import Envelope, message_bytes
from farmops.digests.services.making import make_due
from farmops.digests.services.reporting_at import ReportAt
from farmops.farms.models import Farm, Hand, Membership, SignInLink
from farmops.pages import words
from farmops.pages.undelivered_page import ON_A_PAGE
from tests.factories import make_farm
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in

SIX = MONDAY.replace(hour=6)
PAGE = "/farms/heron-slough/mail/"
SECRET = "https://farm.example/in/abcDEF-123_456"


@pytest.fixture
def mailed(yard: Yard) -> Yard:
    """A farm at six in the morning: Rosa's sheet went out with a link of hers in it, the manager's digest is due."""
    Hand.objects.update(email="rosa@farm.example")
    User.objects.filter(username="mona").update(email="mona@farm.example")
    make_due(now=MONDAY.replace(hour=5))
    row = OutboxRow.objects.select_related("farm", "hand").get(kind=SheetKind.HAND)
    made = compose_row(row=row, now=SIX, days=FarmDays(), report_at=ReportAt(SECRET, True))
    assert made is not None
    envelope = Envelope(
        sender_name="Heron Slough",
        sender="farm@farm.example",
        receiver_name="Rosa",
        receiver="rosa@farm.example",
        message_id=row.message_id,
        dated_at=row.due_at,
    )
    OutboxRow.objects.filter(pk=row.pk).update(
        state=RowState.SENT,
        sent_at=SIX,
        content=message_bytes(sheet=made.sheet, envelope=envelope),
        address="rosa@farm.example",
    )
    return yard


def sheet() -> OutboxRow:
    return OutboxRow.objects.get(kind=SheetKind.HAND, number=1)


def get(client: Client, path: str = PAGE, status: int = 200) -> str:
    with time_machine.travel(SIX, tick=False):
        answer = client.get(path)
    assert answer.status_code == status
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def post(
    client: Client, path: str, typed: Mapping[str, str] | None = None, *, now: dt.datetime = SIX
) -> tuple[int, str]:
    with time_machine.travel(now, tick=False):
        answer = client.post(path, typed or {}, follow=True)
    return answer.status_code, html.unescape(answer.content.decode())


def times_form(**typed: str) -> dict[str, str]:
    boxes = {
        "sheet_at": "05:30",
        "digest_at": "04:45",
        "notice_at": "18:00",
        "notice_until": "21:00",
        "cost_at": "07:00",
        "cost_weekday": "0",
        "most_notices_per_day": "2",
        "catch_up_min": "360",
    }
    return {**boxes, **typed}


@pytest.mark.parametrize("name", ["bo", "rosa"])
def test_nobody_but_the_manager_sees_the_mail_of_the_farm_or_acts_on_it(mailed: Yard, name: str) -> None:
    client, row = signed_in(name), sheet()
    person = f"preview/hand/hand/{mailed.hand.pk}/"
    for path in (
        "",
        "undelivered/",
        f"{row.pk}/",
        f"{row.pk}/as-sent.eml",
        person,
        "times/",
        "times/people/",
    ):
        assert client.get(PAGE + path).status_code == 403, path
    for path in (f"{row.pk}/again/", f"{row.pk}/try/", "times/", f"times/people/hand/{mailed.hand.pk}/"):
        assert client.post(PAGE + path).status_code == 403, path
    assert OutboxRow.objects.count() == 2


def test_another_farm_s_mail_people_and_troubles_are_not_there(mailed: Yard) -> None:
    other = make_farm("adder-branch")
    Membership.objects.create(farm=other, user=User.objects.get(username="mona"), role="manager")
    trouble = MailTrouble.objects.create(
        farm=mailed.farm, kind=TroubleKind.DEAD, key="1", says="-", raised_at=SIX
    )
    client, theirs = signed_in("mona"), "/farms/adder-branch/mail/"
    for path in (
        f"{sheet().pk}/",
        f"{sheet().pk}/as-sent.eml",
        f"{sheet().pk}/as-sent.html",
        f"preview/hand/hand/{mailed.hand.pk}/",
        f"preview/digest/user/{User.objects.get(username='bo').pk}/",
        "preview/nonsense/user/1/",
        f"preview/digest/hand/{mailed.hand.pk}/",
    ):
        assert client.get(theirs + path).status_code == 404, path
    for path in (f"{sheet().pk}/again/", f"{sheet().pk}/try/", f"troubles/{trouble.pk}/end/"):
        assert client.post(theirs + path, {"number": "2"}).status_code == 404, path
    assert client.post(f"{theirs}times/people/hand/{mailed.hand.pk}/").status_code == 404


def test_the_day_says_what_went_out_what_waits_and_what_could_not_be_sent(mailed: Yard) -> None:
    client = signed_in("mona")
    told = get(client)
    assert "One mail of Monday, April 20 went out, one waits." in told
    assert "Rosa morning sheet 5:00 am Went out late, 6:00 am" in told
    OutboxRow.objects.filter(kind=SheetKind.DIGEST).update(
        state=RowState.DEAD, reason=Reason.REFUSED, smtp_reply="550 no such user"
    )
    told = get(client)
    assert "one could not be sent" in told
    assert "Refused for good 550 no such user" in told
    assert "No mail is made for Tuesday, April 21." in get(client, f"{PAGE}?day=2026-04-21")
    assert get(client, f"{PAGE}?day=yesterday") == told


def test_who_works_and_gets_no_mail_is_named_to_print_for(mailed: Yard) -> None:
    assert "Print for:" not in get(signed_in("mona"))
    OutboxRow.objects.filter(kind=SheetKind.HAND).update(state=RowState.DEAD, sent_at=None)
    assert "Print for: Rosa" in get(signed_in("mona"))
    OutboxRow.objects.all().delete()
    Hand.objects.update(email="")
    assert "Print for: Rosa" in get(signed_in("mona"))


def test_one_mail_is_shown_as_it_went_out_without_the_link_that_signs_its_reader_in(mailed: Yard) -> None:
    """The manager may read what a hand was told, and not come in as that hand: the bytes that are kept stay whole."""
    client, row = signed_in("mona"), sheet()
    page = get(client, f"{PAGE}{row.pk}/")
    assert "Primero: Pond 40: rastrear" in page
    assert "https://farm.example/in/…" in page
    file = client.get(f"{PAGE}{row.pk}/as-sent.eml")
    assert file["Content-Type"] == "message/rfc822"
    message = email.message_from_bytes(file.content, policy=policy.default)
    assert message["Message-ID"] == row.message_id
    parts = [part.get_content() for part in message.walk() if part.get_content_maintype() == "text"]
    assert len(parts) == 2
    shown = client.get(f"{PAGE}{row.pk}/as-sent.html")
    for text in (page, shown.content.decode(), *parts):
        assert "abcDEF-123" not in text
        assert "https://farm.example/in/…" in text
    assert b"abcDEF-123" in bytes(row.content).replace(b"=\r\n", b"")


def test_a_mail_that_is_shown_can_run_nothing_and_fetch_nothing(mailed: Yard) -> None:
    """Content Security Policy level 3: a sandbox without allowances runs no script and has an origin of its own."""
    client = signed_in("mona")
    for path in (
        f"{sheet().pk}/as-sent.html",
        f"preview/hand/hand/{mailed.hand.pk}/shown.html?day=2026-04-20",
    ):
        answer = client.get(PAGE + path)
        rules = answer["Content-Security-Policy"]
        assert answer.status_code == 200
        assert "default-src 'none'" in rules
        assert "sandbox" in rules
        assert "script-src 'none'" in rules
        assert "img-src 'none'" in rules
        assert "allow-" not in rules


def test_sent_again_it_is_one_more_mail_and_pressed_twice_it_is_once(mailed: Yard) -> None:
    client, row = signed_in("mona"), sheet()
    assert "Send again" in get(client, f"{PAGE}{row.pk}/")
    for _time in range(2):
        status, said = post(client, f"{PAGE}{row.pk}/again/", {"number": "2"})
        assert status == 200
        assert "The mail goes out again" in said
    assert OutboxRow.objects.filter(kind=SheetKind.HAND).count() == 2
    assert "morning sheet, sent again" in get(client)
    assert "Something newer" in post(client, f"{PAGE}{row.pk}/again/", {"number": "9"})[1]
    assert post(client, f"{PAGE}{row.pk}/again/", {"number": "x"})[0] == 404
    tomorrow = SIX + dt.timedelta(days=1)
    assert "That day is over" in post(client, f"{PAGE}{row.pk}/again/", {"number": "3"}, now=tomorrow)[1]


def test_what_was_refused_is_listed_and_tried_again(mailed: Yard) -> None:
    client = signed_in("mona")
    assert "Every mail of the last two weeks went out." in get(client, f"{PAGE}undelivered/")
    OutboxRow.objects.filter(pk=sheet().pk).update(state=RowState.DEAD, sent_at=None, reason=Reason.REFUSED)
    told = get(client, f"{PAGE}undelivered/")
    assert "One mail of the last two weeks did not go out." in told
    assert "Rosa rosa@farm.example morning sheet Monday, April 20 Refused for good Try again" in told
    assert "The mail is tried again." in post(client, f"{PAGE}{sheet().pk}/try/")[1]
    assert sheet().state == RowState.DUE
    assert "cannot be tried again" in post(client, f"{PAGE}{sheet().pk}/try/")[1]


def test_much_that_did_not_go_out_comes_by_parts_and_is_read_at_once(
    mailed: Yard, django_assert_max_num_queries: Any
) -> None:
    client, row = signed_in("mona"), sheet()
    for number in range(2, ON_A_PAGE + 3):
        row.pk, row.number, row.bounce_token, row.asked_at = None, number, None, SIX
        row.state, row.sent_at, row.reason = RowState.SKIPPED, None, Reason.TOO_LATE
        row.save()
    with django_assert_max_num_queries(12):
        told = get(client, f"{PAGE}undelivered/")
    counted = words.capital(words.count_word(ON_A_PAGE + 1))
    assert f"{counted} mails of the last two weeks did not go out." in told
    assert "Page 1 of 2" in told
    assert told.count("morning sheet, sent again") == ON_A_PAGE
    assert get(client, f"{PAGE}undelivered/?page=2").count("morning sheet, sent again") == 1


def test_a_look_before_tells_what_the_mail_would_and_writes_nothing(mailed: Yard) -> None:
    client, before = signed_in("mona"), OutboxRow.objects.count()
    links = SignInLink.objects.count()
    hand = f"{PAGE}preview/hand/hand/{mailed.hand.pk}/"
    assert "Primero: Pond 40: rastrear." in get(client, f"{hand}?day=2026-04-20")
    assert "First: Pond 40: disk." in get(client, f"{hand}?day=2026-04-20&lang=en")
    assert "Hoy no hay trabajo en el campo" in get(client, f"{hand}?day=2026-04-25")
    assert "1 hand out" in get(client, f"{PAGE}preview/digest/user/{User.objects.get(username='mona').pk}/")
    costs = get(client, f"{PAGE}preview/costs/user/{User.objects.get(username='bo').pk}/")
    assert "$0.00 booked last week" in costs
    get(client, f"{hand}?lang=fr", status=404)
    for kind, name in (("costs", "mona"), ("digest", "bo")):
        get(client, f"{PAGE}preview/{kind}/user/{User.objects.get(username=name).pk}/", status=404)
    assert (OutboxRow.objects.count(), SignInLink.objects.count()) == (before, links)
    assert Hand.objects.get().language == "es"


def test_a_farm_whose_zone_is_none_says_so_in_a_sentence(mailed: Yard) -> None:
    Farm.objects.update(zone="Nowhere/Land")
    for page in ("", f"{sheet().pk}/"):
        said = get(signed_in("mona"), f"{PAGE}{page}", status=409)
        assert "kept as “Nowhere/Land”, and there is no such zone" in said


def test_what_stops_the_mail_is_said_and_a_word_makes_it_go_on(mailed: Yard) -> None:
    trouble = MailTrouble.objects.create(
        farm=None, kind=TroubleKind.HALTED, key="-", says="535 authentication failed", raised_at=SIX
    )
    client = signed_in("mona")
    assert "The mail server refuses this service: 535 authentication failed." in get(client)
    assert "counts as settled" in post(client, f"{PAGE}troubles/{trouble.pk}/end/")[1]
    assert "settled already" in post(client, f"{PAGE}troubles/{trouble.pk}/end/")[1]
    trouble.refresh_from_db()
    assert (trouble.ended_at, trouble.ended_by) == (SIX, User.objects.get(username="mona"))


def test_the_hours_of_the_mail_are_kept_or_refused_beside_the_box(mailed: Yard) -> None:
    client = signed_in("mona")
    assert "Morning sheets go out at 5:00 am, by the clock of America/New_York." in get(
        client, f"{PAGE}times/"
    )
    status, said = post(client, f"{PAGE}times/", times_form(has_door_codes="yes"))
    assert status == 200
    assert "Morning sheets go out at 5:30 am" in said
    kept = MailTimes.objects.get()
    assert (kept.digest_at, kept.has_door_codes, Farm.objects.get().sheet_at) == (
        dt.time(4, 45),
        True,
        dt.time(5, 30),
    )
    for name, value, why in (
        ("sheet_at", "02:30", "On days when the clocks change"),
        ("notice_until", "17:00", "later than it begins"),
        ("cost_at", "half past", "Write an hour such as 05:30."),
        ("catch_up_min", "٣٠", "Write a whole number."),
        ("most_notices_per_day", "99", "From 1 to 6"),
    ):
        status, said = post(client, f"{PAGE}times/", times_form(**{name: value}))
        assert status == 422, name
        assert why in said
        assert f'value="{value}"' in said, "what was typed stays in its box"
    assert MailTimes.objects.get().changed_at == kept.changed_at
    assert MailTimes.objects.get().has_door_codes


def test_a_hand_chooses_on_the_phone_and_the_manager_for_everybody(mailed: Yard) -> None:
    client = signed_in("rosa")
    assert "Your day comes to rosa@farm.example." in get(client, "/farms/heron-slough/day/mail/")
    typed = {"hand-wanted": "yes", "hand-hour": "06:10", "hand-empty": "short", "units": "metric"}
    status, _said = post(client, "/farms/heron-slough/day/mail/", typed)
    assert status == 200
    sheets = MailChoice.objects.get(kind=SheetKind.HAND)
    assert (sheets.is_wanted, sheets.send_at, sheets.on_empty_day) == (True, dt.time(6, 10), "short")
    assert not MailChoice.objects.get(kind=SheetKind.CHANGE).is_wanted
    reader = MailReader.objects.get()
    assert (reader.units, reader.wants_calendar_file) == ("metric", False)
    status, _said = post(client, "/farms/heron-slough/day/mail/", {**typed, "hand-hour": "01:00"})
    assert status == 422
    assert MailChoice.objects.get(kind=SheetKind.HAND).send_at == dt.time(6, 10)
    boss = signed_in("mona")
    assert "Morning sheet: 6:10 am · Change for tomorrow: not wanted" in get(boss, f"{PAGE}times/people/")
    path = f"{PAGE}times/people/user/{User.objects.get(username='mona').pk}/"
    post(boss, path, {"digest-wanted": "yes", "digest-hour": "04:10", "units": "customary"})
    mine = MailChoice.objects.get(kind=SheetKind.DIGEST)
    assert (mine.user, mine.send_at) == (User.objects.get(username="mona"), dt.time(4, 10))


def test_the_manager_sees_who_stopped_a_mail_by_the_link_in_it(mailed: Yard) -> None:
    choose(farm=mailed.farm, person=mailed.hand, kind=SheetKind.CHANGE, by=None, now=SIX, is_wanted=False)
    told = get(signed_in("mona"), f"{PAGE}times/people/")
    assert "Change for tomorrow: stopped by the link in the mail, Monday, April 20" in told


def test_the_page_of_a_day_speaks_spanish_to_who_reads_spanish(mailed: Yard) -> None:
    User.objects.filter(username="mona").update(language="es")
    told = get(signed_in("mona"))
    assert "Salió 1 correo del lunes 20 de abril, 1 espera." in told
    assert "Rosa hoja del día 5:00 a.m. Salió tarde, 6:00 a.m." in told


@pytest.mark.parametrize(
    ("hours", "own_hour", "says"),
    [
        (6, None, "come every Monday at 7:00 am; the next ones on April 20, 2026."),
        (7, None, "come every Monday at 7:00 am; the next ones on April 27, 2026."),
        (7, dt.time(9, 30), "come every Monday at 9:30 am; the next ones on April 20, 2026."),
        (30, None, "come every Monday at 7:00 am; the next ones on April 27, 2026."),
    ],
)
def test_a_bookkeeper_reads_when_the_own_note_comes_and_what_it_would_say(
    yard: Yard, hours: int, own_hour: dt.time | None, says: str
) -> None:
    bo = User.objects.get(username="bo")
    mine, look = f"{PAGE}mine/", f"{PAGE}preview/costs/user/{bo.pk}/"
    with time_machine.travel(MONDAY + dt.timedelta(hours=hours), tick=False):
        client = signed_in("bo")
        assert look not in client.get(mine).text, "no address, no mail"
        User.objects.filter(pk=bo.pk).update(email="bo@farm.example")
        wants = {"farm": yard.farm, "person": bo, "kind": SheetKind.COSTS, "by": bo, "now": MONDAY}
        choose(**wants, is_wanted=True, send_at=own_hour)
        page = client.get(mine).text
        assert says in page
        [there] = re.findall(rf'href="({look}[^"]*)"', page)
        shown = client.get(there).text
        assert "What bo would read now: costs of the week of Monday, April" in shown
        assert f'href="{mine}"' in shown
        assert f'href="{PAGE}?day' not in shown, "the page of a day's mail is the manager's"
        choose(**wants, is_wanted=False)
        assert look not in client.get(mine).text


def test_a_bookkeeper_looks_at_no_other_mail(mailed: Yard) -> None:
    mona, bo = (User.objects.get(username=name).pk for name in ("mona", "bo"))
    other = User.objects.create_user("bea", password="x" * 12)
    Membership.objects.create(farm=mailed.farm, user=other, role="bookkeeper")
    client = signed_in("bo")
    for path in (
        f"hand/hand/{mailed.hand.pk}/",
        f"hand/hand/{bo}/",
        f"digest/user/{mona}/",
        f"digest/user/{bo}/",
        f"costs/user/{other.pk}/",
        "costs/user/999999/",
    ):
        for shown in ("", "shown.html"):
            get(client, f"{PAGE}preview/{path}{shown}", status=403)
    get(client, f"{PAGE}preview/costs/user/{bo}/")
    get(signed_in("rosa"), f"{PAGE}preview/costs/user/{bo}/", status=403)
