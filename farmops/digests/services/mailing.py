"""Turn a sheet into the bytes of a message, the same bytes each time for the same sheet."""

import datetime as dt
import hashlib
from dataclasses import dataclass
from email.errors import HeaderParseError
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime, parseaddr

from farmops.core.problems import DomainError
from farmops.digests.services.composing import Sheet
from farmops.digests.squash import one_line

# Quoted-printable keeps every line under 76 columns of ASCII, whatever the language (RFC 2045 section 6.7).
POLICY = SMTP.clone(max_line_length=78)


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


def message_id_of(*, farm_code: str, hand_code: str, kind: str, day: dt.date, sender: str) -> str:
    """Return the identity of a sheet: the same on every try, so that a reader can fold a repeat (RFC 5322, 3.6.4)."""
    key = "\n".join((farm_code, hand_code, kind, day.isoformat()))
    digest = hashlib.sha256(key.encode()).hexdigest()[:32]
    return f"<sheet.{day:%Y%m%d}.{digest}@{domain_of(sender)}>"


def domain_of(sender: str) -> str:
    """Return the domain of the service's own address."""
    return parseaddr(sender)[1].rpartition("@")[2] or "localhost"


def message_bytes(*, sheet: Sheet, envelope: Envelope) -> bytes:
    """Return the message: the text first and complete by itself, the HTML after it, no other part.

    Raises UnusableAddress when the sender's or the receiver's address cannot stand in a header.
    """
    message = EmailMessage(policy=POLICY)
    message["From"] = _address(envelope.sender_name, parseaddr(envelope.sender)[1])
    if envelope.receiver:
        message["To"] = _address(envelope.receiver_name, envelope.receiver)
    message["Subject"] = one_line(sheet.subject)
    message["Date"] = format_datetime(envelope.dated_at)
    message["Message-ID"] = envelope.message_id
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834 section 5
    message.set_content(sheet.text, cte="quoted-printable")
    message.add_alternative(sheet.html, subtype="html", cte="quoted-printable")
    message["Content-Language"] = sheet.language  # after the parts: they would take it with them
    message.set_boundary("sheet-" + hashlib.sha256(envelope.message_id.encode()).hexdigest()[:40])
    return message.as_bytes()


def _address(name: str, spec: str) -> Address:
    squashed = one_line(spec, longest=254)
    local, _, domain = spec.rpartition("@")
    if squashed != spec or not local or not local.isascii():
        raise UnusableAddress(f"The mail address {squashed!r} holds signs that a mail header cannot carry.")
    try:
        ascii_domain = domain.encode("idna").decode("ascii")
        return Address(display_name=one_line(name, longest=80), addr_spec=f"{local}@{ascii_domain}")
    except (ValueError, IndexError, HeaderParseError) as error:
        raise UnusableAddress(f"The mail address {squashed!r} is not an address.") from error
