"""A Redis that can be stopped and come back on its port, and a line to it that can be cut without a word."""

import contextlib
import selectors
import shutil
import socket
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import redis

from tests.farmops.digests.mail_server import free_port
from tests.services.redis import _program, _wait_until_it_answers


class Broker:
    """A Redis server of its own, as the compose file starts one."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()
        self._server: subprocess.Popen[bytes] | None = None

    @property
    def client(self) -> redis.Redis:
        return redis.Redis(host="127.0.0.1", port=self.port)

    def start(self) -> None:
        options = ["--port", str(self.port), "--bind", "127.0.0.1", "--dir", str(self.folder), "--save", ""]
        options += ["--appendonly", "yes", "--appendfsync", "everysec", "--maxmemory-policy", "noeviction"]
        self._server = subprocess.Popen(
            [_program()[0], *options], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        _wait_until_it_answers(self.port)

    def kill(self) -> None:
        if self._server is not None:
            self._server.kill()
            self._server.wait()


@contextlib.contextmanager
def broker() -> Iterator[Broker]:
    """Give a Redis for as long as the block lasts."""
    folder = Path(tempfile.mkdtemp(prefix="rd", dir="/tmp"))
    found = Broker(folder)
    found.start()
    try:
        yield found
    finally:
        found.kill()
        shutil.rmtree(folder, ignore_errors=True)


class Line(threading.Thread):
    """Carries bytes to and from a port. `cut`: what is open goes on standing and carries nothing more, for good."""

    def __init__(self, to_port: int) -> None:
        super().__init__(daemon=True)
        self.to_port, self.delay_s = to_port, 0.0
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listener.getsockname()[1]
        self._pairs: dict[socket.socket, socket.socket] = {}
        self._dead: list[socket.socket] = []
        self._selector = selectors.DefaultSelector()
        self._selector.register(self._listener, selectors.EVENT_READ)
        self._lock = threading.Lock()
        self.is_cut = False
        self._ends = False

    def run(self) -> None:
        while not self._ends:
            for key, _events in self._selector.select(timeout=0.1):
                with self._lock:
                    if key.fileobj is self._listener:
                        self._accept()
                    elif isinstance(key.fileobj, socket.socket):
                        self._carry(key.fileobj)

    def cut(self) -> None:
        """From now on nothing is carried: neither on lines that stand nor on new ones."""
        with self._lock:
            self.is_cut = True
            for one in self._pairs:
                self._selector.unregister(one)
            self._dead += self._pairs
            self._pairs = {}

    def mend(self) -> None:
        """New lines carry again; those that stood when it was cut stay dead."""
        self.is_cut = False

    def end(self) -> None:
        self._ends = True
        self.join(timeout=5)
        for one in (*self._pairs, *self._dead, self._listener):
            one.close()

    def _accept(self) -> None:
        near, _address = self._listener.accept()
        if self.is_cut:
            self._dead.append(near)
            return
        try:
            far = socket.create_connection(("127.0.0.1", self.to_port), timeout=5)
        except OSError:
            near.close()
            return
        for one, other in ((near, far), (far, near)):
            self._pairs[one] = other
            self._selector.register(one, selectors.EVENT_READ)

    def _carry(self, one: socket.socket) -> None:
        other = self._pairs.get(one)
        if other is None:
            return
        try:
            content = one.recv(65536)
            if content:
                time.sleep(self.delay_s)
                other.sendall(content)
                return
        except OSError:
            pass
        for end in (one, other):
            self._selector.unregister(end)
            self._pairs.pop(end, None)
            end.close()


@contextlib.contextmanager
def line_to(port: int) -> Iterator[Line]:
    """Give a line to a port for as long as the block lasts."""
    line = Line(port)
    line.start()
    try:
        yield line
    finally:
        line.end()
