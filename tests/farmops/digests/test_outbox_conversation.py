"""Sheets over a real SMTP conversation: each answer of the server leads to the right state."""

import datetime as dt
import os
import signal
import smtplib
from collections import deque
from typing import Any

import pytest
from pytest_django.fixtures import Settings

from farmops.core import stopping
from farmops.digests import smtp
from farmops.digests.models import (
    MailChoice,
    MailTrouble,
    OutboxRow,
    Reason,
    RowState,
    SendTry,
    SuppressedAddress,
    TroubleKind,
)
from farmops.digests.selectors.troubles import standing_halt
from farmops.digests.services import outbox
from farmops.digests.services.delivery import Post
from farmops.digests.services.outbox import make_due, send_due
from farmops.digests.services.troubles import end_trouble, halt
from farmops.farms.models import Hand, SignInLink
from tests.farmops.digests import mail_server
from tests.farmops.digests.mail_server import MailServer
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands
from tests.farmops.digests.scripted_server import scripted

MORNING = at(MONDAY, 5, 5)
HOUR = dt.timedelta(hours=1)

pytestmark = pytest.mark.django_db


def row(hand_code: str) -> OutboxRow:
    return OutboxRow.objects.get(hand__code=hand_code)


def test_each_hand_gets_one_message_with_one_receiver(mail: MailServer) -> None:
    farm_with_hands("imani", "odell")
    assert make_due(now=MORNING) == 2
    assert send_due(now=MORNING).sent == 2
    assert mail.receivers() == ["imani@farm.example", "odell@farm.example"]
    for message in mail.messages():
        assert message["To"].count("@") == 1
    assert row("imani").state == RowState.SENT
    assert row("imani").smtp_reply == "250 taken"


def test_running_again_sends_nothing_again(mail: MailServer) -> None:
    farm_with_hands("imani", "odell")
    for minute in range(3):
        now = MORNING + dt.timedelta(minutes=minute)
        make_due(now=now)
        send_due(now=now)
    assert len(mail.taken) == 2


def test_what_is_kept_is_what_went_out(mail: MailServer) -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    send_due(now=MORNING)
    [(_to, content)] = mail.taken
    assert (
        content.replace(b"\r\n", b"\n").rstrip()
        == bytes(row("imani").content).replace(b"\r\n", b"\n").rstrip()
    )
    assert b"First: Pond Imani: disk" in content


def test_one_refused_address_blocks_nobody_and_is_not_tried_again(mail: MailServer) -> None:
    farm_with_hands("imani", "odell", "teo")
    mail.at_receiver["imani@farm.example"] = deque(["550 5.1.1 no such box"])
    make_due(now=MORNING)
    report = send_due(now=MORNING)
    assert (report.sent, report.dead) == (2, 1)
    assert mail.receivers() == ["odell@farm.example", "teo@farm.example"]
    assert row("imani").state == RowState.DEAD
    assert row("imani").smtp_reply == "550 5.1.1 no such box"
    assert send_due(now=MORNING + HOUR).sent == 0


def test_a_passing_refusal_is_tried_again_later_and_not_at_once(mail: MailServer) -> None:
    """A receiver's server that puts strangers off once with 450 (greylisting) takes the second try."""
    farm_with_hands("imani", "odell")
    mail.at_receiver["odell@farm.example"] = deque(["450 4.2.0 come back"])
    make_due(now=MORNING)
    report = send_due(now=MORNING)
    assert (report.sent, report.retry) == (1, 1)
    waiting = row("odell")
    assert waiting.state == RowState.RETRY
    assert waiting.attempt == 1
    assert MORNING <= waiting.not_before_at <= MORNING + dt.timedelta(minutes=2)
    assert send_due(now=MORNING + HOUR).sent == 1
    assert mail.receivers() == ["imani@farm.example", "odell@farm.example"]


def test_a_message_refused_after_the_dot_for_good_is_dead(mail: MailServer) -> None:
    farm_with_hands("imani")
    mail.after_dot["imani@farm.example"] = deque(["552 5.3.4 too big"])
    make_due(now=MORNING)
    assert send_due(now=MORNING).dead == 1
    assert row("imani").state == RowState.DEAD


