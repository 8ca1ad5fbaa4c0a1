"""Mail that comes back: read as RFC 3464 says, believed only where it names what only its getter can know."""

import base64
import copy
import datetime as dt
import email
import quopri
from email import policy
from email.message import EmailMessage
from io import BytesIO, TextIOWrapper
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import override_settings
from pytest_django.fixtures import Settings

from farmops.core.models import User
from farmops.digests.bounce_report import read_report
from farmops.digests.models import (
    BounceReport,
    MailChoice,
    MailTrouble,
    OutboxRow,
    RowState,
    SheetKind,
    SuppressedAddress,
    TroubleKind,
)
from farmops.digests.services.bounces import Taken, bounce_sender, read_maildir, take_report
from farmops.digests.services.making import make_due
from farmops.digests.services.outbox import send_due
from farmops.digests.services.suppressing import lift
from farmops.farms.models import Farm
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands
from tests.laying import Lay

pytestmark = pytest.mark.django_db
MORNING = at(MONDAY, 5, 5)
DAY = dt.timedelta(days=1)
BACK = "back@slough.example"


@pytest.fixture(autouse=True)
def _back(settings: Settings) -> None:
    settings.BOUNCE_ADDRESS = BACK


@pytest.fixture(scope="module")
def farm_of_the_file(laid_once: Lay) -> Farm:
    with override_settings(BOUNCE_ADDRESS=BACK):
        return laid_once(make_mailed_farm)


@pytest.fixture
def farm(farm_of_the_file: Farm) -> Farm:
    return copy.deepcopy(farm_of_the_file)


def make_mailed_farm() -> Farm:
    farm = farm_with_hands("imani", "odell")
    make_due(now=MORNING)
    assert send_due(now=MORNING).sent == 2
    return farm


def row(code: str = "imani") -> OutboxRow:
    return OutboxRow.objects.get(hand__code=code, local_day=MONDAY)


def earlier(day_count: int, code: str = "imani") -> OutboxRow:
    """Store a row like another that went out some days earlier."""
    one = row(code)
    one.pk, one.bounce_token = None, f"word{day_count}"
    one.local_day -= day_count * DAY
    one.due_at -= day_count * DAY
    one.message_id = f"<earlier.{day_count}@slough.example>"
    one._state.adding = True
    one.save()
    return one


def report(
    about: OutboxRow,
    *,
    status: str = "5.1.1",
    action: str = "failed",
    receiver: str | None = None,
    address: str | None = None,
    message_id: str | None = None,
) -> bytes:
    """Return a report in the shape of the examples of RFC 3464 appendix E."""
    receiver = bounce_sender(about) if receiver is None else receiver
    return (
        "From: MAILER-DAEMON@mx.example\r\n"
        f"To: <{receiver}>\r\n"
        "Subject: Delivery Status Notification (Failure)\r\n"
        "Auto-Submitted: auto-replied\r\n"
        "MIME-Version: 1.0\r\n"
        "Content-Type: multipart/report; report-type=delivery-status;\r\n"
        '  boundary="RAA14128.773615765/CS.UTK.EDU"\r\n'
        "\r\n"
        "--RAA14128.773615765/CS.UTK.EDU\r\n"
        "\r\n"
        "The original message was not delivered.\r\n"
        "\r\n"
        "--RAA14128.773615765/CS.UTK.EDU\r\n"
        "content-type: message/delivery-status\r\n"
        "\r\n"
        "Reporting-MTA: dns; mx.example\r\n"
        "\r\n"
        f"Final-Recipient: rfc822;{address or about.address}\r\n"
        f"Action: {action}\r\n"
        f"Status: {status} (no such mailbox)\r\n"
        "Diagnostic-Code: smtp; 550 user unknown\r\n"
        "\r\n"
        "--RAA14128.773615765/CS.UTK.EDU\r\n"
        "content-type: message/rfc822\r\n"
        "\r\n"
        f"Message-ID: {message_id or about.message_id}\r\n"
        "Subject: First: Pond 80\r\n"
        "\r\n"
        "--RAA14128.773615765/CS.UTK.EDU--\r\n"
    ).encode()


