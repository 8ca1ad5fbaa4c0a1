"""A mail server that follows a script: what it says at each step, or that it drops the line there. Raw sockets, one at a time."""

import contextlib
import socket
import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

STEPS = ("greeting", "ehlo", "mail", "rcpt", "data", "dot")
USUAL = {
    "greeting": "220 here",
    "ehlo": "250 here",
    "mail": "250 ok",
    "rcpt": "250 ok",
    "data": "354 go on",
    "dot": "250 taken",
}
DROP = "drop"


@dataclass
class Scripted:
    """The script by step; what it does not name goes well. `taken` counts whole messages, whatever was answered."""

    port: int
    script: dict[str, str]
    taken: list[bytes] = field(default_factory=list)

    def say(self, line: socket.socket, step: str) -> bool:
        says = self.script.get(step, USUAL[step])
        if says == DROP:
            return False
        line.sendall(says.encode() + b"\r\n")
        return not says.startswith("421")  # RFC 5321 section 3.8: after 421 the server closes

    def converse(self, line: socket.socket) -> None:
        if not self.say(line, "greeting"):
            return
        reader = line.makefile("rb")
        for raw in reader:
            word = raw.split()[0].decode("ascii", errors="replace").lower() if raw.split() else ""
            step = {"helo": "ehlo"}.get(word, word)
            if step == "quit":
                line.sendall(b"221 bye\r\n")
                return
            if step == "rset":
                line.sendall(b"250 ok\r\n")
                continue
            if step not in STEPS:
                line.sendall(b"500 what\r\n")
                continue
            if not self.say(line, step):
                return
            if step == "data" and self.script.get("data", USUAL["data"]).startswith("354"):
                content = b""
                while content != b".\r\n" and not content.endswith(b"\r\n.\r\n"):
                    got = reader.readline()
                    if not got:
                        return
                    content += got
                self.taken.append(content)
                if not self.say(line, "dot"):
                    return


@contextlib.contextmanager
def scripted(script: Mapping[str, str]) -> Iterator[Scripted]:
    """Give a server that follows a script for as long as the block lasts."""
    listener = socket.create_server(("127.0.0.1", 0))
    server = Scripted(listener.getsockname()[1], dict(script))

    def serve() -> None:
        while True:
            try:
                line, _address = listener.accept()
            except OSError:
                return
            with line, contextlib.suppress(OSError):
                line.settimeout(10)
                server.converse(line)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    try:
        yield server
    finally:
        listener.shutdown(socket.SHUT_RDWR)
        listener.close()
        thread.join(timeout=10)
