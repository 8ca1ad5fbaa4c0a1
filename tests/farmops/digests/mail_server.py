"""A real SMTP server on loopback that can be told to misbehave."""

import asyncio
import socket
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, Envelope, Session


@dataclass
class MailServer:
    """What came in, and what it answers: replies by receiver, each used once in its order."""

    host: str = "127.0.0.1"
    port: int = 0
    taken: list[tuple[str, bytes]] = field(default_factory=list)
    at_receiver: dict[str, deque[str]] = field(default_factory=dict)
    after_dot: dict[str, deque[str]] = field(default_factory=dict)
    at_sender: deque[str] = field(default_factory=deque)

    def messages(self) -> list[EmailMessage]:
        return [message_from_bytes(content, policy=policy.default) for _to, content in self.taken]  # type: ignore[misc]

    def receivers(self) -> list[str]:
        return sorted(to for to, _content in self.taken)

    async def handle_MAIL(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        if self.at_sender:
            return self.at_sender.popleft()
        envelope.mail_from = address
        return "250 OK"

    async def handle_RCPT(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        if self.at_receiver.get(address):
            return self.at_receiver[address].popleft()
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        address = envelope.rcpt_tos[0]
        content = envelope.original_content or b""
        says = self.after_dot[address].popleft() if self.after_dot.get(address) else "250 taken"
        if says.startswith("250") or says == "hang up":
            self.taken.append((address, content))
        if says == "hang up":
            assert server.transport is not None
            server.transport.abort()
            await asyncio.sleep(0)
        return says


def refuse_sign_in(*_args: Any) -> AuthResult:
    return AuthResult(success=False, handled=False)


def free_port() -> int:
    """Return a port of loopback that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def running(**options: Any) -> Iterator[MailServer]:
    """Give a mail server for as long as the block lasts."""
    server = MailServer(port=free_port())
    controller = Controller(server, hostname=server.host, port=server.port, **options)
    controller.start()
    try:
        yield server
    finally:
        controller.stop(no_assert=True)