def test_each_message_has_a_way_back_of_its_own(farm: Farm, settings: Settings) -> None:
    senders = {bounce_sender(one) for one in OutboxRow.objects.all()}
    assert len(senders) == 2
    assert all(one.startswith("back+") and one.endswith("@slough.example") for one in senders)
    settings.BOUNCE_ADDRESS = ""
    assert bounce_sender(row()) == settings.DEFAULT_FROM_EMAIL


def test_a_report_counts_once_however_often_it_comes(farm: Farm) -> None:
    content = report(row())
    assert take_report(content=content, now=MORNING) is Taken.COUNTED
    assert take_report(content=content, now=MORNING + DAY) is Taken.KNOWN
    [kept] = BounceReport.objects.all()
    assert (kept.row, kept.address, kept.status, kept.action) == (
        row(),
        "imani@farm.example",
        "5.1.1",
        "failed",
    )
    assert "user unknown" in kept.says
    assert not SuppressedAddress.objects.exists()


def test_two_lasting_reports_in_a_week_stop_the_address_and_tell_the_manager(farm: Farm) -> None:
    take_report(content=report(earlier(3)), now=MORNING - 3 * DAY)
    assert take_report(content=report(row(), status="5.2.1"), now=MORNING) is Taken.COUNTED
    [stopped] = SuppressedAddress.objects.all()
    assert (stopped.address, stopped.lifted_at) == ("imani@farm.example", None)
    [trouble] = MailTrouble.objects.filter(farm=farm, kind=TroubleKind.BOUNCED)
    assert trouble.key == str(stopped.pk)
    OutboxRow.objects.filter(local_day=MONDAY).update(state=RowState.DUE, sent_at=None)
    again = send_due(now=MORNING)
    assert (again.suppressed, again.sent) == (1, 1)


@pytest.mark.parametrize(
    ("days_apart", "statuses"),
    [(8, ("5.1.1", "5.1.1")), (3, ("4.4.7", "4.2.2")), (3, ("5.1.1", "4.2.2"))],
)
def test_what_passes_or_lies_longer_apart_stops_nobody(
    farm: Farm, days_apart: int, statuses: tuple[str, str]
) -> None:
    first = report(earlier(days_apart), status=statuses[0])
    assert take_report(content=first, now=MORNING - days_apart * DAY) is Taken.COUNTED
    assert take_report(content=report(row(), status=statuses[1]), now=MORNING) is Taken.COUNTED
    assert not SuppressedAddress.objects.exists()


def test_two_reports_of_one_message_stop_nobody(farm: Farm) -> None:
    take_report(content=report(row(), status="5.1.1"), now=MORNING)
    take_report(content=report(row(), status="5.1.2"), now=MORNING)
    assert BounceReport.objects.count() == 2
    assert not SuppressedAddress.objects.exists()


def test_a_stop_that_was_lifted_needs_two_new_reports(farm: Farm) -> None:
    boss = User.objects.create(username="marlene", password="!")
    take_report(content=report(earlier(3)), now=MORNING - 3 * DAY)
    take_report(content=report(earlier(2)), now=MORNING - 2 * DAY)
    [stopped] = SuppressedAddress.objects.all()
    assert lift(suppressed=stopped, by=boss, now=MORNING - DAY)
    assert not lift(suppressed=stopped, by=boss, now=MORNING)
    assert MailTrouble.objects.get().ended_by == boss
    take_report(content=report(row()), now=MORNING)
    assert not SuppressedAddress.objects.filter(lifted_at=None).exists()
    take_report(content=report(earlier(1)), now=MORNING + DAY)
    assert SuppressedAddress.objects.filter(lifted_at=None).count() == 1


def test_without_the_word_the_message_and_its_address_are_asked_for(farm: Farm) -> None:
    assert take_report(content=report(row(), receiver="farm@slough.example"), now=MORNING) is Taken.COUNTED


@pytest.mark.parametrize(
    "forged",
    [
        {"receiver": "back+0000@slough.example", "message_id": "<other@slough.example>"},
        {"receiver": "", "message_id": "<other@slough.example>"},
        {"receiver": "farm@slough.example", "address": "odell@farm.example"},
        {"address": "odell@farm.example"},
        {"receiver": "back+@slough.example", "message_id": "<x@y>"},
    ],
)
def test_a_forged_report_leaves_no_trace(farm: Farm, forged: dict[str, str]) -> None:
    assert take_report(content=report(row(), **forged), now=MORNING) is Taken.NOT_OURS
    assert not BounceReport.objects.exists()