def test_a_line_cut_after_the_dot_is_unknown_and_goes_out_again_as_the_same_bytes(mail: MailServer) -> None:
    """RFC 1047: the server may have taken it. The same Message-ID lets a reader fold the repeat."""
    farm_with_hands("imani", "odell")
    mail.after_dot["imani@farm.example"] = deque(["hang up"])
    make_due(now=MORNING)
    report = send_due(now=MORNING)
    assert (report.unknown, report.sent) == (1, 1)
    assert row("imani").state == RowState.UNKNOWN
    Hand.objects.filter(code="imani").update(name="Imani B")
    assert send_due(now=MORNING + HOUR).sent == 1
    twice = [content for to, content in mail.taken if to == "imani@farm.example"]
    assert len(twice) == 2
    assert twice[0] == twice[1]


def test_a_sender_that_is_refused_stops_the_queue_and_blames_no_row(mail: MailServer) -> None:
    farm_with_hands("imani", "odell", "teo")
    mail.at_sender.append("550 5.7.1 sender not allowed")
    make_due(now=MORNING)
    report = send_due(now=MORNING)
    assert report.halted == "550 5.7.1 sender not allowed"
    assert mail.taken == []
    assert set(OutboxRow.objects.values_list("state", "attempt")) == {("due", 0)}
    assert send_due(now=MORNING + HOUR).sent == 3


def test_a_refused_service_is_asked_again_after_5_then_10_minutes_with_one_row_each(mail: MailServer) -> None:
    farm_with_hands("imani", "odell", "teo")
    mail.at_sender.extend(["550 not you"] * 3)
    make_due(now=MORNING)
    stood = []
    for minute in range(17):
        left = len(mail.at_sender)
        report = send_due(now=MORNING + minute * dt.timedelta(seconds=61))
        stood.append((minute, left - len(mail.at_sender), report.sent))
        assert standing_halt() is not None
        assert report.halted == "550 not you"
    assert [minute for minute, asked, _sent in stood if asked] == [0, 5, 15]
    assert send_due(now=MORNING + dt.timedelta(minutes=34)).halted
    assert send_due(now=MORNING + dt.timedelta(minutes=36)).sent == 3
    assert standing_halt() is None


def test_by_hand_a_refused_service_is_asked_at_once(mail: MailServer) -> None:
    farm_with_hands("imani", "odell")
    mail.at_sender.append("550 not you")
    make_due(now=MORNING)
    assert send_due(now=MORNING).halted
    assert send_due(now=MORNING + dt.timedelta(minutes=1)).sent == 0
    assert send_due(now=MORNING + dt.timedelta(minutes=1), by_hand=True).sent == 2
    assert standing_halt() is None


def test_a_halt_ends_when_the_server_takes_mail_again_though_nothing_is_due(mail: MailServer) -> None:
    """Health is not ready while the halt stands: it must not stand until the next morning."""
    halt(says="550 not you", now=MORNING)
    mail.at_sender.append("550 not you")
    later = MORNING + dt.timedelta(minutes=6)
    assert send_due(now=later).halted == "550 not you"
    assert standing_halt() is not None
    assert send_due(now=later + dt.timedelta(minutes=2)).halted  # not yet: each probe that fails waits longer
    assert send_due(now=later + dt.timedelta(minutes=11)).halted == ""
    assert standing_halt() is None
    assert mail.taken == []


def test_a_person_who_ends_the_halt_lets_the_queue_go_on(mail: MailServer) -> None:
    farm_with_hands("imani")
    mail.at_sender.append("550 not you")
    make_due(now=MORNING)
    send_due(now=MORNING)
    standing = standing_halt()
    assert standing is not None
    assert end_trouble(trouble=standing, by=None, now=MORNING)
    assert not end_trouble(trouble=standing, by=None, now=MORNING)
    assert send_due(now=MORNING).sent == 1


def test_what_was_put_off_goes_out_as_the_same_bytes_with_the_same_link(
    mail: MailServer, settings: Settings
) -> None:
    settings.SITE_ADDRESS = "https://farm.example.org"
    farm_with_hands("imani")
    mail.after_dot["imani@farm.example"] = deque(["451 later"])
    make_due(now=MORNING)
    send_due(now=MORNING)
    kept = bytes(row("imani").content)
    assert send_due(now=MORNING + dt.timedelta(minutes=10)).sent == 1
    assert bytes(row("imani").content) == kept
    assert SignInLink.objects.count() == 1


