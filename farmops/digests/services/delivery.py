"""Hand kept bytes over to the mail backend of the settings, and judge what it answers."""

import smtplib
from collections.abc import Callable
from types import TracebackType
from typing import Any

from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend

from farmops.digests.outcomes import Outcome, Verdict, judge, judge_opening
from farmops.digests.smtp import EmailBackend


class _Bytes:
    """Stands where a backend expects a message to write out: the bytes leave as they are kept."""

    def __init__(self, content: bytes) -> None:
        self.content = content

    def as_bytes(self, *_args: Any, linesep: str = "\r\n", **_kwargs: Any) -> bytes:
        return self.content


class KeptMessage(EmailMessage):
    """A message whose bytes are already made."""

    def __init__(self, *, content: bytes, sender: str, address: str) -> None:
        super().__init__(from_email=sender, to=[address])
        self.content = content

    def message(self, *, policy: Any = None) -> Any:
        return _Bytes(self.content)


class Post:
    """One connection for many messages, opened when needed and again after it broke."""

    def __init__(self) -> None:
        self._connection: BaseEmailBackend | None = None

    def __enter__(self) -> "Post":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._close()

    def hand_over(
        self, *, content: bytes, address: str, sender: str, meanwhile: Callable[[], None] | None = None
    ) -> Outcome:
        """Send one message to one receiver and return what became of it; `sender` is where reports of failure go.

        `meanwhile` may be called whenever the server was told something and has not answered yet; it raises nothing.
        """
        refused = self._open()
        if refused is not None:
            return refused
        try:
            if isinstance(self._connection, EmailBackend):
                self._connection.hand_over(
                    sender=sender, address=address, content=content, meanwhile=meanwhile
                )
            elif self._connection is not None:
                message = KeptMessage(content=content, sender=sender, address=address)
                self._connection.send_messages([message])
        except (smtplib.SMTPException, OSError) as error:
            outcome = judge(error, was_handed_over=getattr(self._connection, "was_handed_over", False))
            self._close()  # an answer of 421 closes the line on the other side; a fresh one is cheap
            return outcome
        except ValueError as error:  # the backend reads addresses again, and refuses some
            return Outcome(Verdict.DEAD, str(error)[:300], "UnusableAddress")
        return Outcome(Verdict.SENT, getattr(self._connection, "last_reply", "")[:300])

    def greet(self, *, sender: str) -> Outcome:
        """Ask the server whether it takes mail of a sender, and send none: `sent` where it does."""
        refused = self._open()
        if refused is not None:
            return refused
        try:
            if isinstance(self._connection, EmailBackend):
                self._connection.greet(sender=sender)
        except (smtplib.SMTPException, OSError) as error:
            self._close()
            return judge(error, was_handed_over=False)
        return Outcome(Verdict.SENT)

    def _open(self) -> Outcome | None:
        """Open the line where it is not open; return what it means that this is refused."""
        if self._connection is not None:
            return None
        self._connection = get_connection()
        try:
            self._connection.open()
        except (smtplib.SMTPException, OSError) as error:
            self._close()  # a refused sign-in leaves the line half open
            return judge_opening(error)
        return None

    def _close(self) -> None:
        connection, self._connection = self._connection, None
        if connection is None:
            return
        try:
            connection.close()
        except (smtplib.SMTPException, OSError):
            return