def test_a_report_of_a_message_that_never_went_out_or_long_ago_is_not_ours(farm: Farm) -> None:
    assert take_report(content=report(row()), now=MORNING + 31 * DAY) is Taken.NOT_OURS
    OutboxRow.objects.update(state=RowState.DUE, sent_at=None)
    assert take_report(content=report(row()), now=MORNING) is Taken.NOT_OURS
    OutboxRow.objects.update(may_have_arrived=True)
    assert take_report(content=report(row()), now=MORNING) is Taken.COUNTED


def own_mail(farm: Farm) -> bytes:
    return bytes(row().content)


def nested(farm: Farm) -> bytes:
    message = EmailMessage(policy=policy.SMTP)
    message["To"], message["Subject"] = bounce_sender(row()), "Fwd: failure"
    message.set_content("see below")
    message.add_attachment(email.message_from_bytes(report(row()), policy=policy.default))
    return message.as_bytes()


def delivered(farm: Farm) -> bytes:
    return report(row(), status="2.0.0", action="delivered")


def of_over_100_kb(farm: Farm) -> bytes:
    return report(row()) + b"x" * 100_000


def another_kind(farm: Farm) -> bytes:
    return report(row()).replace(b"report-type=delivery-status", b"report-type=disposition-notification")


def without_a_status(farm: Farm) -> bytes:
    return report(row()).replace(b"Status: 5.1.1", b"Status: bad")


def noise(farm: Farm) -> bytes:
    return bytes(range(256)) * 300


def out_of_office(farm: Farm) -> bytes:
    head = f"To: {bounce_sender(row())}\r\nSubject: stop\r\nAuto-Submitted: auto-replied\r\n\r\nI am away."
    return head.encode()


@pytest.mark.parametrize(
    "make",
    [own_mail, nested, delivered, of_over_100_kb, another_kind, without_a_status, noise, out_of_office],
)
def test_anything_else_changes_nothing(farm: Farm, make: object) -> None:
    """RFC 3834 section 2: what a program sent by itself is answered by none; here nothing is answered at all."""
    assert take_report(content=make(farm), now=MORNING) is Taken.NOT_A_REPORT  # type: ignore[operator]
    assert not BounceReport.objects.exists()
    assert not MailChoice.objects.exists()


@pytest.mark.parametrize("cut", range(0, 1100, 37))
def test_a_report_that_was_cut_off_harms_nothing(farm: Farm, cut: int) -> None:
    assert take_report(content=report(row())[:cut], now=MORNING) in set(Taken)


def test_signs_that_no_database_takes_are_taken_out_of_what_is_kept(farm: Farm) -> None:
    content = report(row()).replace(b"user unknown", b"user\x00 \xff\xfe unknown\x1b[2J")
    assert take_report(content=content, now=MORNING) is Taken.COUNTED
    assert BounceReport.objects.get().says.isprintable()


def test_the_example_of_the_standard_is_read() -> None:
    """RFC 3464 appendix E.1 (from memory): one receiver that failed, the words of the server kept."""
    content = report(
        OutboxRow(address="louisl@larry.slip.umd.edu", message_id="<a@b>"),
        status="4.0.0",
        receiver="x@y.example",
    )
    found = read_report(content)
    assert found is not None
    [failure] = found.failures
    assert (failure.address, failure.status, failure.action, failure.is_lasting) == (
        "louisl@larry.slip.umd.edu",
        "4.0.0",
        "failed",
        False,
    )


STATUS_IN_UTF8 = (
    "Reporting-MTA: dns; mx.example\r\n\r\nFinal-Recipient: {address}\r\nAction: failed\r\nStatus: 5.1.1\r\n"
    "Diagnostic-Code: smtp; 550 no conozco a ese señor\r\n\r\n"
)