def test_each_try_that_did_not_end_well_is_kept_with_the_server_s_words(mail: MailServer) -> None:
    farm_with_hands("imani")
    mail.at_receiver["imani@farm.example"] = deque(["450 4.2.0 come back", "550 5.1.1 no such box"])
    make_due(now=MORNING)
    send_due(now=MORNING)
    send_due(now=MORNING + HOUR)
    tries = list(SendTry.objects.values_list("attempt", "outcome", "smtp_reply"))
    assert tries == [(1, "retry", "450 4.2.0 come back"), (2, "dead", "550 5.1.1 no such box")]
    assert row("imani").reason == Reason.REFUSED
    [trouble] = MailTrouble.objects.all()
    assert (trouble.kind, trouble.farm_id) == (TroubleKind.DEAD, row("imani").farm_id)
    assert "550 5.1.1 no such box" in trouble.says


def test_an_address_that_bounced_and_a_person_who_wants_none_get_nothing(mail: MailServer) -> None:
    farm = farm_with_hands("imani", "odell", "teo")
    make_due(now=MORNING)
    SuppressedAddress.objects.create(farm=farm, address="imani@farm.example", since_at=MORNING)
    odell = Hand.objects.get(code="odell")
    MailChoice.objects.create(farm=farm, hand=odell, kind="hand", is_wanted=False, changed_at=MORNING)
    report = send_due(now=MORNING)
    assert (report.sent, report.suppressed) == (1, 2)
    assert mail.receivers() == ["teo@farm.example"]
    assert (row("imani").state, row("imani").reason) == (RowState.SUPPRESSED, Reason.BOUNCED)
    assert (row("odell").state, row("odell").reason) == (RowState.SUPPRESSED, Reason.NOT_WANTED)


