"""The bytes of a message, read back by the standard library's own parser."""

import datetime as dt
import email
from dataclasses import replace
from email import policy
from email.message import EmailMessage
from email.utils import parsedate_to_datetime

import pytest

from farmops.digests.services.composing import Sheet, print_sheet
from farmops.digests.services.mailing import Envelope, StopBy, UnusableAddress, message_bytes, message_id_of
from farmops.digests.squash import one_line
from tests.farmops.digests.planned import MONDAY
from tests.farmops.digests.sheet_facts import sheet_day, task

DUE = dt.datetime(2026, 4, 20, 9, 0, tzinfo=dt.UTC)
ENVELOPE = Envelope(
    "Heron Slough", "farm@slough.example", "Imani", "imani@farm.example", "<a.b@slough.example>", DUE
)


def read(content: bytes) -> EmailMessage:
    message = email.message_from_bytes(content, policy=policy.default)
    assert isinstance(message, EmailMessage)
    assert message.defects == []
    return message


def sheet(language: str = "en") -> Sheet:
    return print_sheet(sheet_day(task()), language)


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_text_comes_first_and_is_the_sheet_itself(language: str) -> None:
    """RFC 2046 section 5.1.4: the plainest part first."""
    made = sheet(language)
    message = read(message_bytes(sheet=made, envelope=ENVELOPE))
    assert message.get_content_type() == "multipart/alternative"
    text, html = message.iter_parts()
    assert (text.get_content_type(), html.get_content_type()) == ("text/plain", "text/html")
    assert text.get_content().replace("\r\n", "\n") == made.text
    assert html.get_content().replace("\r\n", "\n") == made.html
    assert message["Subject"] == made.subject
    assert message["Content-Language"] == language


def test_the_headers_say_who_when_and_that_a_program_wrote_it() -> None:
    """RFC 3834 section 5 for Auto-Submitted; the date is the hour it was owed, not that of a later try."""
    message = read(message_bytes(sheet=sheet(), envelope=ENVELOPE))
    assert message["From"] == "Heron Slough <farm@slough.example>"
    assert message["To"] == "Imani <imani@farm.example>"
    assert message["Auto-Submitted"] == "auto-generated"
    assert parsedate_to_datetime(message["Date"]) == DUE
    assert message["Message-ID"] == "<a.b@slough.example>"
    assert message["MIME-Version"] == "1.0"


def test_lines_stay_short_and_ascii_on_the_wire() -> None:
    """RFC 5322 section 2.1.1: at most 998 octets, 78 wished."""
    content = message_bytes(sheet=sheet("es"), envelope=ENVELOPE)
    assert max(len(line) for line in content.split(b"\r\n")) <= 78
    assert content.isascii()
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert len(content) < 100_000


def test_the_same_sheet_is_the_same_bytes() -> None:
    assert message_bytes(sheet=sheet(), envelope=ENVELOPE) == message_bytes(sheet=sheet(), envelope=ENVELOPE)


def test_a_sheet_for_the_shop_door_has_no_receiver() -> None:
    message = read(message_bytes(sheet=sheet(), envelope=replace(ENVELOPE, receiver="")))
    assert message["To"] is None
    assert message["Subject"]


@pytest.mark.parametrize("sign", ["\r\n", "\n", "\r", "\x00", "\x0b", "\x85", "\u2028", "\u2029", "\u202e"])
def test_a_name_cannot_add_a_header(sign: str) -> None:
    name = f"Imani{sign}Bcc: thief@elsewhere.example"
    made = replace(sheet(), subject=f"First{sign}Bcc: thief@elsewhere.example")
    content = message_bytes(sheet=made, envelope=replace(ENVELOPE, sender_name=name, receiver_name=name))
    message = read(content)
    assert message["Bcc"] is None
    assert [str(address.addr_spec) for address in message["To"].addresses] == ["imani@farm.example"]
    assert message["Subject"] == "First Bcc: thief@elsewhere.example"


@pytest.mark.parametrize(
    "address",
    [
        "imani@farm.example\r\nBcc: x@y.example",
        "imani@farm.example\u2028",
        "imani",
        "@farm.example",
        "imani@",
        "a b@farm.example",
        "ímani@farm.example",
        "imani@farm.example, odell@farm.example",
        "imani@" + "x" * 64 + ".example",
        "x" * 300 + "@farm.example",
    ],
)
def test_an_address_that_cannot_stand_in_a_header_is_refused(address: str) -> None:
    with pytest.raises(UnusableAddress):
        message_bytes(sheet=sheet(), envelope=replace(ENVELOPE, receiver=address))


def test_a_quoted_name_and_a_domain_in_another_script_are_carried() -> None:
    """RFC 5890: a domain in another script goes on the wire as its A-label (bücher is xn--bcher-kva)."""
    envelope = replace(ENVELOPE, receiver='"odd name"@bücher.example', receiver_name='O"Dell, Jr.')
    message = read(message_bytes(sheet=sheet(), envelope=envelope))
    [address] = message["To"].addresses
    assert address.domain == "xn--bcher-kva.example"
    assert address.username == "odd name"
    assert address.display_name == 'O"Dell, Jr.'


