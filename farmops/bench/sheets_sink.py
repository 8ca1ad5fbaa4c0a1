"""A mail server on loopback that takes everything and keeps nothing, in a process of its own: prints its port and serves."""

import contextlib
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from typing import Any

from farmops.bench.children import ROOT

HOST = "127.0.0.1"


class TakesAll:
    """Answers 250 to every message, and offers pipelining (RFC 2920) as mail servers do."""

    async def handle_EHLO(
        self, server: object, session: Any, envelope: object, hostname: str, responses: list[str]
    ) -> list[str]:
        session.host_name = hostname
        return [responses[0], "250-PIPELINING", *responses[1:]]

    async def handle_DATA(self, server: object, session: object, envelope: object) -> str:
        return "250 taken"


@contextlib.contextmanager
def sink() -> Iterator[int]:
    """Give the port of a sink for as long as the block lasts."""
    command = [sys.executable, "-m", "farmops.bench.sheets_sink"]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            yield int(process.stdout.readline())
        finally:
            process.terminate()


def main() -> None:
    from aiosmtpd.controller import Controller  # noqa: PLC0415  (not installed with the service)

    ends = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_facts: ends.set())
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port = probe.getsockname()[1]
    controller = Controller(TakesAll(), hostname=HOST, port=port)
    controller.start()
    sys.stdout.write(f"{port}\n")
    sys.stdout.flush()
    ends.wait()
    controller.stop(no_assert=True)


if __name__ == "__main__":
    main()
