"""Read what a mail server reports of a message that it could not deliver (RFC 3464, RFC 6533). Pure: no Django.

Whoever knows an address can send such a report, so nothing in it is believed here: it is only read, in the shape that
the standard gives it, and held to one size. Raw headers are read by the standard library's oldest and most patient
rules, which fail on nothing.
"""

import email
import re
from dataclasses import dataclass
from email.message import Message
from email.utils import getaddresses

from farmops.digests.squash import one_line

LARGEST_BYTES = 100_000
PARTS_TO_READ = re.compile(
    rb"(?im)^(content-type:\s*)message/(global-delivery-status|delivery-status|global-headers|global)(?=\s*(?:;|$))"
)
"""Parts that the standard library takes apart by itself only in ASCII; RFC 6533 has them in UTF-8, encoded or not."""
STATUS_PART, HEAD_PART = "text/x-delivery-status", "text/x-head"
EMBEDDED = re.compile(r"\\x\{([0-9A-Fa-f]{2,6})\}")
"""A character of an address as RFC 6533 section 3 writes it where a report is in ASCII."""
STATUS = re.compile(r"[245]\.[0-9]{1,3}\.[0-9]{1,3}", re.ASCII)
RECEIVERS = ("To", "Delivered-To", "X-Original-To")
MOST_RECEIVERS = 50


@dataclass(frozen=True)
class Incoming:
    """A mail as far as it matters: to whom, what about, and whether a program answered by itself."""

    receivers: tuple[str, ...]
    subject: str
    is_automatic: bool


@dataclass(frozen=True)
class Failure:
    """What is said of one receiver: the address in small letters, the status code (RFC 3463), and the words."""

    address: str
    status: str
    action: str
    says: str

    @property
    def is_lasting(self) -> bool:
        """Return whether trying again is no use: class 5, never class 4."""
        return self.status.startswith("5.")


@dataclass(frozen=True)
class Report:
    """A report of delivery: where it was sent to, which message it is about, and what is said of each receiver."""

    receivers: tuple[str, ...]
    message_id: str
    failures: tuple[Failure, ...]


def read_incoming(content: bytes) -> Incoming | None:
    """Return what a mail says of itself; None for one that is too long to be looked at."""
    if len(content) > LARGEST_BYTES:
        return None
    message = email.message_from_bytes(content)
    automatic = str(message.get("Auto-Submitted", "no")).split(";")[0].strip().lower()
    return Incoming(
        receivers=_receivers(message),
        subject=one_line(str(message.get("Subject", ""))),
        is_automatic=automatic != "no",
    )


def read_report(content: bytes) -> Report | None:
    """Return the report that a mail is; None for any other mail, one inside another mail, or one of over 100 kB."""
    if len(content) > LARGEST_BYTES:
        return None
    message = email.message_from_bytes(PARTS_TO_READ.sub(_as_text, content))
    kind = message.get_param("report-type", "")
    if message.get_content_type() != "multipart/report" or str(kind).lower() != "delivery-status":
        return None
    parts = _parts(message)
    failures = tuple(
        failure
        for part in parts
        if part.get_content_type() == STATUS_PART
        for failure in _failures(_content(part))
    )
    return Report(_receivers(message), _returned_id(parts), failures) if failures else None


def _as_text(found: re.Match[bytes]) -> bytes:
    named = STATUS_PART if found[2].lower().endswith(b"delivery-status") else HEAD_PART
    return found[1] + named.encode()


def _failures(content: str) -> list[Failure]:
    """Return what is said of each receiver; the first group of fields is about the server (RFC 3464 section 2.1)."""
    found = []
    for lines in re.split(r"\n[ \t]*\n", content.replace("\r\n", "\n"))[:MOST_RECEIVERS]:
        group = email.message_from_string(lines.lstrip("\n"))
        status = STATUS.match(str(group.get("Status", "")).strip())
        if status is None:
            continue
        action = one_line(str(group.get("Action", "")), longest=12).lower()
        says = one_line(str(group.get("Diagnostic-Code", "")), longest=300)
        for name in ("Final-Recipient", "Original-Recipient"):
            kind, _, address = str(group.get(name, "")).partition(";")
            if kind.strip().lower() in ("rfc822", "utf-8") and address.strip():
                found.append(Failure(_address(_written_out(address)), status[0], action, says))
    return found


def _written_out(address: str) -> str:
    """Return an address with the characters that a report in ASCII names by their numbers."""

    def sign(found: re.Match[str]) -> str:
        number = int(found[1], 16)
        return chr(number) if number <= 0x10FFFF else ""

    return EMBEDDED.sub(sign, address)


def _returned_id(parts: list[Message]) -> str:
    """Return the Message-ID of the message that came back, whole or its head only."""
    for part in parts:
        if part.get_content_type() in ("text/rfc822-headers", HEAD_PART):
            head: Message | None = email.message_from_string(_content(part).lstrip("\r\n"))
        elif part.get_content_type() == "message/rfc822":
            head = next(iter(_parts(part)), None)
        else:
            continue
        if head is not None and head.get("Message-ID"):
            return one_line(str(head["Message-ID"]))
    return ""


def _content(part: Message) -> str:
    """Return the text of a part, whatever it was encoded in; bytes that are no UTF-8 are marked as such."""
    payload = part.get_payload(decode=True)
    return payload.decode("utf-8", errors="replace") if isinstance(payload, bytes) else ""


def _parts(message: Message) -> list[Message]:
    payload = message.get_payload()
    return [part for part in payload if isinstance(part, Message)] if isinstance(payload, list) else []


def _receivers(message: Message) -> tuple[str, ...]:
    values = [str(value) for name in RECEIVERS for value in message.get_all(name, [])]
    return tuple(_address(spec) for _name, spec in getaddresses(values)[:MOST_RECEIVERS] if spec)


def same_form(address: str) -> str:
    """Return an address in small letters with its domain in ASCII, so that both spellings of a domain are one."""
    local, at, domain = address.lower().rpartition("@")
    try:
        return f"{local}{at}{domain.encode('idna').decode('ascii')}"
    except ValueError:
        return address.lower()


def _address(text: str) -> str:
    return same_form(one_line(text, longest=254).strip("<> "))
