"""Turn a sheet into the bytes of a message, the same bytes each time for the same sheet."""

import datetime as dt
import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from email.errors import HeaderParseError
from email.headerregistry import Address
from email.utils import format_datetime, parseaddr
from functools import lru_cache

from farmops.core.problems import DomainError
from farmops.digests.mime import PLAIN_ADDRESS, calendar_part, head, multipart, text_part
from farmops.digests.services.printing import Sheet, with_stop
from farmops.digests.squash import one_line

PLAIN_NAME = re.compile(r"[A-Za-z0-9]+( [A-Za-z0-9]+)*", re.ASCII)
"""A name that no head has to quote."""

LONGEST_ADDRESS = 900
"""A line holds 998 octets at most (RFC 5322 section 2.1.1)."""


class UnusableAddress(DomainError):
    """A mail address cannot stand in a header."""

    code = "unusable_address"


@dataclass(frozen=True)
class Envelope:
    """From whom, to whom (empty: for the shop door), the identity of the message and its date."""

    sender_name: str
    sender: str
    receiver_name: str
    receiver: str
    message_id: str
    dated_at: dt.datetime


@dataclass(frozen=True)
class StopBy:
    """How a reader stops this kind of mail (any may be empty).

    `address` takes one press, `mail_address` is written to, and `page`, where there is no address, asks for a name and a
    password first.
    """

    address: str = ""
    mail_address: str = ""
    page: str = ""


def message_id_of(
    *, farm_code: str, hand_code: str, kind: str, day: dt.date, sender: str, number: int = 1
) -> str:
    """Return the identity of a sheet: the same on every try, so that a reader can fold a repeat (RFC 5322, 3.6.4).

    `number` tells the messages of one person, kind and day apart: one that was asked for again is a new message.
    """
    numbered = kind if number == 1 else f"{kind}.{number}"
    key = "\n".join((farm_code, hand_code, numbered, day.isoformat()))
    digest = hashlib.sha256(key.encode()).hexdigest()[:32]
    return f"<sheet.{day:%Y%m%d}.{digest}@{domain_of(sender)}>"


@lru_cache(maxsize=16)
def spec_of(sender: str) -> str:
    """Return the service's own address without the name before it."""
    return parseaddr(sender)[1]


def domain_of(sender: str) -> str:
    """Return the domain of the service's own address."""
    return spec_of(sender).rpartition("@")[2] or "localhost"


def message_bytes(
    *, sheet: Sheet, envelope: Envelope, calendar: bytes = b"", stop_by: StopBy | None = None
) -> bytes:
    """Return the message: the text first and complete by itself, the HTML after it, then the day's calendar file if any.

    `stop_by` tells mail readers how the mail is stopped, and people at the foot of it; without, it is paper. Raises
    UnusableAddress when the sender's or the receiver's address cannot stand in a header.
    """
    if stop_by is not None:
        sheet = with_stop(sheet, stop_by.address or stop_by.page)
    mark = hashlib.sha256(envelope.message_id.encode()).hexdigest()[:40]
    kind, body = multipart(
        "alternative",
        f"sheet-{mark}",
        text_part(sheet.text, subtype="plain"),
        text_part(sheet.html, subtype="html"),
    )
    if calendar:
        inner = f"{kind}\r\n{body}"
        kind, body = multipart("mixed", f"mixed-{mark}", inner, calendar_part(calendar, filename="day.ics"))
    heads = [
        head("From", _address(envelope.sender_name, spec_of(envelope.sender))),
        head("To", _address(envelope.receiver_name, envelope.receiver)) if envelope.receiver else "",
        head("Subject", one_line(sheet.subject)),
        head("Date", _date(envelope.dated_at, envelope.dated_at.utcoffset())),
        head("Message-ID", envelope.message_id),
        head("Auto-Submitted", "auto-generated"),  # RFC 3834 section 5
        *_stop_heads(stop_by or StopBy()),
        head("MIME-Version", "1.0"),
        kind,
        head("Content-Language", sheet.language),
    ]
    return f"{''.join(heads)}\r\n{body}".encode("ascii")


@lru_cache(maxsize=64)
def _date(at: dt.datetime, _offset: dt.timedelta | None) -> str:
    """Return an instant as a head names it; a farm's mails share theirs. The offset tells equal ones of two clocks apart."""
    return format_datetime(at)


def _stop_heads(stop_by: StopBy) -> Iterable[str]:
    """Say how the mail is stopped (RFC 2369 section 3.2), and that one press does it (RFC 8058 section 3).

    Each address stays in one piece: the encoded form of a long word is no address for any reader.
    """
    ways = [way for way in (stop_by.address, stop_by.mail_address) if way]
    if any(not _fits_header(way) for way in ways):
        raise UnusableAddress("An address to stop the mail by holds signs that a mail header cannot carry.")
    if ways:
        listed = ",\r\n ".join(f"<{way}>" for way in ways)
        yield f"List-Unsubscribe: {listed}\r\n"
    if stop_by.address:
        yield head("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")


def _fits_header(way: str) -> bool:
    return way.isascii() and way.isprintable() and len(way) <= LONGEST_ADDRESS and not set(way) & set(" <>,")


def _address(name: str, spec: str) -> Address | str:
    """Return an address as a head takes it; most are as plain as their names, and stand as they are."""
    squashed = one_line(spec, longest=254)
    local, _, domain = spec.rpartition("@")
    if PLAIN_ADDRESS.fullmatch(spec) and len(spec) <= 254:
        called = one_line(name, longest=80)
        if PLAIN_NAME.fullmatch(called):
            return f"{called} <{spec}>"
        return Address(display_name=called, username=local, domain=domain)
    if squashed != spec or not local or not local.isascii():
        raise UnusableAddress(f"The mail address {squashed!r} holds signs that a mail header cannot carry.")
    try:
        ascii_domain = domain.encode("idna").decode("ascii")
        return Address(display_name=one_line(name, longest=80), addr_spec=f"{local}@{ascii_domain}")
    except (ValueError, IndexError, HeaderParseError) as error:
        raise UnusableAddress(f"The mail address {squashed!r} is not an address.") from error