@pytest.mark.parametrize("encoded", ["8bit", "base64", "quoted-printable"])
@pytest.mark.parametrize(
    "address",
    ["utf-8; imani@peña.example", "utf-8;imani@pe\\x{F1}a.example", "rfc822; imani@xn--pea-8ma.example"],
)
@pytest.mark.parametrize("has_token", [True, False])
def test_a_report_in_utf_8_is_read_in_each_encoding_and_spelling_of_the_address(
    farm: Farm, encoded: str, address: str, has_token: bool
) -> None:
    """RFC 6533 sections 3 (addresses), 4 and 5 (types of the parts, which may be encoded); from memory."""
    OutboxRow.objects.filter(pk=row().pk).update(address="imani@Peña.example")
    head = f"Message-ID: {row().message_id}\r\nSubject: Primero: peón\r\n\r\n"

    def encode(text: str) -> bytes:
        plain = text.encode()
        if encoded == "base64":
            return base64.encodebytes(plain)
        return quopri.encodestring(plain) if encoded == "quoted-printable" else plain

    lines = [
        f"To: <{bounce_sender(row()) if has_token else 'x@y.example'}>".encode(),
        b"MIME-Version: 1.0",
        b'Content-Type: multipart/report; report-type=delivery-status; boundary="cut"',
        b"",
        b"--cut",
        b"Content-Type: Message/Global-Delivery-Status",
        f"Content-Transfer-Encoding: {encoded}".encode(),
        b"",
        encode(STATUS_IN_UTF8.format(address=address)),
        b"--cut",
        b"content-type: message/global-headers; charset=utf-8",
        f"Content-Transfer-Encoding: {encoded}".encode(),
        b"",
        encode(head),
        b"--cut--",
        b"",
    ]
    assert take_report(content=b"\r\n".join(lines), now=MORNING) is Taken.COUNTED
    assert BounceReport.objects.get().says == "smtp; 550 no conozco a ese señor"


def test_who_writes_stop_to_the_address_in_the_head_gets_no_more_of_it(farm: Farm) -> None:
    """RFC 2369 section 3.2: the way by mail."""
    content = f"From: imani@farm.example\r\nTo: {bounce_sender(row())}\r\nSubject: Stop\r\n\r\n".encode()
    assert take_report(content=content, now=MORNING) is Taken.STOPPED
    [choice] = MailChoice.objects.all()
    assert (choice.hand, choice.kind, choice.is_wanted, choice.changed_by) == (
        row().hand,
        SheetKind.HAND,
        False,
        None,
    )
    forged = content.replace(row().bounce_token.encode(), b"0000")  # type: ignore[union-attr]
    assert take_report(content=forged, now=MORNING) is Taken.NOT_OURS


def test_a_maildir_is_read_once_and_one_bad_file_harms_no_other(
    farm: Farm, settings: Settings, tmp_path: Path
) -> None:
    settings.BOUNCE_MAILDIR = str(tmp_path)
    new = tmp_path / "new"
    new.mkdir()
    (new / "1.a").write_bytes(b"\xff\x00" * 1000)
    (new / "2.b").write_bytes(report(row()))
    (new / "3.c").write_bytes(report(row("odell")) + b"x" * 200_000)
    (new / "4.d").mkdir()
    (new / "5.e").symlink_to(tmp_path / "nowhere")
    (new / "6.f").write_bytes(report(row("odell")))
    assert read_maildir(now=MORNING) == 4
    assert BounceReport.objects.count() == 2
    assert {one.name for one in (tmp_path / "cur").iterdir()} == {
        f"{name}:2,S" for name in ("1.a", "2.b", "3.c", "6.f")
    }
    assert read_maildir(now=MORNING) == 0


def test_a_maildir_that_is_not_there_is_no_trouble(settings: Settings, tmp_path: Path) -> None:
    settings.BOUNCE_MAILDIR = str(tmp_path / "none")
    assert read_maildir(now=MORNING) == 0
    settings.BOUNCE_MAILDIR = ""
    assert read_maildir(now=MORNING) == 0


def test_a_mail_server_can_pipe_a_report_in(
    farm: Farm, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("farmops.core.clock.now", lambda: MORNING)
    monkeypatch.setattr("sys.stdin", TextIOWrapper(BytesIO(report(row()))))
    call_command("take_bounce")
    assert capsys.readouterr().out == "counted\n"