def test_a_run_that_is_over_gives_the_rows_back_that_it_has_not_begun(
    mail: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm_with_hands("imani", "odell", "teo")
    make_due(now=MORNING)
    monkeypatch.setattr(outbox, "RUN_S", -1)
    assert send_due(now=MORNING).sent == 0
    monkeypatch.setattr(outbox, "RUN_S", 120)
    whole = outbox._send_one

    def slow(run: outbox._Run, one: outbox._Ready, coming: Any) -> bool:
        run._mark -= 200
        return whole(run, one, coming)

    monkeypatch.setattr(outbox, "_send_one", slow)
    assert send_due(now=MORNING).sent == 1
    assert sorted(OutboxRow.objects.values_list("state", flat=True)) == ["due", "due", "sent"]
    assert sorted(OutboxRow.objects.values_list("attempt", flat=True)) == [0, 0, 1]


def test_who_is_asked_to_end_gives_back_what_is_not_handed_over_and_the_next_run_sends_it(
    mail: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm_with_hands("imani", "odell", "teo")
    make_due(now=MORNING)
    send_one = outbox._send_one

    def first(run: Any, one: Any, coming: Any) -> bool:
        os.kill(os.getpid(), signal.SIGTERM)
        return send_one(run, one, coming)

    with stopping.ends_softly():
        monkeypatch.setattr(outbox, "_send_one", first)
        assert send_due(now=MORNING).sent == 1
    monkeypatch.undo()
    assert sorted(OutboxRow.objects.values_list("state", "attempt")) == [("due", 0), ("due", 0), ("sent", 1)]
    assert send_due(now=MORNING).sent == 2


@pytest.mark.filterwarnings("ignore:Requiring AUTH while not requiring TLS:UserWarning")
def test_a_refused_sign_in_stops_the_queue(settings: Settings) -> None:
    options = {"authenticator": mail_server.refuse_sign_in, "auth_require_tls": False, "auth_required": True}
    farm_with_hands("imani", "odell")
    make_due(now=MORNING)
    with mail_server.running(**options) as server:
        settings.EMAIL_BACKEND = "farmops.digests.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = server.host, server.port
        settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "farm", "wrong"
        report = send_due(now=MORNING)
    assert report.halted.startswith("535")
    assert set(OutboxRow.objects.values_list("attempt", flat=True)) == {0}
    assert not OutboxRow.objects.filter(state=RowState.DEAD).exists()


def test_a_server_that_is_away_costs_no_row_a_try(settings: Settings) -> None:
    farm_with_hands("imani", "odell")
    make_due(now=MORNING)
    settings.EMAIL_BACKEND = "farmops.digests.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", mail_server.free_port()
    for minutes in range(12):
        report = send_due(now=MORNING + dt.timedelta(minutes=minutes))
        assert report.sent == report.dead == 0
    assert set(OutboxRow.objects.values_list("attempt", flat=True)) == {0}
    with mail_server.running() as server:
        settings.EMAIL_PORT = server.port
        assert send_due(now=MORNING + HOUR).sent == 2


def test_only_the_answer_after_the_dot_is_waited_for_long(mail: MailServer) -> None:
    """RFC 5321 section 4.5.3.2.6: a client waits ten minutes for the answer to the end of the message."""
    waits: list[float | None] = []

    class Watched(smtp.PatientConversation):
        def getreply(self) -> tuple[int, bytes]:
            waits.append(self.sock.gettimeout() if self.sock else None)
            return super().getreply()

    with Watched(mail.host, mail.port, timeout=7) as conversation:
        conversation.sendmail("a@farm.example", ["b@farm.example"], b"Subject: x\r\n\r\nx\r\n")
        assert conversation.last_reply == "250 taken"
        conversation.sendmail("a@farm.example", ["c@farm.example"], b"Subject: y\r\n\r\n.y\r\n")
    assert waits.count(600) == 2
    assert set(waits) == {7, 600}
    assert mail.taken[1][1].rstrip() == b"Subject: y\r\n\r\n.y"


@pytest.mark.parametrize(("offers", "turns"), [("250 here", 4), ("250-here\r\n250 PIPELINING", 2)])
def test_a_message_takes_two_turns_where_the_server_offers_it(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, offers: str, turns: int
) -> None:
    """RFC 2920; what the server is told is the same, and the next mail is prepared in as many steps."""
    told: list[Any] = []
    steps: list[int] = []
    send = smtp.PatientConversation.send
    monkeypatch.setattr(smtp.PatientConversation, "send", lambda line, s: (told.append(s), send(line, s)))
    settings.EMAIL_BACKEND = "farmops.digests.smtp.EmailBackend"
    with scripted({"ehlo": offers}) as server, Post() as post:
        settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", server.port, 5
        for _message in range(2):  # the first one greets
            told.clear()
            steps.clear()
            post.hand_over(
                content=b"Subject: x\r\n\r\n.x\r\n",
                address="imani@farm.example",
                sender="farm@farm.example",
                meanwhile=lambda: steps.append(1),
            )
        assert (len(told), len(steps)) == (turns, 4)
        lines = b"".join(one if isinstance(one, bytes) else one.encode() for one in told).splitlines()
        assert [line.split(b" ")[0].upper() for line in lines[:3]] == [b"MAIL", b"RCPT", b"DATA"]
        assert server.taken == 2 * [b"Subject: x\r\n\r\n..x\r\n.\r\n"]


def test_a_message_that_was_refused_before_the_dot_was_not_handed_over(mail: MailServer) -> None:
    mail.at_receiver["b@farm.example"] = deque(["550 no"])
    with smtp.PatientConversation(mail.host, mail.port, timeout=7) as conversation:
        with pytest.raises(smtplib.SMTPRecipientsRefused):
            conversation.sendmail("a@farm.example", ["b@farm.example"], b"x\r\n")
        assert not conversation.was_handed_over


@pytest.mark.parametrize(
    "content",
    [b"From: a\r\n\r\n.\r\n..b\r\nc.\r\n.d\r\n", b".a\r\n", b"\r\n.\r\n.\r\n", b"a\r\n.b"],
)
def test_no_line_of_a_message_ends_it(mail: MailServer, content: bytes) -> None:
    """Lines that begin with a dot come out as they went in, and the standard library sends the same (RFC 5321, 4.5.2)."""
    with smtp.PatientConversation(mail.host, mail.port) as ours, smtplib.SMTP(mail.host, mail.port) as theirs:
        for line in (ours, theirs):
            line.sendmail("farm@localhost", ["imani@farm.example"], content)
    ended = content if content.endswith(b"\r\n") else content + b"\r\n"
    assert mail.taken == 2 * [("imani@farm.example", ended)]
