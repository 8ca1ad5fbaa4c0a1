"""A real SMTP server that counts: who got which message, and nothing of what it said."""

import asyncio
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

from tests.farmops.digests.mail_server import MailServer, free_port

IDENTITY = re.compile(rb"^Message-ID: *(\S+)", re.MULTILINE | re.IGNORECASE)


@dataclass
class CountingServer(MailServer):
    """Takes everything, as slowly as told, and offers pipelining as mail servers do."""

    heads: list[tuple[str, str]] = field(default_factory=list)
    waits_s: float = 0.0

    async def handle_EHLO(
        self, server: SMTP, session: Session, envelope: Envelope, hostname: str, responses: list[str]
    ) -> list[str]:
        session.host_name = hostname
        return [responses[0], "250-PIPELINING", *responses[1:]]

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        found = IDENTITY.search(envelope.original_content or b"")
        self.heads.append((envelope.rcpt_tos[0], found[1].decode() if found else ""))
        if self.waits_s:
            await asyncio.sleep(self.waits_s)
        return "250 taken"

    def times(self) -> Counter[str]:
        """Return how often each message came, by its Message-ID."""
        return Counter(identity for _to, identity in self.heads)

    def env(self) -> dict[str, str]:
        """Return the variables that make a process of the service mail here."""
        return {
            "FARMOPS_EMAIL_BACKEND": "farmops.digests.smtp.EmailBackend",
            "FARMOPS_SMTP_HOST": self.host,
            "FARMOPS_SMTP_PORT": str(self.port),
        }


@contextmanager
def counting(**options: Any) -> Iterator[CountingServer]:
    """Give a counting server for as long as the block lasts."""
    server = CountingServer(port=free_port())
    controller = Controller(server, hostname=server.host, port=server.port, **options)
    controller.start()
    try:
        yield server
    finally:
        controller.stop(no_assert=True)