def test_a_message_keeps_its_identity_and_no_two_share_one() -> None:
    facts = {
        "farm_code": "f",
        "hand_code": "h",
        "kind": "hand",
        "day": MONDAY,
        "sender": "Farm <farm@slough.example>",
    }
    own = message_id_of(**facts)  # type: ignore[arg-type]
    assert own == message_id_of(**facts)  # type: ignore[arg-type]
    assert own.endswith("@slough.example>")
    others = [{"farm_code": "g"}, {"hand_code": "i"}, {"kind": "day"}, {"day": MONDAY + dt.timedelta(days=1)}]
    others.append({"farm_code": "fh", "hand_code": ""})
    assert len({own, *(message_id_of(**{**facts, **other}) for other in others)}) == 6  # type: ignore[arg-type]


def test_a_long_line_ends_in_an_ellipsis() -> None:
    assert one_line("a" * 300, longest=10) == "aaaaaaaaa…"
    assert one_line("  two\t\twords \n") == "two words"


CALENDAR = "BEGIN:VCALENDAR\r\nX-WR-CALDESC:mañana\r\nEND:VCALENDAR\r\n".encode()
STOP = StopBy(
    "https://farm.example.org/stop/" + "Ab3_-" * 12 + "/", "mailto:bounces+ab12@slough.example?subject=stop"
)


def test_the_calendar_file_stands_outside_the_text_and_its_html() -> None:
    """RFC 2046 section 5.1.4: what is no other form of the same text is a part of a mixed message around it."""
    made = sheet("es")
    message = read(message_bytes(sheet=made, envelope=ENVELOPE, calendar=CALENDAR))
    assert message.get_content_type() == "multipart/mixed"
    both, file = message.iter_parts()
    assert both.get_content_type() == "multipart/alternative"
    text, _html = both.iter_parts()
    assert text.get_content().replace("\r\n", "\n") == made.text
    assert (file.get_content_type(), file.get_param("method"), file.get_filename()) == (
        "text/calendar",
        "PUBLISH",
        "day.ics",
    )
    assert file.get_content_charset() == "utf-8"
    assert file.get_content_disposition() == "attachment"
    assert file.get_payload(decode=True) == CALENDAR
    assert message["Content-Language"] == "es"
    assert message_bytes(sheet=made, envelope=ENVELOPE, calendar=CALENDAR) == message_bytes(
        sheet=made, envelope=ENVELOPE, calendar=CALENDAR
    )


def test_a_reader_is_told_how_the_mail_is_stopped_by_one_press() -> None:
    """RFC 8058 section 3: both headers, an https address first; RFC 2369: each in angle brackets, in one piece."""
    content = message_bytes(sheet=sheet(), envelope=ENVELOPE, stop_by=STOP)
    message = read(content)
    assert message["List-Unsubscribe"] == f"<{STOP.address}>, <{STOP.mail_address}>"
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert f"<{STOP.address}>".encode() in content
    assert f"<{STOP.mail_address}>".encode() in content


def test_without_an_address_that_takes_a_press_nothing_promises_one() -> None:
    message = read(message_bytes(sheet=sheet(), envelope=ENVELOPE, stop_by=StopBy("", STOP.mail_address)))
    assert message["List-Unsubscribe"] == f"<{STOP.mail_address}>"
    assert message["List-Unsubscribe-Post"] is None
    plain = read(message_bytes(sheet=sheet(), envelope=ENVELOPE))
    assert plain["List-Unsubscribe"] is None


@pytest.mark.parametrize("sign", ["\r\nBcc: x@y.example", " ", ">", ",", "\u2028", "ñ", "a" * 1000])
def test_an_address_to_stop_by_cannot_add_a_header(sign: str) -> None:
    with pytest.raises(UnusableAddress, match="to stop the mail by"):
        message_bytes(sheet=sheet(), envelope=ENVELOPE, stop_by=StopBy(f"https://farm.example.org/{sign}"))


def test_a_sheet_that_is_sent_again_is_a_message_of_its_own() -> None:
    facts = {
        "farm_code": "a",
        "hand_code": "b",
        "kind": "hand",
        "day": MONDAY,
        "sender": "farm@slough.example",
    }
    first = message_id_of(**facts)  # type: ignore[arg-type]
    assert message_id_of(**facts, number=1) == first  # type: ignore[arg-type]
    assert len({message_id_of(**facts, number=number) for number in (1, 2, 3)}) == 3  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("language", "title", "ask"),
    [
        ("en", "To stop these mails:", "To stop these mails, tell the manager."),
        ("es", "Para ya no recibir estos correos:", "Si no quiere estos correos, avise al encargado."),
    ],
)
def test_a_mail_says_at_its_foot_how_to_stop_it_and_paper_does_not(
    language: str, title: str, ask: str
) -> None:
    address = "https://farm.example/stop/7.abc/"

    def parts(stop_by: StopBy | None) -> tuple[str, str]:
        message = read(message_bytes(sheet=sheet(language), envelope=ENVELOPE, stop_by=stop_by))
        text, html = (part.get_content().replace("\r\n", "\n") for part in message.iter_parts())
        assert "<!--stop-->" not in html or stop_by is None
        return text, html

    text, html = parts(StopBy(address))
    assert text.endswith(f"\n\n{title}\n{address}\n")
    assert f'<a class="way" href="{address}"' in html
    assert f"{title}<br>" in html
    text, html = parts(StopBy())
    assert text.endswith(f"\n\n{ask}\n")
    assert f">{ask}</p></div></body></html>" in html
    text, html = parts(None)
    assert title not in text + html
    text, _html = parts(StopBy(page="http://farm.local/farms/heron-slough/day/mail/"))
    assert text.endswith("\nhttp://farm.local/farms/heron-slough/day/mail/\n")
