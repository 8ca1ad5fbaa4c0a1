"""The mail connection: patient after the final dot, and able to say whether a message was handed over.

A server may take ten minutes to answer the end of a message (RFC 5321 section 4.5.3.2.6), and giving up earlier sends
it twice (RFC 1047). Every other step keeps the short EMAIL_TIMEOUT. Where a server offers it, all that comes before the
message is told at once (RFC 2920), and each answer is judged as if it had been asked for by itself.
"""

import re
import smtplib
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any

from django.core.mail.backends import smtp
from django.core.mail.message import sanitize_address

from farmops.digests.mime import PLAIN_ADDRESS
from farmops.digests.services.fail_points import fail_at

AFTER_DOT_S = 600
_BEGINS_WITH_DOT = re.compile(rb"\n\.")  # on a mail of 12 kB 6 µs, where `bytes.replace` takes 22


class PatientConversation(smtplib.SMTP):
    """A conversation that waits long for the one answer that decides, and remembers it."""

    last_reply = ""
    was_handed_over = False
    meanwhile: Callable[[], None] | None = None
    """What is done before each answer is read, while the server is at work with what it was told. It raises nothing."""

    _is_in_data = False

    def mail(self, sender: str, options: Sequence[str] = ()) -> tuple[int, bytes]:
        if "smtputf8" in [one.lower() for one in options] or not PLAIN_ADDRESS.fullmatch(sender):
            return super().mail(sender, options)
        return self.docmd("MAIL", " ".join([f"FROM:<{sender}>", *(options if self.does_esmtp else ())]))

    def rcpt(self, recip: str, options: Sequence[str] = ()) -> tuple[int, bytes]:
        if not PLAIN_ADDRESS.fullmatch(recip):
            return super().rcpt(recip, options)
        return self.docmd("RCPT", " ".join([f"TO:<{recip}>", *options]))

    def data(self, msg: Any) -> tuple[int, bytes]:
        return self._watched(self._told if isinstance(msg, bytes) else super().data, msg)

    def send_in_a_group(self, sender: str, address: str, content: bytes) -> None:
        """Send bytes to one receiver in two turns of the line, where the server offers it; both addresses are plain.

        Raises what `sendmail` raises; after that the line is to be closed.
        """
        size = f" size={len(content)}" if self.has_extn("size") else ""
        self.send(f"MAIL FROM:<{sender}>{size}\r\nRCPT TO:<{address}>\r\nDATA\r\n")
        self._use_the_wait()  # this one stands for those of three answers
        code, said = self.getreply()
        if code != 250:
            self._leave_the_group(code, left=2)
            raise smtplib.SMTPSenderRefused(code, said, sender)
        code, said = super().getreply()
        if code not in (250, 251):
            self._leave_the_group(code, left=1)
            raise smtplib.SMTPRecipientsRefused({address: (code, said)})
        code, said = super().getreply()
        if code != 354:
            raise smtplib.SMTPDataError(code, said)
        code, said = self._watched(self._handed, content)
        if code != 250:
            raise smtplib.SMTPDataError(code, said)

    def _leave_the_group(self, code: int, *, left: int) -> None:
        """Hear the other answers to a group of which a step was refused; a server that waits for a message gets none.

        There the line is closed: only that tells apart no message from an empty one.
        """
        with suppress(smtplib.SMTPException):
            for _answer in range(0 if code == 421 else left):
                code, _said = super().getreply()
            if code == 354:
                self.close()

    def _watched(self, step: Callable[[Any], tuple[int, bytes]], content: Any) -> tuple[int, bytes]:
        """Take the step that hands a message over, and remember how far it came and what was answered."""
        self.last_reply, self.was_handed_over, self._is_in_data = "", False, True
        usual_s = self.sock.gettimeout() if self.sock else None
        try:
            code, said = step(content)
        finally:
            self._is_in_data = False
            if self.sock is not None:
                self.sock.settimeout(usual_s)
        self.was_handed_over = False
        self.last_reply = f"{code} {said.decode('utf-8', errors='replace')}"
        return code, said

    def _told(self, content: bytes) -> tuple[int, bytes]:
        """Do what the standard library does, which takes four times as long to look for lines that begin with a dot."""
        self.putcmd("data")
        code, said = self.getreply()
        if code != 354:
            raise smtplib.SMTPDataError(code, said)
        self.send(_dotted(content))
        return self.getreply()

    def _handed(self, content: bytes) -> tuple[int, bytes]:
        self.send(_dotted(content))
        self._use_the_wait()
        return self.getreply()

    def send(self, s: Any) -> None:
        super().send(s)
        if self._is_in_data and isinstance(s, bytes) and s.endswith(b"\r\n.\r\n") and self.sock is not None:
            self.was_handed_over = True
            fail_at("after_data_before_250")
            self.sock.settimeout(AFTER_DOT_S)

    def getreply(self) -> tuple[int, bytes]:
        self._use_the_wait()
        return super().getreply()

    def _use_the_wait(self) -> None:
        if self.meanwhile is not None:
            self.meanwhile()


class PatientConversationOverTls(PatientConversation, smtplib.SMTP_SSL):
    """The same over TLS from the first byte."""


class EmailBackend(smtp.EmailBackend):
    """Django's SMTP backend with the patient conversation, and a short way for bytes that are already made."""

    def hand_over(
        self, *, sender: str, address: str, content: bytes, meanwhile: Callable[[], None] | None = None
    ) -> None:
        """Send bytes to one receiver on the open line; raises what `send_messages` raises.

        `meanwhile` is called four times for a message that is taken, before its answers; it raises nothing.
        """
        assert isinstance(self.connection, PatientConversation)  # whoever calls has opened it
        line = self.connection
        line.meanwhile = meanwhile
        try:
            line.ehlo_or_helo_if_needed()
            are_plain = all(PLAIN_ADDRESS.fullmatch(one) for one in (sender, address))
            if are_plain and line.has_extn("pipelining"):
                line.send_in_a_group(sender, address, content)
            else:
                line.sendmail(_on_the_wire(sender), [_on_the_wire(address)], content)
        finally:
            line.meanwhile = None

    @property
    def connection_class(self) -> type[smtplib.SMTP]:
        return PatientConversationOverTls if self.use_ssl else PatientConversation

    @property
    def last_reply(self) -> str:
        return getattr(self.connection, "last_reply", "")

    @property
    def was_handed_over(self) -> bool:
        return getattr(self.connection, "was_handed_over", False)

    def greet(self, *, sender: str) -> None:
        """Name a sender on the open line and take it back; raises SMTPSenderRefused."""
        assert self.connection is not None  # whoever calls has opened it
        self.connection.ehlo_or_helo_if_needed()
        code, said = self.connection.mail(_on_the_wire(sender))
        self.connection.rset()
        if code != 250:
            raise smtplib.SMTPSenderRefused(code, said, sender)


def _dotted(content: bytes) -> bytes:
    """Return a content with one more dot before each line that begins with one (RFC 5321 section 4.5.2), and its end."""
    end = b".\r\n" if content.endswith(b"\r\n") else b"\r\n.\r\n"
    first = b"." if content.startswith(b".") else b""
    return b"".join((first, _BEGINS_WITH_DOT.sub(b"\n..", content), end))


def _on_the_wire(address: str) -> str:
    """Return an address as the conversation names it: most are plain, and there is nothing to encode."""
    return address if PLAIN_ADDRESS.fullmatch(address) else sanitize_address(address, "utf-8")
